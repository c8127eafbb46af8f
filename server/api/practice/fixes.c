/* Fixes: opening one with its homework, the list the next coach reads, and closing or changing one. */
#include <stdio.h>
#include <string.h>

#include "api/frame/body.h"
#include "api/frame/precondition.h"
#include "api/lessons/scoring.h"
#include "api/practice/fix_write.h"
#include "api/practice/handlers.h"
#include "api/practice/homework_write.h"
#include "store/lessons/lesson.h"
#include "store/lessons/swing.h"
#include "wire/report/words.h"
#include "wire/rules/old_names.h"

#define REASON_MAX 2000
#define FIX_DRILLS_MAX 2 /* two exercises are done better than eight (Henry et al. 1999) */

struct choice {
    const char *id, *reason; /* reason: why a drill for a sore area, or one for balance, all the same */
};

struct opening {
    struct scoring scoring;
    enum fault_id fault;
    bool drills_given;
    int count;
    struct choice choices[FIX_DRILLS_MAX];
    struct store_fix fix;
    struct store_homework homework[FIX_DRILLS_MAX];
};

/* The fix as it now stands, as the write's answer. */
static enum store_status fix_answer(struct store_db *db, struct write *write, const struct store_fix *fix, int status)
{
    struct json_out out;
    struct store_homework_list homework;
    struct arena *arena = write->call.arena;
    enum store_status result =
        store_homework_list(db, fix->student_id, false, homework_week_start(write->call.now), NULL, arena, &homework);
    json_out_start(&out, arena);
    if (result == STORE_OK) {
        result = fix_write(&out, db, arena, fix, &homework, true);
    }
    if (result != STORE_OK) {
        return result;
    }
    write->etag = fix->version;
    return answer_write(write, &out, status) ? STORE_OK : STORE_NO_MEMORY;
}

static enum store_status opening_refuse(struct store_db *db, struct write *write, const struct store_fix *fix)
{
    const struct store_page page = {.limit = FIX_DRILLS_MAX + 1};
    struct store_fix_list open;
    const enum store_status status = store_fix_list(db, fix->student_id, true, &page, write->call.arena, &open);
    if (status != STORE_OK) {
        return status;
    }
    for (size_t i = 0; i < open.count; i++) {
        if (strcmp(open.items[i].fault, fix->fault) == 0) {
            return write_refuse(write, 409, "fix-open", "fault", "A fix for this fault is open already: carry on.");
        }
    }
    return write_refuse(write, 409, "two-fixes-open", NULL,
                        "Two fixes are open already. Close or change one of them first.");
}

/* Two fixes together are given only as many drills as one: those of the coach's own list must fit, others are left
 * out. False: refused. */
static enum store_status together_fit(struct store_db *db, struct write *write, const char *student_id, int *count,
                                      bool may_leave_out)
{
    int64_t running = 0;
    const enum store_status status = store_fix_running_drills(db, student_id, &running);
    const int64_t room = FIX_DRILLS_MAX - running;
    if (status != STORE_OK || *count <= room) {
        return status;
    }
    if (!may_leave_out || room < 1) {
        return write_refuse(write, 409, "too-many-drills", "drills",
                            "At most two drills in all: take one off first, or let this fix wait its turn.");
    }
    *count = (int)room;
    return STORE_OK;
}

static enum store_status opening_job(struct store_db *db, struct write *write)
{
    struct opening *opening = write->data;
    struct store_fix fix;
    if (opening->fix.together != NULL) {
        const enum store_status fits =
            together_fit(db, write, opening->fix.student_id, &opening->count, !opening->drills_given);
        if (fits != STORE_OK) {
            return fits;
        }
    }
    enum store_status status = store_fix_insert(db, &opening->fix);
    if (status == STORE_CONFLICT) {
        return opening_refuse(db, write, &opening->fix);
    }
    for (int i = 0; status == STORE_OK && i < opening->count; i++) {
        status = store_homework_insert(db, &opening->homework[i]);
    }
    if (status == STORE_OK) {
        status = store_fix_get(db, opening->fix.id, write->call.arena, &fix);
    }
    return status == STORE_OK ? fix_answer(db, write, &fix, 201) : status;
}

