/* Making the api: its rows are checked, the embedded pages get rows of their own, and the listener's table is made. */
#include "api/frame/api.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "api/frame/call.h"
#include "api/frame/handlers.h"
#include "api/frame/heavy.h"
#include "api/frame/reading.h"
#include "base/embed.h"

static bool row_sound(const struct api_row *row)
{
    bool open = row->scope == RIGHTS_OPEN;
    bool about = row->subject != SUBJECT_NONE;
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

/* The path of a page's row; the row owns it. */
static char *page_path(const char *name)
{
    size_t length = strlen(name);
    char *path = malloc(length + 2);
    if (path != NULL) {
        path[0] = '/';
        memcpy(path + 1, name, length + 1);
    }
    return path;
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

static bool add_pages(struct api *api)
{
    for (size_t i = 0; i < embedded_pages_count; i++) {
        struct api_row *row = &api->page_rows[i];
        *row = open_row(page_path(embedded_pages[i].name), "pages_file", pages_file);
        if (row->path == NULL) {
            return false;
        }
        add_route(api, row);
    }
    return true;
}

/* Without a folder there is no such route at all. */
static bool add_pose(struct api *api, const char *directory, char *error, size_t error_size)
{
    if (directory == NULL) {
        return true;
    }
    size_t count = pose_files_count();
    api->pose_rows = calloc(count + 1, sizeof *api->pose_rows);
    api->pose = api->pose_rows == NULL ? NULL : pose_files_read(directory, error, error_size);
    if (api->pose == NULL) {
        return false;
    }
    for (size_t i = 0; i < count; i++) {
        api->pose_rows[i] = open_row(api->pose[i].path, "pose_file", pose_file);
        add_route(api, &api->pose_rows[i]);
    }
    api->pose_rows[count] = open_row("/pose/ready", "pose_ready", pose_ready);
    add_route(api, &api->pose_rows[count]);
    return true;
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
    api->routes = calloc(api_rows_count + embedded_pages_count + pose_files_count() + 1, sizeof *api->routes);
    api->page_rows = calloc(embedded_pages_count + 1, sizeof *api->page_rows);
    api->reading = reading_new();
    if (api->heavy == NULL || api->reading == NULL || api->routes == NULL || api->page_rows == NULL ||
        !add_rows(api, error, error_size) || !add_pages(api) || !add_pose(api, config->pose, error, error_size) ||
        !parse_rules(api, error, error_size)) {
        api_free(api);
        return NULL;
    }
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

void api_refuse_writes(struct api *api)
{
    atomic_store(&api->refusing, true);
}

void api_free(struct api *api)
{
    if (api == NULL) {
        return;
    }
    heavy_free(api->heavy);
    rules_return(api, api->rules);
    for (size_t i = 0; api->page_rows != NULL && i < embedded_pages_count; i++) {
        free((char *)api->page_rows[i].path);
    }
    pthread_mutex_destroy(&api->rules_lock);
    reading_free(api->reading);
    free(api->page_rows);
    free(api->pose_rows);
    pose_files_free(api->pose);
    free(api->routes);
    free(api);
}
