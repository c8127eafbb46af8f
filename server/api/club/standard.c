/* The house standard: the version in force, those before it, and a new one to judge by from now on. */
#include <string.h>

#include "api/club/handlers.h"
#include "api/frame/answer.h"
#include "api/frame/body.h"
#include "api/frame/heavy.h"
#include "api/frame/version.h"
#include "api/practice/repeats.h"
#include "wire/rules/spreads.h"
#include "wire/rules/standard_read.h"

/* Has an item before this one the same name? */
static bool named_before(int item)
{
    for (int i = 0; i < item; i++) {
        if (strcmp(measure_info((enum measure_item)i)->name, measure_info((enum measure_item)item)->name) == 0) {
            return true;
        }
    }
    return false;
}

/* The unit of every measure that a range may name. */
static void units_write(struct json_out *out)
{
    json_out_object(out, "units");
    for (int i = 0; i < MEASURE_COUNT; i++) {
        if (!named_before(i)) {
            const struct measure_info *info = measure_info((enum measure_item)i);
            json_out_text(out, info->name, unit_name(info->unit));
        }
    }
    json_out_end_object(out);
}

/* Its own label is the version's. */
static bool standard_check(struct arena *arena, struct store_version *version, struct wire_error *error)
{
    struct standard *standard = arena_alloc(arena, sizeof *standard);
    if (standard == NULL) {
        return wire_fail(error, NULL, "needs more memory than there is");
    }
    const bool good = standard_read(version->json, version->json_size, arena, standard, error);
    version->label = good ? standard->version : NULL;
    return good;
}

static const struct versioned house_standard = {
    .kind = STORE_STANDARD,
    .name = "standard",
    .action = "standard.replace",
    .problem = "invalid-standard",
    .check = standard_check,
    .more = units_write,
};

void standard_get(struct call *call)
{
    version_get(call, &house_standard);
}

void standard_put(struct call *call)
{
    version_put(call, &house_standard);
}

/* ---- the versions ---- */

void standard_versions(struct call *call)
{
    struct json_out out;
    struct store_version_list list;
    const enum store_status status = store_version_list(call->db, call->arena, &list);
    if (!answer_list_begin(call, &out, status, "versions")) {
        return;
    }
    for (size_t i = 0; i < list.count; i++) {
        const struct store_version *version = &list.items[i].version;
        json_out_object(&out, NULL);
        answer_integer(&out, "number", version->number);
        json_out_text(&out, "label", version->label);
        answer_id(&out, "created_by", version->created_by);
        json_out_text(&out, "created_by_name", list.items[i].created_by_name);
        answer_time(&out, "created", version->created);
        answer_integer(&out, "swings", list.items[i].swings);
        json_out_bool(&out, "in_force", i == 0);
        json_out_end_object(&out);
    }
    answer_list_end(call, &out, NULL);
}

/* The one that the address names. False: answered. */
static bool version_find(struct call *call, struct store_version *out)
{
    const int64_t number = call_number(exchange_capture(call->exchange, 0));
    const enum store_status status =
        number > 0 ? store_version_standard(call->db, number, call->arena, out) : STORE_NOT_FOUND;
    if (status != STORE_OK) {
        call_problem_store(call, status);
    }
    return status == STORE_OK;
}

void standard_version(struct call *call)
{
    struct store_version version;
    if (version_find(call, &version)) {
        version_answer(call, &house_standard, &version, false);
    }
}

/* Going back is going on: the old version is kept once more, as the newest. */
void standard_restore(struct call *call)
{
    static const char *const keys[] = {NULL};
    static const struct versioned restored = {.kind = STORE_STANDARD,
                                              .name = "standard",
                                              .action = "standard.back",
                                              .problem = "invalid-standard",
                                              .check = standard_check,
                                              .more = units_write};
    struct body body;
    struct store_version version;
    if (!body_begin(&body, call, keys, true) || !body_end(&body) || !version_find(call, &version)) {
        return;
    }
    const char *detail = arena_printf(call->arena, "{\"from\":%lld}", (long long)version.number);
    if (detail == NULL) {
        answer_no_memory(call);
        return;
    }
    version_replace(call, &restored, version.json, version.json_size, detail);
}

/* ---- the club's own spreads ---- */

struct spreading {
    const char *version;
    struct repeats repeats;
    enum store_status status;
};

static void spread_find(struct call *call, void *data)
{
    struct spreading *spreading = data;
    spreading->status = repeats_gather(call, &spreading->repeats);
}

static void spread_put(struct call *call, enum store_status status, void *data)
{
    struct spreading *spreading = data;
    struct store_version now;
    struct maybe spreads[MEASURE_COUNT] = {{false, 0}};
    size_t size = 0;
    int enough = 0;
    for (int i = 0; i < MEASURE_COUNT; i++) {
        const struct repeats_measure *measure = &spreading->repeats.of[i];
        spreads[i] = (struct maybe){.given = measure->enough, .value = measure->spread};
        enough += measure->enough;
    }
    status = status == STORE_OK ? spreading->status : status;
    status = status == STORE_OK ? version_current(call, &house_standard, &now) : status;
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    if (enough == 0) {
        exchange_problem(call->exchange, 409, "too-few-repeats", NULL,
                         "No measure has been repeated by %d students yet: the standard stays as it is.",
                         RELIABILITY_ENOUGH);
        return;
    }
    const char *json = standard_with_spreads(now.json, now.json_size, spreading->version, spreads, call->arena, &size);
    if (json == NULL) {
        answer_no_memory(call);
        return;
    }
    version_replace(call, &house_standard, json, size, NULL);
}

void standard_spread(struct call *call)
{
    static const char *const keys[] = {"version", NULL};
    struct body body;
    struct spreading *spreading = arena_alloc(call->arena, sizeof *spreading);
    if (spreading == NULL) {
        answer_no_memory(call);
        return;
    }
    if (!body_begin(&body, call, keys, false)) {
        return;
    }
    (void)tree_name(&body.in, "version", true, 64, &spreading->version);
    if (body_end(&body)) {
        (void)call_heavy(call, spread_find, spread_put, spreading, NULL);
    }
}
