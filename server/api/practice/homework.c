/* Homework: what a student is to do, fetched on a phone and ticked off. */
#include <stdio.h>
#include <string.h>

#include "api/lessons/scoring.h"
#include "api/people/family.h"
#include "api/practice/drill_row.h"
#include "api/practice/fix_write.h"
#include "api/practice/handlers.h"
#include "api/practice/homework_write.h"
#include "wire/report/codes.h"

#define TICKS_SHOWN 10 /* to coaches, of each drill, the newest first */

int64_t homework_week_start(int64_t now)
{
    const int64_t days = now / DAY_MS; /* 1970-01-01 was a Thursday */
    return (days - (days + 3) % 7) * DAY_MS;
}

const char *homework_drill_find(const struct call *call, const char *id, const struct rules_cache *rules,
                                struct drill *out)
{
    const struct drill *used = rules_drill(rules, id);
    if (used != NULL) {
        *out = *used;
        return rules->drill_sheets[used - rules->drills];
    }
    struct store_drill row;
    if (store_drill_get(call->db, id, call->arena, &row) != STORE_OK ||
        !drill_row_read(row.id, row.name, row.json, call->arena, out)) {
        return NULL;
    }
    return drill_row_sheet(out, rules_drill(rules, out->next), call->arena);
}

/* The pass goes by the player's age as it is today; the rest as it was given. */
static void dose_write(struct json_out *out, const struct store_homework *homework, struct tries tries)
{
    json_out_object(out, "dose");
    answer_integer(out, "sessions_per_week", homework->sessions_per_week);
    answer_integer(out, "minutes", homework->minutes);
    answer_integer(out, "self_check_every", homework->self_check_every);
    if (tries.of > 0) {
        json_out_object(out, "pass");
        answer_integer(out, "n", tries.n);
        answer_integer(out, "of", tries.of);
        json_out_end_object(out);
    }
    json_out_end_object(out);
}

void homework_tick_write(struct json_out *out, const struct store_homework_done *done)
{
    json_out_text(out, "comment", done->comment);
    if (done->passed_of > 0) {
        json_out_object(out, "passed");
        answer_integer(out, "of", done->passed_of);
        answer_integer(out, "n", done->passed);
        json_out_end_object(out);
    } else {
        json_out_null(out, "passed");
    }
    if (done->pain_area != 0) {
        json_out_object(out, "pain");
        json_out_text(out, "area", area_name((enum area)done->pain_area));
        answer_integer(out, "level", done->pain_level);
        json_out_end_object(out);
    } else {
        json_out_null(out, "pain");
    }
}

unsigned homework_unworded(const struct store_homework *homework, const struct drill *drill, unsigned pain)
{
    return (drill->loads | drill->contraindicated) & pain & ~homework->word_pain;
}

void homework_paused_write(struct json_out *out, const struct store_homework *homework, unsigned unworded)
{
    if (homework->paused_at == 0 && unworded == 0) {
        json_out_null(out, "paused");
        return;
    }
    json_out_object(out, "paused");
    json_out_text(out, "why", homework->paused_at != 0 ? "pain" : "sore_area");
    answer_time(out, "since", homework->paused_at);
    json_out_array(out, "areas");
    const unsigned areas = homework->paused_at != 0 ? homework->paused_area : unworded;
    for (int i = 0; i < AREA_BITS; i++) {
        if ((areas & 1U << i) != 0) {
            json_out_text(out, NULL, area_name((enum area)(1U << i)));
        }
    }
    json_out_end_array(out);
    if (homework->paused_at != 0) {
        answer_integer(out, "level", homework->paused_level);
    } else {
        json_out_null(out, "level");
    }
    json_out_end_object(out);
}

/* What coaches see besides: why it goes on after pain, and what the student said at the last ticks. */
static bool staff_write(struct json_out *out, const struct call *call, const struct store_homework *homework)
{
    const struct store_page page = {.limit = TICKS_SHOWN};
    struct store_homework_done_list ticks;
    if (store_homework_done_list(call->db, homework->id, &page, call->arena, &ticks) != STORE_OK) {
        return false;
    }
    answer_integer(out, "version", homework->version);
    answer_time(out, "resumed_at", homework->resumed_at);
    answer_id(out, "resumed_by", homework->resumed_by);
    json_out_text(out, "resumed_reason", homework->resumed_reason);
    json_out_array(out, "ticks");
    for (size_t i = 0; i < ticks.count; i++) {
        json_out_object(out, NULL);
        answer_time(out, "done_at", ticks.items[i].done_at);
        answer_id(out, "account_id", ticks.items[i].account_id);
        homework_tick_write(out, &ticks.items[i]);
        json_out_end_object(out);
    }
    json_out_end_array(out);
    return true;
}

