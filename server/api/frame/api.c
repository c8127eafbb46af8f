/* Making the api: its rows are checked, the embedded pages get rows of their own, and the listener's table is made. */
#include "api/frame/api.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "api/club/handlers.h"
#include "api/club/listeners.h"
#include "api/club/standard_work.h"
#include "api/frame/call.h"
#include "api/frame/heavy.h"
#include "api/frame/reading.h"

static bool row_sound(const struct api_row *row)
{
    bool open = row->scope == RIGHTS_OPEN;
    bool about = row->subject != SUBJECT_NONE && row->subject != SUBJECT_DRILL;
    return row->path != NULL && row->operation != NULL && row->handler != NULL &&
           rights_declared(row->roles, row->scope) && row->throttle != THROTTLE_UNSET &&
           (row->scope == RIGHTS_TEAM) == about && !(open && (row->keyed || row->fresh)) &&
           !(row->method == HTTP_GET && row->keyed);
}

static void add_route(struct api *api, const struct api_row *row)
{
    api->routes[api->route_count++] = (struct http_route){.method = row->method,
                                                          .path = row->path,
                                                          .handler = dispatch_exchange,
                                                          .row = row,
                                                          .body_limit = row->body_limit,
                                                          .consumes = row->body_limit == 0    ? NULL
                                                                      : row->consumes == NULL ? "application/json"
                                                                                              : row->consumes};
}

static struct api_row open_row(const char *path, const char *operation, api_handler handler)
{
    return (struct api_row){.method = HTTP_GET,
                            .path = path,
                            .operation = operation,
                            .handler = handler,
                            .roles = RIGHTS_NOBODY_SIGNED_IN,
                            .scope = RIGHTS_OPEN,
                            .throttle = THROTTLE_NONE};
}

/* The description has a row of its own in the table. Without a pose library there is no such route at all. */
static void add_files(struct api *api, bool pose)
{
    for (size_t i = 0; i < api->files->count; i++) {
        if (strncmp(api->files->list[i].path, "/v1/", 4) != 0) {
            api->file_rows[i] = open_row(api->files->list[i].path, "files_get", files_get);
            add_route(api, &api->file_rows[i]);
        }
    }
    if (pose) {
        api->file_rows[api->files->count] = open_row("/pose/ready", "pose_ready", pose_ready);
        add_route(api, &api->file_rows[api->files->count]);
    }
}

static bool add_rows(struct api *api, char *error, size_t error_size)
{
    for (size_t i = 0; i < api_rows_count; i++) {
        if (!row_sound(&api_rows[i])) {
            (void)snprintf(error, error_size, "the route %s says not who may use it", api_rows[i].path);
            return false;
        }
        add_route(api, &api_rows[i]);
    }
    return true;
}

static bool parse_rules(struct api *api, char *error, size_t error_size)
{
    struct store_db *db = store_reader(api->store);
    const struct rules_cache *rules = rules_borrow(api, db, 0);
    if (rules == NULL) {
        (void)snprintf(error, error_size, "the club has no house standard that can be read; was it made by init?");
        return false;
    }
    rules_return(api, rules);
    return true;
}

struct api *api_new(const struct api_config *config, char *error, size_t error_size)
{
    struct api *api = calloc(1, sizeof *api);
    (void)snprintf(error, error_size, "memory is short");
    if (api == NULL) {
        return NULL;
    }
    api->store = config->store;
    api->passwords = config->passwords;
    api->throttle = config->throttle;
    api->secure = config->secure;
    api->directory = config->directory == NULL ? "/tmp" : config->directory;
    api->heavy = heavy_new(config->store);
    secret_derive(config->secret, "twofactr", api->factor_key);
    secret_derive(config->secret, "known   ", api->known_key);
    secret_derive(config->secret, "body    ", api->body_key);
    atomic_init(&api->refusing, false);
    atomic_init(&api->rules_edits, 0);
    pthread_mutex_init(&api->rules_lock, NULL);
    api->files = files_new(config->pose, error, error_size);
    const size_t files = api->files == NULL ? 0 : api->files->count;
    api->routes = calloc(api_rows_count + files + 1, sizeof *api->routes);
    api->file_rows = calloc(files + 1, sizeof *api->file_rows);
    api->reading = reading_new();
    api->listeners = listeners_new(config->store, config->listeners == 0 ? 512 : config->listeners);
    if (api->heavy == NULL || api->listeners == NULL || api->reading == NULL || api->routes == NULL ||
        api->file_rows == NULL || api->files == NULL || !add_rows(api, error, error_size) ||
        !parse_rules(api, error, error_size) || (api->work = standard_work_new(api)) == NULL) {
        api_free(api);
        return NULL;
    }
    add_files(api, config->pose != NULL);
    error[0] = '\0';
    return api;
}

const struct http_route *api_routes(const struct api *api, size_t *count)
{
    *count = api->route_count;
    return api->routes;
}

void api_set_server(struct api *api, struct http_server *server)
{
    atomic_store(&api->server, server);
}

bool api_working(struct api *api)
{
    return standard_work_busy(api->work);
}

void api_refuse_writes(struct api *api)
{
    atomic_store(&api->refusing, true);
}

void api_end_listening(struct api *api)
{
    listeners_stop(api->listeners);
}

void api_free(struct api *api)
{
    if (api == NULL) {
        return;
    }
    listeners_free(api->listeners);
    standard_work_free(api->work);
    heavy_free(api->heavy);
    rules_return(api, api->rules);
    pthread_mutex_destroy(&api->rules_lock);
    reading_free(api->reading);
    free(api->file_rows);
    files_free(api->files);
    free(api->routes);
    free(api);
}