/* One entry of "drills": {"drill": id, "confirm_reason": why}. */
static bool choice_read(struct body *body, size_t i, const json_t *entry, struct opening *opening)
{
    static const char *const keys[] = {"drill", "confirm_reason", NULL};
    struct choice *choice = &opening->choices[opening->count];
    struct wire_error error;
    const struct wire_at list = wire_key(NULL, "drills");
    const struct wire_at at = wire_index(&list, (int)i);
    struct arena *arena = body->call->arena;
    if (!wire_object(entry, keys, &at, &error) ||
        !wire_text(arena, entry, "drill", true, STORE_SLUG - 1, &choice->id, &at, &error) ||
        !wire_text(arena, entry, "confirm_reason", false, REASON_MAX, &choice->reason, &at, &error)) {
        return body_refuse(body, error.path, "%s", error.what);
    }
    for (int k = 0; k < opening->count; k++) {
        if (strcmp(opening->choices[k].id, choice->id) == 0) {
            return body_refuse(body, "drills", "the same drill twice");
        }
    }
    opening->count++;
    return true;
}

static void choices_read(struct body *body, struct opening *opening)
{
    const json_t *list = json_object_get(body->json, "drills");
    if (body->failed || list == NULL) {
        return;
    }
    const size_t count = json_array_size(list);
    if (!json_is_array(list) || count < 1 || count > FIX_DRILLS_MAX) {
        (void)body_refuse(body, "drills", "a list of one or two drills is expected");
        return;
    }
    opening->drills_given = true;
    for (size_t i = 0; i < count; i++) {
        if (!choice_read(body, i, json_array_get(list, i), opening)) {
            return;
        }
    }
}

static bool opening_read(struct call *call, struct opening *opening)
{
    static const char *const keys[] = {"fault",  "drills",   "from_swing", "from_lesson",
                                       "reason", "overrule", "together",   NULL};
    struct body body;
    struct store_fix *fix = &opening->fix;
    if (!body_begin(&body, call, keys, false)) {
        return false;
    }
    (void)body_text(&body, "reason", false, REASON_MAX, &fix->reason);
    (void)body_text(&body, "overrule", false, REASON_MAX, &fix->overrule);
    (void)body_text(&body, "together", false, REASON_MAX, &fix->together);
    (void)body_uuid(&body, "from_swing", false, fix->baseline_swing);
    (void)body_uuid(&body, "from_lesson", false, fix->baseline_lesson);
    if (body_text(&body, "fault", true, 64, &fix->fault)) {
        if (fault_read(fix->fault, &opening->fault)) {
            fix->fault = fault_name(opening->fault);
        } else {
            (void)body_refuse(&body, "fault", "no such fault");
        }
    }
    if (!body.failed && fix->baseline_swing[0] != '\0' && fix->baseline_lesson[0] != '\0') {
        (void)body_refuse(&body, "from_lesson", "give from_swing or from_lesson, not both");
    }
    choices_read(&body, opening);
    return body_end(&body);
}

