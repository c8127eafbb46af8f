/* Opening a fix with its homework: what the report suggests first, or another with a reason. */
#include <stdio.h>
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/body.h"
#include "api/practice/fix_conflicts.h"
#include "api/practice/fix_report.h"
#include "api/practice/handlers.h"
#include "store/lessons/swing.h"
#include "store/practice/retest.h"
#include "wire/rules/old_names.h"

struct fix_opening {
    struct scored_student scored;
    enum fault_id fault;
    struct store_fix fix;
    struct fix_drills drills;
    struct fix_asked asked;
};

/* It is looked at again after the days of its homework. */
static enum store_status retest_plan(struct store_db *db, const struct store_fix *fix)
{
    struct store_retest retest = {.begun_at = fix->opened_at};
    uuid7_new(retest.id);
    memcpy(retest.student_id, fix->student_id, UUID_TEXT);
    memcpy(retest.fix_id, fix->id, UUID_TEXT);
    memcpy(retest.planned_by, fix->opened_by, UUID_TEXT);
    return store_retest_plan(db, &retest);
}

static enum store_status create_job(struct store_db *db, struct write *write)
{
    struct fix_opening *opening = write->data;
    if (opening->fix.baseline_swing[0] != '\0') { /* it may have been given to another meanwhile */
        char student_id[UUID_TEXT] = "";
        const enum store_status found = store_swing_student(db, opening->fix.baseline_swing, student_id);
        if (found != STORE_OK || strcmp(student_id, opening->fix.student_id) != 0) {
            return found != STORE_OK
                       ? found
                       : write_refuse(write, 422, "unknown-baseline", "from_swing", "This student has no such swing.");
        }
    }
    if (opening->fix.together != NULL) {
        const enum store_status fits =
            fix_two_fit(db, write, opening->fix.student_id, &opening->drills.count, !opening->drills.given);
        if (fits != STORE_OK) {
            return fits;
        }
    }
    enum store_status status = store_fix_insert(db, &opening->fix);
    if (status == STORE_CONFLICT) {
        return fix_two_refuse(db, write, &opening->fix);
    }
    status = status == STORE_OK ? fix_conflicts_check(db, write, &opening->asked) : status;
    for (int i = 0; status == STORE_OK && i < opening->drills.count; i++) {
        status = store_homework_insert(db, &opening->drills.homework[i]);
    }
    status = status == STORE_OK ? retest_plan(db, &opening->fix) : status;
    if (status == STORE_OK && opening->fix.conflicts != NULL) {
        status = fix_two_tell(db, write, &opening->fix, "fix_conflict");
    }
    return status == STORE_OK ? fix_two_answer(db, write, opening->fix.id, 201) : status;
}

static bool opening_read(struct call *call, struct fix_opening *opening)
{
    static const char *const keys[] = {"fault",  "drills",   "from_swing", "from_lesson",
                                       "reason", "overrule", "together",   NULL};
    struct body body;
    struct store_fix *fix = &opening->fix;
    if (!body_begin(&body, call, keys, false)) {
        return false;
    }
    (void)tree_text(&body.in, "reason", false, FIX_REASON_MAX, &fix->reason);
    (void)tree_text(&body.in, "overrule", false, FIX_REASON_MAX, &fix->overrule);
    (void)tree_text(&body.in, "together", false, FIX_REASON_MAX, &fix->together);
    (void)tree_uuid(&body.in, "from_swing", false, fix->baseline_swing);
    (void)tree_uuid(&body.in, "from_lesson", false, fix->baseline_lesson);
    if (tree_text(&body.in, "fault", true, 64, &fix->fault)) {
        if (fault_read(fix->fault, &opening->fault)) {
            fix->fault = fault_name(opening->fault);
        } else {
            (void)tree_refuse(&body.in, "fault", "no such fault");
        }
    }
    if (!body.in.failed && fix->baseline_swing[0] != '\0' && fix->baseline_lesson[0] != '\0') {
        (void)tree_refuse(&body.in, "from_lesson", "give from_swing or from_lesson, not both");
    }
    fix_drills_read(&body.in, &opening->drills);
    return body_end(&body);
}

/* Another fault than the suggested one, or none suggested at all, needs the coach's reason. False: answered. */
static bool suggestion_check(struct call *call, const char *first, struct store_fix *fix)
{
    if (strcmp(first, fix->fault) == 0) {
        return true;
    }
    if (fix->overrule == NULL) { /* then the reason is one between coaches, and not for the family */
        fix->overrule = fix->reason;
        fix->reason = NULL;
    }
    if (fix->overrule == NULL) {
        exchange_problem(call->exchange, 422, "reason-needed", "overrule",
                         "A fix that is not the report's first one needs a reason.");
        return false;
    }
    return true;
}

void fixes_create(struct call *call)
{
    struct fix_opening *opening = arena_alloc(call->arena, sizeof *opening);
    if (opening == NULL) {
        answer_no_memory(call);
        return;
    }
    struct store_fix *fix = &opening->fix;
    uuid7_new(fix->id);
    memcpy(fix->student_id, call->student_id, sizeof fix->student_id);
    memcpy(fix->opened_by, call->principal->account_id, sizeof fix->opened_by);
    fix->opened_at = call->now;
    struct fix_asked *asked = &opening->asked;
    if (!opening_read(call, opening) || !scoring_start(call, &opening->scored) ||
        !fix_report_ask(call, fix, true, asked) ||
        !fix_drills_take(call, fix, opening->fault, &opening->scored, &opening->drills)) {
        return;
    }
    asked->fix = fix;
    asked->fault = opening->fault;
    asked->scored = &opening->scored;
    asked->drills = &opening->drills;
    if (!fix_conflicts_ask(call, asked, &fix->conflicts) || !suggestion_check(call, asked->first, fix)) {
        return;
    }
    struct write *write = write_new(call, create_job, opening);
    if (write == NULL) {
        return;
    }
    write->location = arena_printf(call->arena, "/v1/fixes/%s", fix->id);
    answer_audit(write, "fix.create", "fix", fix->id, call->student_id);
    call_write(write);
}
