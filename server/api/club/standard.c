/* The house standard: the current version to read, and a new version to judge by from now on. */
#include "store/club/standard.h"

#include <stdio.h>
#include <string.h>

#include "api/club/handlers.h"
#include "api/frame/answer.h"
#include "api/frame/precondition.h"
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

static void standard_write(struct json_out *out, const struct store_standard *standard)
{
    json_out_object(out, NULL);
    answer_integer(out, "number", standard->number);
    json_out_text(out, "label", standard->label);
    answer_id(out, "created_by", standard->created_by);
    answer_time(out, "created", standard->created);
    json_out_raw(out, "standard", standard->json, strlen(standard->json));
    units_write(out);
    json_out_end_object(out);
}

void standard_get(struct call *call)
{
    struct store_standard standard;
    struct json_out out;
    const enum store_status status = store_standard_current(call->db, call->arena, &standard);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    json_out_start(&out, call->arena);
    standard_write(&out, &standard);
    answer_json(call, &out, standard.number);
}

struct replacing {
    struct store_standard row;
    int64_t base;
};

static enum store_status replace_job(struct store_db *db, struct write *write)
{
    struct replacing *replacing = write->data;
    struct json_out out;
    const enum store_status status = store_standard_insert(db, &replacing->row, replacing->base);
    if (status != STORE_OK) {
        return status;
    }
    json_out_start(&out, write->call.arena);
    standard_write(&out, &replacing->row);
    write->etag = replacing->row.number;
    (void)snprintf(write->audit.object_id, sizeof write->audit.object_id, "%lld", (long long)replacing->row.number);
    return answer_write(write, &out, 200) ? STORE_OK : STORE_NO_MEMORY;
}

void standard_put(struct call *call)
{
    size_t length;
    struct wire_error error;
    struct standard *standard = arena_alloc(call->arena, sizeof *standard);
    struct replacing *replacing = arena_alloc(call->arena, sizeof *replacing);
    if (standard == NULL || replacing == NULL) {
        answer_no_memory(call);
        return;
    }
    struct write *write = write_new(call, replace_job, replacing);
    struct store_standard now;
    const enum store_status status = write == NULL ? STORE_OK : store_standard_current(call->db, call->arena, &now);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    if (write == NULL || !precondition_edit(call, now.number)) {
        return;
    }
    replacing->base = now.number;
    const char *body = exchange_body(call->exchange, &length);
    if (!standard_read(body, length, call->arena, standard, &error)) {
        exchange_problem(call->exchange, 422, "invalid-standard", error.path, "%s", error.what);
        return;
    }
    replacing->row.label = standard->version;
    replacing->row.json = body;
    replacing->row.created = call->now;
    memcpy(replacing->row.created_by, call->principal->account_id, sizeof replacing->row.created_by);
    answer_audit(write, "standard.replace", "standard", "", "");
    call_write(write);
}