/* The report the coach looked at, which must be this student's. STORE_NOT_FOUND when it is not. */
static enum store_status report_find(struct call *call, const struct store_fix *fix, struct store_report *report)
{
    char student_id[UUID_TEXT];
    struct store_lesson lesson;
    enum store_status status;
    if (fix->baseline_swing[0] != '\0') {
        status = store_swing_student(call->db, fix->baseline_swing, student_id);
        if (status == STORE_OK && strcmp(student_id, call->student_id) != 0) {
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

/* The fault of the report's first fix, in the arena; "" when it suggests none. */
static const char *report_first(const struct store_report *report, struct arena *arena)
{
    json_t *root = json_loadb(report->json, report->json_size, 0, NULL);
    const json_t *first = json_array_get(json_object_get(root, "first_fixes"), 0);
    const char *fault = json_string_value(json_object_get(first, "fault"));
    const char *copy = fault == NULL ? "" : arena_strdup(arena, fault);
    json_decref(root);
    return copy;
}

/* Another fault than the suggested one, or none suggested at all, needs the coach's reason. False: answered. */
static bool suggestion_check(struct call *call, struct opening *opening)
{
    struct store_fix *fix = &opening->fix;
    const char *first = "";
    if (fix->baseline_swing[0] != '\0' || fix->baseline_lesson[0] != '\0') {
        struct store_report report;
        const enum store_status status = report_find(call, fix, &report);
        if (status == STORE_NOT_FOUND) {
            exchange_problem(call->exchange, 422, "unknown-baseline",
                             fix->baseline_swing[0] != '\0' ? "from_swing" : "from_lesson",
                             "This student has no such swing or lesson.");
            return false;
        }
        if (status != STORE_OK) {
            call_problem_store(call, status);
            return false;
        }
        first = report_first(&report, call->arena);
    }
    if (first == NULL) {
        answer_no_memory(call);
        return false;
    }
    if (strcmp(first, fix->fault) == 0) {
        return true;
    }
    if (fix->overrule == NULL) { /* then the reason is one between coaches, and not for the family */
        fix->overrule = fix->reason;
        fix->reason = NULL;
    }
    if (fix->overrule == NULL) {
        exchange_problem(call->exchange, 422, "reason-needed", "overrule",
                         "A fix that is not the report's first one (here: %s) needs a reason.",
                         first[0] == '\0' ? "none" : first);
        return false;
    }
    return true;
}

/* May this student get the i-th drill? False: answered. */
static bool drill_check(struct call *call, const struct opening *opening, int i, const struct drill *drill)
{
    char path[32];
    const struct choice *choice = &opening->choices[i];
    const struct score_player *player = &opening->scoring.player;
    (void)snprintf(path, sizeof path, "drills[%d]", i);
    if (drill == NULL) {
        exchange_problem(call->exchange, 422, "unknown-drill", path, "No such drill is in use: %s.", choice->id);
        return false;
    }
    if (!drill->faults[opening->fault]) {
        exchange_problem(call->exchange, 422, "drill-does-not-fit", path, "%s is not a drill for %s.", drill->name,
                         opening->fix.fault);
        return false;
    }
    if (drill->adult_only && opening->scoring.student.junior) {
        exchange_problem(call->exchange, 409, "drill-adult-only", path, "%s is not for juniors.", drill->name);
        return false;
    }
    const char *why = choice->reason != NULL ? ""
                                             : words_needs_word(&(struct speaker){call->arena, NULL}, drill,
                                                                player->pain, opening->scoring.unsteady);
    if (why == NULL) {
        answer_no_memory(call);
        return false;
    }
    if (why[0] != '\0') {
        exchange_problem(call->exchange, 409,
                         practice_contraindicated(drill, player->pain) ? "drill-contraindicated" : "drill-needs-word",
                         path, "%s (%s): %s Confirm it with confirm_reason, or choose another.", drill->name, drill->id,
                         why);
        return false;
    }
    return true;
}

static const struct drill *rules_find(const struct rules_cache *rules, const char *id)
{
    for (int i = 0; i < rules->drill_count; i++) {
        if (strcmp(rules->drills[i].id, id) == 0) {
            return &rules->drills[i];
        }
    }
    return NULL;
}

static void homework_fill(const struct call *call, struct opening *opening, int i, const struct drill *drill)
{
    struct store_homework *homework = &opening->homework[i];
    const struct dose dose = practice_dose(drill, opening->scoring.player.age_years);
    uuid7_new(homework->id);
    memcpy(homework->fix_id, opening->fix.id, sizeof homework->fix_id);
    memcpy(homework->student_id, call->student_id, sizeof homework->student_id);
    (void)snprintf(homework->drill_id, sizeof homework->drill_id, "%s", drill->id);
    homework->sessions_per_week = dose.sessions_per_week;
    homework->minutes = dose.minutes;
    homework->self_check_every = dose.self_check_every;
    homework->created = call->now;
    homework->retest_at = call->now + dose.retest_days * DAY_MS;
    if (practice_needs_word(drill, opening->scoring.player.pain, opening->scoring.unsteady)) {
        homework->confirmed = opening->choices[i].reason;
        homework->word_pain = opening->scoring.player.pain;
    }
    memcpy(homework->assigned_by, call->principal->account_id, sizeof homework->assigned_by);
}

/* Without a list of the coach's own: what fits fault and body best, as in the report, by today's drills and pains;
 * never what needs a word. */
static void drills_suggest(struct opening *opening, const struct rules_cache *rules)
{
    const struct practice_wish wish = {.fault = opening->fault,
                                       .pain = opening->scoring.player.pain,
                                       .junior = opening->scoring.student.junior,
                                       .unsteady = opening->scoring.unsteady};
    struct practice_pick picks[FIX_DRILLS_MAX];
    opening->count = practice_suggest(rules->drills, rules->drill_count, &wish, picks, FIX_DRILLS_MAX);
    if (opening->count > 0 && picks[0].needs_confirmation) {
        opening->count = 0;
    }
    for (int i = 0; i < opening->count; i++) {
        opening->choices[i] = (struct choice){.id = rules->drills[picks[i].index].id};
    }
}

/* False: answered. */
static bool drills_take(struct call *call, struct opening *opening)
{
    const struct rules_cache *rules = rules_borrow(call->api, call->db, call->rules_edits);
    bool good = rules != NULL;
    if (!good) {
        call_problem_store(call, STORE_ERROR);
        return false;
    }
    opening->scoring.unsteady =
        practice_unsteady(rules->standard, opening->scoring.player.age_years, opening->scoring.player.pain);
    if (!opening->drills_given) {
        drills_suggest(opening, rules);
    }
    if (opening->count == 0) {
        exchange_problem(
            call->exchange, 409, "no-drill-fits", "drills",
            "No drill fits this fault and this student without more: name one with confirm_reason, or add one "
            "to the club's drills.");
        good = false;
    }
    for (int i = 0; good && i < opening->count; i++) {
        const struct drill *drill = rules_find(rules, opening->choices[i].id);
        good = drill_check(call, opening, i, drill);
        if (good) {
            homework_fill(call, opening, i, drill);
        }
    }
    rules_return(call->api, rules);
    return good;
}

void fixes_create(struct call *call)
{
    struct opening *opening = arena_alloc(call->arena, sizeof *opening);
    if (opening == NULL) {
        answer_no_memory(call);
        return;
    }
    struct store_fix *fix = &opening->fix;
    uuid7_new(fix->id);
    memcpy(fix->student_id, call->student_id, sizeof fix->student_id);
    memcpy(fix->opened_by, call->principal->account_id, sizeof fix->opened_by);
    fix->opened_at = call->now;
    if (!opening_read(call, opening) || !scoring_start(call, &opening->scoring) || !suggestion_check(call, opening) ||
        !drills_take(call, opening)) {
        return;
    }
    struct write *write = write_new(call, opening_job, opening);
    if (write == NULL) {
        return;
    }
    write->location = arena_printf(call->arena, "/v1/fixes/%s", fix->id);
    answer_audit(write, "fix.create", "fix", fix->id, call->student_id);
    call_write(write);
}

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

struct turning {
    char id[UUID_TEXT];
    int64_t version;
    enum store_fix_status status;
    const char *reason, *together;
};

static enum store_status turning_job(struct store_db *db, struct write *write)
{
    const struct turning *turning = write->data;
    struct store_fix fix;
    enum store_status status = store_fix_get(db, turning->id, write->call.arena, &fix);
    if (status != STORE_OK) {
        return status;
    }
    if (turning->together != NULL) { /* it waited: both run from here on */
        int64_t own = 0;
        if (fix.status != STORE_FIX_OPEN || !fix.waits || turning->status != STORE_FIX_OPEN) {
            return write_refuse(write, 409, "fix-not-waiting", "together",
                                "Only a fix that waits can run beside another.");
        }
        status = store_fix_drills(db, fix.id, &own);
        int count = (int)own;
        if (status == STORE_OK) {
            status = together_fit(db, write, fix.student_id, &count, false);
        }
        if (status != STORE_OK) {
            return status;
        }
        fix.together = turning->together;
        fix.waits = false;
    }
    fix.reason = turning->reason == NULL && turning->together != NULL ? fix.reason : turning->reason;
    fix.version = turning->version;
    fix.status = turning->status;
    status = store_fix_update(db, &fix, turning->reason, write->call.principal->account_id, write->call.now);
    if (status == STORE_CONFLICT) {
        return opening_refuse(db, write, &fix);
    }
    if (status == STORE_OK) {
        status = store_fix_get(db, turning->id, write->call.arena, &fix);
    }
    return status == STORE_OK ? fix_answer(db, write, &fix, 200) : status;
}

static bool turning_read(struct call *call, struct turning *turning)
{
    static const char *const keys[] = {"status", "reason", "together", NULL};
    const char *name = NULL;
    struct body body;
    if (!body_begin(&body, call, keys, false)) {
        return false;
    }
    if (body_text(&body, "status", true, 16, &name) && !store_fix_status_parse(name, &turning->status)) {
        (void)body_refuse(&body, "status", "open, closed or changed is expected");
    }
    (void)body_text(&body, "together", false, REASON_MAX, &turning->together);
    (void)body_text(&body, "reason", turning->together == NULL, REASON_MAX, &turning->reason);
    return body_end(&body);
}

void fixes_update(struct call *call)
{
    struct turning *turning = arena_alloc(call->arena, sizeof *turning);
    if (turning == NULL) {
        answer_no_memory(call);
        return;
    }
    struct store_fix fix;
    const enum store_status status = store_fix_get(call->db, exchange_capture(call->exchange, 0), call->arena, &fix);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    turning->version = fix.version;
    if (!precondition_edit(call, fix.version) || !turning_read(call, turning)) {
        return;
    }
    static const char *const actions[STORE_FIX_STATUS_COUNT] = {"fix.open", "fix.close", "fix.change"};
    (void)snprintf(turning->id, sizeof turning->id, "%s", exchange_capture(call->exchange, 0));
    struct write *write = write_new(call, turning_job, turning);
    if (write != NULL) {
        answer_audit(write, actions[turning->status], "fix", turning->id, call->student_id);
        call_write(write);
    }
}