/* One piece of homework; drill is filled in for the cautions. False when the stored drill is damaged. */
static bool homework_write(struct json_out *out, const struct call *call, const struct store_homework *homework,
                           const struct rules_cache *rules, const struct score_player *player, struct drill *drill)
{
    const char *sheet = homework_drill_find(call, homework->drill_id, rules, drill);
    if (sheet == NULL) {
        return false;
    }
    json_out_object(out, NULL);
    json_out_text(out, "id", homework->id);
    json_out_text(out, "fix_id", homework->fix_id);
    json_out_text(out, "fault", homework->fault);
    fix_evidence_write(out, rules->standard, homework->fault);
    json_out_raw(out, "drill", sheet, strlen(sheet));
    dose_write(out, homework, practice_tries(drill, player->age_years));
    answer_time(out, "given_at", homework->created);
    answer_time(out, "retest_at", homework->retest_at);
    answer_time(out, "ended_at", homework->ended);
    json_out_object(out, "done");
    answer_integer(out, "count", homework->done_count);
    answer_integer(out, "this_week", homework->done_since);
    answer_time(out, "last_at", homework->last_done);
    json_out_end_object(out);
    homework_paused_write(out, homework, homework_unworded(homework, drill, player->pain));
    json_out_bool(out, "waiting", homework->fix_waits);
    const bool for_staff = (RIGHTS_STAFF & 1U << call->principal->role) != 0;
    const bool good = !for_staff || staff_write(out, call, homework);
    json_out_end_object(out);
    return good;
}

static void cautions_write(struct json_out *out, const struct scored_student *scored, const struct drill *drills,
                           size_t count)
{
    const struct drill *given[STORE_PAGE_MAX];
    for (size_t i = 0; i < count; i++) {
        given[i] = &drills[i];
    }
    codes_cautions_write(out, given, (int)count, scored->player.age_years, scored->player.pain);
}

/* Who teaches the student. */
static void coaches_write(struct json_out *out, const struct store_coach_list *coaches)
{
    json_out_array(out, "coaches");
    for (size_t i = 0; i < coaches->count; i++) {
        json_out_object(out, NULL);
        json_out_text(out, "account_id", coaches->items[i].id);
        json_out_text(out, "name", coaches->items[i].name);
        json_out_end_object(out);
    }
    json_out_end_array(out);
}

/* What a sheet is made of. */
struct sheet {
    struct scored_student scored;
    struct store_coach_list coaches;
    struct store_homework_list list;
};

/* The whole answer; false when it could not be made. */
static bool sheet_write(struct json_out *out, const struct call *call, const struct sheet *sheet,
                        const struct rules_cache *rules)
{
    const struct store_homework_list *list = &sheet->list;
    struct drill *drills = arena_alloc(call->arena, (list->count + 1) * sizeof *drills);
    if (drills == NULL) {
        return false;
    }
    json_out_start(out, call->arena);
    json_out_object(out, NULL);
    json_out_text(out, "student_id", call->student_id);
    coaches_write(out, &sheet->coaches);
    json_out_array(out, "homework");
    for (size_t i = 0; i < list->count; i++) {
        if (!homework_write(out, call, &list->items[i], rules, &sheet->scored.player, &drills[i])) {
            return false;
        }
    }
    json_out_end_array(out);
    cautions_write(out, &sheet->scored, drills, list->count);
    json_out_end_object(out);
    return true;
}

/* Student, team, homework and rules. */
static enum store_status sheet_make(struct call *call, bool current, const struct store_page *page,
                                    struct json_out *out)
{
    struct sheet sheet;
    enum store_status status = store_student_get(call->db, call->student_id, call->arena, &sheet.scored.student);
    if (status == STORE_OK) {
        status = store_team_coaches(call->db, call->student_id, call->arena, &sheet.coaches);
    }
    if (status == STORE_OK) {
        status = store_homework_list(call->db, call->student_id, current, homework_week_start(call->now), page,
                                     call->arena, &sheet.list);
    }
    if (status != STORE_OK) {
        return status;
    }
    scoring_player(&sheet.scored.student, call->now, &sheet.scored.player);
    const struct rules_cache *rules = rules_borrow(call->api, call->db, call->rules_edits);
    if (rules == NULL) {
        return STORE_ERROR;
    }
    const bool good = sheet_write(out, call, &sheet, rules);
    rules_return(call->api, rules);
    return good ? STORE_OK : STORE_ERROR;
}

void homework_of_student(struct call *call)
{
    struct json_out out;
    const char *all = exchange_query(call->exchange, "all");
    const bool current = all == NULL || strcmp(all, "true") != 0;
    struct store_page page = {0};
    if (!call_narrow(call, &page)) {
        return;
    }
    const enum store_status status = sheet_make(call, current, &page, &out);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    answer_json(call, &out, 0);
}

void homework_get(struct call *call)
{
    struct scored_student scored;
    struct store_homework homework;
    struct drill drill;
    struct json_out out;
    enum store_status status = store_homework_get(call->db, exchange_capture(call->exchange, 0),
                                                  homework_week_start(call->now), call->arena, &homework);
    if (status == STORE_OK) {
        status = store_student_get(call->db, call->student_id, call->arena, &scored.student);
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    scoring_player(&scored.student, call->now, &scored.player);
    const struct rules_cache *rules = rules_borrow(call->api, call->db, call->rules_edits);
    json_out_start(&out, call->arena);
    const bool good = rules != NULL && homework_write(&out, call, &homework, rules, &scored.player, &drill);
    if (rules != NULL) {
        rules_return(call->api, rules);
    }
    if (!good) {
        call_problem_store(call, STORE_ERROR);
        return;
    }
    answer_json_moving(call, &out, homework.version);
}

void homework_mine(struct call *call)
{
    /* a student's own, whatever is asked for */
    const bool guardian = call->principal->role == STORE_GUARDIAN;
    if (family_choose(call, guardian ? exchange_query(call->exchange, "student") : NULL)) {
        homework_of_student(call);
    }
}
