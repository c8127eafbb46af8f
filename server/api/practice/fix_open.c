/* Opening a fix with its homework: what the report suggests first, or another with a reason. */
#include <stdio.h>
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/body.h"
#include "api/practice/fix_conflicts.h"
#include "api/practice/handlers.h"
#include "store/lessons/lesson.h"
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

/* Conflicts were looked for among the fixes that were open then: are these the ones still, beside the new one? */
static enum store_status others_check(struct store_db *db, struct write *write, const struct fix_opening *opening)
{
    const struct store_fix_list *then = &opening->asked.open;
    const struct store_page page = {.limit = FIX_DRILLS_MAX + 1};
    struct store_fix_list now;
    const enum store_status status = store_fix_list(db, opening->fix.student_id, true, &page, write->call.arena, &now);
    if (status != STORE_OK) {
        return status;
    }
    bool same = now.count == then->count + 1;
    for (size_t i = 0; same && i < then->count; i++) { /* newest first: the new one stands before them */
        same =
            strcmp(now.items[i + 1].id, then->items[i].id) == 0 && now.items[i + 1].version == then->items[i].version;
    }
    return same ? STORE_OK
                : write_refuse(write, 409, "fixes-changed", NULL,
                               "The student's fixes were changed at this moment: look at them, and try again.");
}

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
    status = status == STORE_OK ? others_check(db, write, opening) : status;
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

/* The report the coach looked at, which must be this student's and of what counts. STORE_NOT_FOUND when it is not. */
static enum store_status report_find(struct call *call, const struct store_fix *fix, struct store_report *report)
{
    struct store_swing swing;
    struct store_lesson lesson;
    enum store_status status;
    if (fix->baseline_swing[0] != '\0') {
        status = store_swing_get(call->db, fix->baseline_swing, false, call->arena, &swing);
        if (status == STORE_OK && (strcmp(swing.student_id, call->student_id) != 0 || swing.voided.at != 0)) {
            return STORE_NOT_FOUND;
        }
        return status == STORE_OK ? store_report_of_swing(call->db, fix->baseline_swing, call->arena, report) : status;
    }
    status = store_lesson_get(call->db, fix->baseline_lesson, call->arena, &lesson);
    if (status == STORE_OK && strcmp(lesson.student_id, call->student_id) != 0) {
        return STORE_NOT_FOUND;
    }
    return status == STORE_OK ? store_report_of_lesson(call->db, fix->baseline_lesson, call->arena, report) : status;
}

/* The fault of the report's first fix ("" when it suggests none) and what the ball did. False: no memory. */
static bool report_take(const struct store_report *report, struct arena *arena, struct fix_asked *asked)
{
    json_t *root = json_loadb(report->json, report->json_size, 0, NULL);
    const json_t *first = json_array_get(json_object_get(root, "first_fixes"), 0);
    const json_t *flight = json_object_get(root, "flight");
    const char *fault = json_string_value(json_object_get(first, "fault"));
    const char *start = json_string_value(json_object_get(flight, "start"));
    const char *curve = json_string_value(json_object_get(flight, "curve"));
    const char *strike = json_string_value(json_object_get(flight, "strike"));
    asked->first = fault == NULL ? "" : arena_strdup(arena, fault);
    (void)(start != NULL && flight_side_parse(start, &asked->flight.start));
    (void)(curve != NULL && flight_side_parse(curve, &asked->flight.curve));
    (void)(strike != NULL && strike_parse(strike, &asked->flight.strike));
    json_decref(root);
    return asked->first != NULL;
}

/* What the report says that the fix is opened from, when one is named. False: answered. */
static bool report_ask(struct call *call, const struct store_fix *fix, struct fix_asked *asked)
{
    struct store_report report;
    asked->first = "";
    asked->flight = (struct flight_class){.start = FLIGHT_UNKNOWN, .curve = FLIGHT_UNKNOWN, .strike = STRIKE_UNKNOWN};
    if (fix->baseline_swing[0] == '\0' && fix->baseline_lesson[0] == '\0') {
        return true;
    }
    enum store_status status = report_find(call, fix, &report);
    if (status == STORE_NOT_FOUND) {
        exchange_problem(call->exchange, 422, "unknown-baseline",
                         fix->baseline_swing[0] != '\0' ? "from_swing" : "from_lesson",
                         "This student has no such swing or lesson that counts.");
        return false;
    }
    if (status == STORE_OK && !report_take(&report, call->arena, asked)) {
        status = STORE_NO_MEMORY;
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
    }
    return status == STORE_OK;
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
    if (!opening_read(call, opening) || !scoring_start(call, &opening->scored) || !report_ask(call, fix, asked) ||
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
