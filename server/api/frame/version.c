/* See version.h. */
#include "api/frame/version.h"

#include <stdio.h>
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/precondition.h"

enum store_status version_current(struct call *call, const struct versioned *what, struct store_version *out)
{
    enum store_status status = store_version_current(call->db, what->kind, call->arena, out);
    if (status == STORE_NOT_FOUND && what->shipped != NULL) {
        *out = (struct store_version){0};
        out->json = what->shipped(&out->json_size);
        status = out->json == NULL ? STORE_ERROR : store_version_number(call->db, what->kind, &out->number);
    }
    return status;
}

static void version_write(struct json_out *out, const struct versioned *what, const struct store_version *version)
{
    json_out_object(out, NULL);
    answer_integer(out, "number", version->number);
    if (version->label != NULL) {
        json_out_text(out, "label", version->label);
    }
    answer_id(out, "created_by", version->created_by);
    answer_time(out, "created", version->created);
    json_out_raw(out, what->name, version->json, version->json_size);
    if (what->more != NULL) {
        what->more(out);
    }
    json_out_end_object(out);
}

void version_answer(struct call *call, const struct versioned *what, const struct store_version *version, bool etag)
{
    struct json_out out;
    json_out_start(&out, call->arena);
    version_write(&out, what, version);
    answer_json(call, &out, etag ? version->number : 0);
}

void version_get(struct call *call, const struct versioned *what)
{
    struct store_version version;
    const enum store_status status = version_current(call, what, &version);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    version_answer(call, what, &version, true);
}

struct version_change {
    const struct versioned *what;
    struct store_version next;
    int64_t base;
};

static enum store_status put_job(struct store_db *db, struct write *write)
{
    struct version_change *change = write->data;
    struct json_out out;
    const enum store_status status = store_version_insert(db, change->what->kind, &change->next, change->base);
    if (status != STORE_OK) {
        return status;
    }
    json_out_start(&out, write->call.arena);
    version_write(&out, change->what, &change->next);
    write->etag = change->next.number;
    (void)snprintf(write->audit.object_id, sizeof write->audit.object_id, "%lld", (long long)change->next.number);
    return answer_write(write, &out, 200) ? STORE_OK : STORE_NO_MEMORY;
}

void version_replace(struct call *call, const struct versioned *what, const char *json, size_t size, const char *detail)
{
    struct wire_error error;
    struct store_version now;
    struct version_change *change = arena_alloc(call->arena, sizeof *change);
    if (change == NULL) {
        answer_no_memory(call);
        return;
    }
    struct write *write = write_new(call, put_job, change);
    const enum store_status status = write == NULL ? STORE_OK : version_current(call, what, &now);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    if (write == NULL || !precondition_edit(call, now.number)) {
        return;
    }
    *change = (struct version_change){.what = what, .next = {.created = call->now}, .base = now.number};
    change->next.json = json;
    change->next.json_size = size;
    if (!what->check(call->arena, &change->next, &error)) {
        exchange_problem(call->exchange, 422, what->problem, error.path, "%s", error.what);
        return;
    }
    memcpy(change->next.created_by, call->principal->account_id, sizeof change->next.created_by);
    answer_audit(write, what->action, what->name, "", "");
    write->audit.detail = detail;
    call_write(write);
}

void version_put(struct call *call, const struct versioned *what)
{
    size_t size;
    const char *json = exchange_body(call->exchange, &size);
    version_replace(call, what, json, size, NULL);
}
