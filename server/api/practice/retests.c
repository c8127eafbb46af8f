/* Planned looks at what is worked on: of one student, with what they showed; those due, with whom; and moving one. */
#include <stdio.h>
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/body.h"
#include "api/frame/precondition.h"
#include "api/practice/handlers.h"
#include "api/practice/retest_judge.h"

#define REASON_MAX 2000
#define AHEAD_MS (INT64_C(732) * DAY_MS)

static void plan_write(struct json_out *out, const struct store_retest *retest)
{
    json_out_text(out, "id", retest->id);
    json_out_text(out, "student_id", retest->student_id);
    json_out_text(out, "student_name", retest->student_name);
    json_out_text(out, "fix_id", retest->fix_id);
    json_out_text(out, "fault", retest->fault);
    answer_time(out, "begun_at", retest->begun_at);
    answer_time(out, "due_at", retest->due_at);
    json_out_text(out, "planned_by", retest->planned_by);
    answer_id(out, "moved_by", retest->moved_by);
    answer_time(out, "moved_at", retest->moved_at);
    json_out_text(out, "moved_reason", retest->moved_reason);
    answer_time(out, "ended_at", retest->ended_at);
    answer_integer(out, "version", retest->version);
}

void retests_list(struct call *call)
{
    struct store_page page;
    struct store_retest_list list;
    struct json_out out;
    if (!call_page(call, &page)) {
        return;
    }
    enum store_status status = store_retest_list(call->db, call->student_id, &page, call->arena, &list);
    if (!answer_list_begin(call, &out, status, "retests")) {
        return;
    }
    const struct rules_cache *rules = rules_borrow(call->api, call->db, call->rules_edits);
    status = rules == NULL ? STORE_ERROR : STORE_OK;
    for (size_t i = 0; status == STORE_OK && i < list.count; i++) {
        json_out_object(&out, NULL);
        plan_write(&out, &list.items[i]);
        status = retest_judge(&out, call, rules, &list.items[i]);
        json_out_end_object(&out);
    }
    if (rules != NULL) {
        rules_return(call->api, rules);
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    answer_list_end(call, &out, ANSWER_NEXT(list));
}

void retests_due(struct call *call)
{
    struct store_page page;
    struct store_retest_list list;
    struct json_out out;
    const char *before = exchange_query(call->exchange, "due_before");
    const struct principal *principal = call->principal;
    if (!call_page(call, &page)) {
        return;
    }
    page.to = call->now;
    if (before != NULL && !time_parse(before, &page.to)) {
        exchange_problem(call->exchange, 422, "invalid", "due_before", "due_before must be a time as in RFC 3339.");
        return;
    }
    const enum store_status status =
        store_retest_due(call->db, principal->account_id, principal->role == STORE_HEAD, &page, call->arena, &list);
    if (!answer_list_begin(call, &out, status, "retests")) {
        return;
    }
    for (size_t i = 0; i < list.count; i++) {
        json_out_object(&out, NULL);
        plan_write(&out, &list.items[i]);
        json_out_end_object(&out);
    }
    answer_list_end(call, &out, ANSWER_NEXT(list));
}

static enum store_status move_job(struct store_db *db, struct write *write)
{
    const struct store_retest *moved = write->data;
    struct store_retest retest;
    struct json_out out;
    enum store_status status = store_retest_move(db, moved);
    if (status == STORE_NOT_FOUND) {
        return write_refuse(write, 409, "retest-over", NULL, "This fix has ended: nothing is looked at again.");
    }
    status = status == STORE_OK ? store_retest_get(db, moved->id, write->call.arena, &retest) : status;
    if (status != STORE_OK) {
        return status;
    }
    json_out_start(&out, write->call.arena);
    json_out_object(&out, NULL);
    plan_write(&out, &retest);
    json_out_end_object(&out);
    write->etag = retest.version;
    return answer_write(write, &out, 200) ? STORE_OK : STORE_NO_MEMORY;
}

static bool move_read(struct call *call, struct store_retest *retest)
{
    static const char *const keys[] = {"due_at", "reason", NULL};
    struct body body;
    if (!body_begin(&body, call, keys, false)) {
        return false;
    }
    if (tree_time(&body.in, "due_at", true, &retest->due_at) &&
        (retest->due_at < call->now - DAY_MS || retest->due_at > call->now + AHEAD_MS)) {
        (void)tree_refuse(&body.in, "due_at", "must lie between today and two years from now");
    }
    (void)tree_text(&body.in, "reason", true, REASON_MAX, &retest->moved_reason);
    return body_end(&body);
}

void retests_move(struct call *call)
{
    struct store_retest *retest = arena_alloc(call->arena, sizeof *retest);
    const enum store_status status =
        retest == NULL ? STORE_NO_MEMORY
                       : store_retest_get(call->db, exchange_capture(call->exchange, 0), call->arena, retest);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    if (!precondition_edit(call, retest->version) || !move_read(call, retest)) {
        return;
    }
    retest->moved_at = call->now;
    memcpy(retest->moved_by, call->principal->account_id, UUID_TEXT);
    struct write *write = write_new(call, move_job, retest);
    if (write != NULL) {
        answer_audit(write, "retest.move", "retest", retest->id, call->student_id);
        call_write(write);
    }
}
