/* Fixes as the next coach reads them, and closing, changing or opening one again. */
#include <stdio.h>
#include <string.h>

#include "api/frame/body.h"
#include "api/frame/precondition.h"
#include "api/practice/fix_two.h"
#include "api/practice/fix_write.h"
#include "api/practice/handlers.h"
#include "api/practice/homework_write.h"

void fixes_list(struct call *call)
{
    struct store_page page;
    struct store_fix_list list;
    struct store_homework_list homework;
    struct json_out out;
    const bool for_staff = (RIGHTS_STAFF & 1U << call->principal->role) != 0;
    const char *wanted = exchange_query(call->exchange, "status");
    if (!call_page(call, &page)) {
        return;
    }
    if (wanted != NULL && strcmp(wanted, "open") != 0) {
        exchange_problem(call->exchange, 422, "invalid", "status", "status is open, or not said for all");
        return;
    }
    enum store_status status = store_fix_list(call->db, call->student_id, wanted != NULL, &page, call->arena, &list);
    if (status == STORE_OK) {
        status = store_homework_list(call->db, call->student_id, false, homework_week_start(call->now), NULL,
                                     call->arena, &homework);
    }
    if (!answer_list_begin(call, &out, status, "fixes")) {
        return;
    }
    for (size_t i = 0; status == STORE_OK && i < list.count; i++) {
        if (!for_staff && list.items[i].status == STORE_FIX_OPEN && list.items[i].waits) {
            continue; /* one thing at a time */
        }
        status = fix_write(&out, call->db, call->arena, &list.items[i], &homework, for_staff);
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    answer_list_end(call, &out, ANSWER_NEXT(list));
}

void fixes_get(struct call *call)
{
    struct store_fix fix;
    struct store_homework_list homework;
    struct json_out out;
    const bool for_staff = (RIGHTS_STAFF & 1U << call->principal->role) != 0;
    enum store_status status = store_fix_get(call->db, exchange_capture(call->exchange, 0), call->arena, &fix);
    if (status == STORE_OK && !for_staff && fix.status == STORE_FIX_OPEN && fix.waits) {
        status = STORE_NOT_FOUND; /* one thing at a time, as in the list */
    }
    if (status == STORE_OK) {
        status = store_homework_list(call->db, call->student_id, false, homework_week_start(call->now), NULL,
                                     call->arena, &homework);
    }
    json_out_start(&out, call->arena);
    status = status == STORE_OK ? fix_write(&out, call->db, call->arena, &fix, &homework, for_staff) : status;
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    answer_json_moving(call, &out, fix.version);
}

struct fix_change {
    char id[UUID_TEXT];
    int64_t version;
    enum store_fix_status status;
    const char *reason, *together;
};

static enum store_status change_job(struct store_db *db, struct write *write)
{
    const struct fix_change *change = write->data;
    struct store_fix fix;
    enum store_status status = store_fix_get(db, change->id, write->call.arena, &fix);
    if (status != STORE_OK) {
        return status;
    }
    if (change->together != NULL) { /* it waited: both run from here on */
        int64_t own = 0;
        if (fix.status != STORE_FIX_OPEN || !fix.waits || change->status != STORE_FIX_OPEN) {
            return write_refuse(write, 409, "fix-not-waiting", "together",
                                "Only a fix that waits can run beside another.");
        }
        status = store_fix_drills(db, fix.id, &own);
        int count = (int)own;
        if (status == STORE_OK) {
            status = fix_two_fit(db, write, fix.student_id, &count, false);
        }
        if (status != STORE_OK) {
            return status;
        }
        fix.together = change->together;
        fix.waits = false;
    }
    fix.reason = change->reason == NULL && change->together != NULL ? fix.reason : change->reason;
    fix.version = change->version;
    fix.status = change->status;
    status = store_fix_update(db, &fix, change->reason, write->call.principal->account_id, write->call.now);
    if (status == STORE_CONFLICT) {
        return fix_two_refuse(db, write, &fix);
    }
    status = status == STORE_OK ? fix_two_tell(db, write, &fix, "fix_changed") : status;
    return status == STORE_OK ? fix_two_answer(db, write, change->id, 200) : status;
}

static bool change_read(struct call *call, struct fix_change *change)
{
    static const char *const keys[] = {"status", "reason", "together", NULL};
    const char *name = NULL;
    struct body body;
    if (!body_begin(&body, call, keys, false)) {
        return false;
    }
    if (tree_text(&body.in, "status", true, 16, &name) && !store_fix_status_parse(name, &change->status)) {
        (void)tree_refuse(&body.in, "status", "open, closed or changed is expected");
    }
    (void)tree_text(&body.in, "together", false, FIX_REASON_MAX, &change->together);
    (void)tree_text(&body.in, "reason", change->together == NULL, FIX_REASON_MAX, &change->reason);
    return body_end(&body);
}

void fixes_update(struct call *call)
{
    struct fix_change *change = arena_alloc(call->arena, sizeof *change);
    if (change == NULL) {
        answer_no_memory(call);
        return;
    }
    struct store_fix fix;
    const enum store_status status = store_fix_get(call->db, exchange_capture(call->exchange, 0), call->arena, &fix);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    change->version = fix.version;
    if (!precondition_edit(call, fix.version) || !change_read(call, change)) {
        return;
    }
    static const char *const actions[STORE_FIX_STATUS_COUNT] = {"fix.open", "fix.close", "fix.change"};
    (void)snprintf(change->id, sizeof change->id, "%s", exchange_capture(call->exchange, 0));
    struct write *write = write_new(call, change_job, change);
    if (write != NULL) {
        answer_audit(write, actions[change->status], "fix", change->id, call->student_id);
        call_write(write);
    }
}
