/* The club's map of marker names: the one in force to read, and a new one to read marker files by from now on. Swings
 * that came before keep the map they were read by. */
#include "api/lessons/markers.h"

#include <stdio.h>
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/precondition.h"
#include "api/lessons/handlers.h"
#include "store/lessons/markers.h"

/* Number 1 comes with the program. */
static enum store_status row_current(struct call *call, struct store_markers *out)
{
    enum store_status status = store_markers_current(call->db, call->arena, out);
    if (status == STORE_NOT_FOUND) {
        *out = (struct store_markers){.number = STORE_MARKERS_FIRST};
        out->json = marker_map_default_json(&out->json_size);
        status = out->json == NULL ? STORE_ERROR : STORE_OK;
    }
    return status;
}

enum store_status markers_current(struct call *call, const struct marker_map **out)
{
    struct store_markers row;
    struct wire_error error;
    struct marker_map *map = arena_alloc(call->arena, sizeof *map);
    *out = NULL;
    if (map == NULL) {
        return STORE_NO_MEMORY;
    }
    const enum store_status status = row_current(call, &row);
    if (status != STORE_OK) {
        return status;
    }
    if (!marker_map_read(row.json, row.json_size, call->arena, map, &error)) {
        return STORE_CORRUPT;
    }
    *out = map;
    return STORE_OK;
}

static void markers_write(struct json_out *out, const struct store_markers *row)
{
    json_out_object(out, NULL);
    answer_integer(out, "number", row->number);
    answer_id(out, "created_by", row->created_by);
    answer_time(out, "created", row->created);
    json_out_raw(out, "markers", row->json, row->json_size);
    json_out_end_object(out);
}

void markers_get(struct call *call)
{
    struct store_markers row;
    struct json_out out;
    const enum store_status status = row_current(call, &row);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    json_out_start(&out, call->arena);
    markers_write(&out, &row);
    answer_json(call, &out, row.number);
}

struct replacing {
    struct store_markers row;
    int64_t base;
};

static enum store_status replace_job(struct store_db *db, struct write *write)
{
    struct replacing *replacing = write->data;
    struct json_out out;
    const enum store_status status = store_markers_insert(db, &replacing->row, replacing->base);
    if (status != STORE_OK) {
        return status;
    }
    json_out_start(&out, write->call.arena);
    markers_write(&out, &replacing->row);
    write->etag = replacing->row.number;
    (void)snprintf(write->audit.object_id, sizeof write->audit.object_id, "%lld", (long long)replacing->row.number);
    return answer_write(write, &out, 200) ? STORE_OK : STORE_NO_MEMORY;
}

void markers_put(struct call *call)
{
    struct wire_error error;
    struct marker_map *map = arena_alloc(call->arena, sizeof *map);
    struct replacing *replacing = arena_alloc(call->arena, sizeof *replacing);
    if (map == NULL || replacing == NULL) {
        answer_no_memory(call);
        return;
    }
    struct write *write = write_new(call, replace_job, replacing);
    struct store_markers now;
    const enum store_status status = write == NULL ? STORE_OK : row_current(call, &now);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    if (write == NULL || !precondition_edit(call, now.number)) {
        return;
    }
    replacing->base = now.number;
    replacing->row.json = exchange_body(call->exchange, &replacing->row.json_size);
    if (!marker_map_read(replacing->row.json, replacing->row.json_size, call->arena, map, &error)) {
        exchange_problem(call->exchange, 422, "invalid-markers", error.path, "%s", error.what);
        return;
    }
    replacing->row.created = call->now;
    memcpy(replacing->row.created_by, call->principal->account_id, sizeof replacing->row.created_by);
    answer_audit(write, "markers.replace", "markers", "", "");
    call_write(write);
}
