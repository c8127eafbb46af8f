/* Fixes as the next coach reads them, and closing, changing or opening one again. */
#include <stdio.h>
#include <string.h>

#include "api/frame/body.h"
#include "api/frame/precondition.h"
#include "api/practice/fix_conflicts.h"
#include "api/practice/fix_report.h"
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
    const struct rules_cache *rules = rules_borrow(call->api, call->db, call->rules_edits);
    status = rules == NULL ? STORE_ERROR : status;
    for (size_t i = 0; status == STORE_OK && i < list.count; i++) {
        if (!for_staff && list.items[i].status == STORE_FIX_OPEN && list.items[i].waits) {
            continue; /* one thing at a time */
        }
        status = fix_write(&out, call->db, call->arena, &list.items[i], &homework, rules->standard, for_staff);
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
    const struct rules_cache *rules = rules_borrow(call->api, call->db, call->rules_edits);
    json_out_start(&out, call->arena);
    if (status == STORE_OK) {
        status = rules == NULL ? STORE_ERROR
                               : fix_write(&out, call->db, call->arena, &fix, &homework, rules->standard, for_staff);
    }
    if (rules != NULL) {
        rules_return(call->api, rules);
    }
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
    const char *reason, *together, *overrule;
    /* Where it opens again, or runs from now on beside another: what was asked, and what speaks against it. */
    bool begins;
    struct store_fix fix;
    struct scored_student scored;
    struct fix_drills drills;
    struct fix_asked asked;
    const char *conflicts;
};

/* It begins again: as it stood when that was asked, with what was said to that. */
static enum store_status begin(struct store_db *db, struct write *write, const struct fix_change *change,
                               struct store_fix *fix)
{
    fix->conflicts = change->conflicts;
    fix->overrule = change->fix.overrule;
    return fix_conflicts_check(db, write, &change->asked);
}

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
    status = change->begins ? begin(db, write, change, &fix) : STORE_OK;
    if (status != STORE_OK) {
        return status;
    }
    fix.reason = change->reason == NULL && change->together != NULL ? fix.reason : change->reason;
    fix.version = change->version;
    fix.status = change->status;
    status = store_fix_update(db, &fix, change->reason, write->call.principal->account_id, write->call.now);
    if (status == STORE_CONFLICT) {
        return fix_two_refuse(db, write, &fix);
    }
    const bool against = change->conflicts != NULL && (change->together == NULL || change->overrule != NULL);
    status = status == STORE_OK ? fix_two_tell(db, write, &fix, against ? "fix_conflict" : "fix_changed") : status;
    return status == STORE_OK ? fix_two_answer(db, write, change->id, 200) : status;
}

static bool change_read(struct call *call, struct fix_change *change)
{
    static const char *const keys[] = {"status", "reason", "together", "overrule", NULL};
    const char *name = NULL;
    struct body body;
    if (!body_begin(&body, call, keys, false)) {
        return false;
    }
    if (tree_text(&body.in, "status", true, 16, &name) && !store_fix_status_parse(name, &change->status)) {
        (void)tree_refuse(&body.in, "status", "open, closed or changed is expected");
    }
    (void)tree_text(&body.in, "together", false, FIX_REASON_MAX, &change->together);
    if (tree_text(&body.in, "overrule", false, FIX_REASON_MAX, &change->overrule) && change->overrule != NULL &&
        change->status != STORE_FIX_OPEN) {
        (void)tree_refuse(&body.in, "overrule", "is said where a fix is opened");
    }
    (void)tree_text(&body.in, "reason", change->together == NULL, FIX_REASON_MAX, &change->reason);
    return body_end(&body);
}

/* The drills that the fix has when it is opened again: a coach's word for one holds for what was sore then. */
static void drills_again(struct fix_change *change, const struct store_homework_list *homework)
{
    struct fix_drills *drills = &change->drills;
    for (size_t i = 0; i < homework->count && drills->count < FIX_DRILLS_MAX; i++) {
        const struct store_homework *work = &homework->items[i];
        const bool stands = work->ended == 0 || work->ended == change->fix.ended_at;
        const bool worded = (change->scored.player.pain & ~work->word_pain) == 0;
        if (stands && strcmp(work->fix_id, change->id) == 0) {
            drills->chosen[drills->count++] =
                (struct fix_drill){.id = work->drill_id, .reason = worded ? work->confirmed : NULL};
        }
    }
}

/* What speaks against it now, as against a new one; what a waiting fix was opened with all the same holds still. False:
 * answered. */
static bool begin_ask(struct call *call, struct fix_change *change)
{
    struct store_fix *fix = &change->fix;
    struct store_homework_list homework;
    const bool again = fix->status != STORE_FIX_OPEN;
    fix->overrule = change->overrule != NULL || again ? change->overrule : fix->overrule;
    fix->reason = change->reason;
    fix->together = change->together;
    change->asked = (struct fix_asked){.fix = fix, .scored = &change->scored, .drills = &change->drills};
    if (!fault_parse(fix->fault, &change->asked.fault)) {
        call_problem_store(call, STORE_CORRUPT);
        return false;
    }
    const enum store_status status =
        store_homework_list(call->db, call->student_id, false, 0, NULL, call->arena, &homework);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return false;
    }
    if (!scoring_start(call, &change->scored) || !fix_report_ask(call, fix, false, &change->asked)) {
        return false;
    }
    drills_again(change, &homework);
    return fix_conflicts_ask(call, &change->asked, &change->conflicts);
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
    change->fix = fix;
    change->begins =
        change->status == STORE_FIX_OPEN && (fix.status != STORE_FIX_OPEN || (fix.waits && change->together != NULL));
    memcpy(change->id, fix.id, UUID_TEXT);
    if (change->begins && !begin_ask(call, change)) {
        return;
    }
    static const char *const actions[STORE_FIX_STATUS_COUNT] = {"fix.open", "fix.close", "fix.change"};
    struct write *write = write_new(call, change_job, change);
    if (write != NULL) {
        answer_audit(write, actions[change->status], "fix", change->id, call->student_id);
        call_write(write);
    }
}
