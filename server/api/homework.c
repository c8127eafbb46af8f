/* Homework: what a student is to do, fetched on a phone and ticked off. */
#include <stdio.h>
#include <string.h>

#include "api/body.h"
#include "api/drill_row.h"
#include "api/handlers.h"
#include "api/homework_write.h"
#include "api/scoring.h"
#include "wire/words.h"

#define CLOCK_SLACK_MS ((int64_t)10 * 60 * 1000) /* how far a phone's clock may run ahead */
#define COMMENT_MAX 2000

int64_t homework_week_start(int64_t now)
{
    const int64_t days = now / DAY_MS; /* 1970-01-01 was a Thursday */
    return (days - (days + 3) % 7) * DAY_MS;
}

const char *homework_drill_sheet(const struct drill *drill, struct arena *arena)
{
    struct json_out out;
    size_t length;
    json_out_start(&out, arena);
    json_out_object(&out, NULL);
    json_out_text(&out, "id", drill->id);
    json_out_text(&out, "name", drill->name);
    json_out_text(&out, "how_to", drill->how_to);
    json_out_text(&out, "feel", drill->feel);
    json_out_text(&out, "cautions", drill->cautions);
    json_out_bool(&out, "rehearsal_only", !drill->ball);
    json_out_bool(&out, "beside_a_support", drill->balance);
    json_out_end_object(&out);
    return json_out_finish(&out, &length);
}

const char *homework_drill_find(const struct call *call, const char *id, const struct api_book *book, struct drill *out)
{
    for (int i = 0; i < book->drill_count; i++) {
        if (strcmp(book->drills[i].id, id) == 0) {
            *out = book->drills[i];
            return book->drill_sheets[i];
        }
    }
    struct store_drill row;
    if (store_drill_get(call->db, id, call->arena, &row) != STORE_OK ||
        !drill_row_read(row.id, row.name, row.json, call->arena, out)) {
        return NULL;
    }
    return homework_drill_sheet(out, call->arena);
}

static void dose_write(struct json_out *out, const struct store_homework *homework, struct arena *arena)
{
    const int64_t days = (homework->retest_at - homework->created) / DAY_MS;
    const struct dose dose = {.sessions_per_week = homework->sessions_per_week,
                              .minutes = homework->minutes,
                              .retest_days = (int)days,
                              .self_check_every = homework->self_check_every};
    json_out_object(out, "dose");
    answer_integer(out, "sessions_per_week", homework->sessions_per_week);
    answer_integer(out, "minutes", homework->minutes);
    answer_integer(out, "self_check_every", homework->self_check_every);
    json_out_text(out, "sentence", words_dose(arena, &dose));
    json_out_end_object(out);
}

/* One piece of homework; drill is filled in for the cautions. False when the stored drill is damaged. */
static bool homework_write(struct json_out *out, const struct call *call, const struct store_homework *homework,
                           const struct api_book *book, struct drill *drill)
{
    enum fault_id fault;
    const char *sheet = homework_drill_find(call, homework->drill_id, book, drill);
    if (sheet == NULL) {
        return false;
    }
    json_out_object(out, NULL);
    json_out_text(out, "id", homework->id);
    json_out_text(out, "fix_id", homework->fix_id);
    json_out_text(out, "fault", homework->fault);
    json_out_text(out, "words", fault_parse(homework->fault, &fault) ? words_fault(fault) : NULL);
    json_out_raw(out, "drill", sheet, strlen(sheet));
    dose_write(out, homework, call->arena);
    answer_time(out, "given_at", homework->created);
    answer_time(out, "retest_at", homework->retest_at);
    answer_time(out, "ended_at", homework->ended);
    json_out_object(out, "done");
    answer_integer(out, "count", homework->done_count);
    answer_integer(out, "this_week", homework->done_since);
    answer_time(out, "last_at", homework->last_done);
    json_out_end_object(out);
    json_out_end_object(out);
    return true;
}

static void cautions_write(struct json_out *out, const struct call *call, const struct scoring *scoring,
                           const struct drill *drills, size_t count)
{
    const char *cautions[CAUTIONS_MAX];
    const struct drill *given[STORE_PAGE_MAX];
    for (size_t i = 0; i < count; i++) {
        given[i] = &drills[i];
    }
    const int said =
        words_cautions(call->arena, given, (int)count, scoring->player.age_years, scoring->player.pain, cautions);
    json_out_array(out, "cautions");
    for (int i = 0; i < said; i++) {
        json_out_text(out, NULL, cautions[i]);
    }
    json_out_end_array(out);
}

/* The whole answer; false when it could not be made. */
static bool sheet_write(struct json_out *out, const struct call *call, const struct scoring *scoring,
                        const struct store_homework_list *list, const struct api_book *book)
{
    struct drill *drills = arena_alloc(call->arena, (list->count + 1) * sizeof *drills);
    if (drills == NULL) {
        return false;
    }
    json_out_start(out, call->arena);
    json_out_object(out, NULL);
    json_out_text(out, "student_id", call->student_id);
    json_out_array(out, "homework");
    for (size_t i = 0; i < list->count; i++) {
        if (!homework_write(out, call, &list->items[i], book, &drills[i])) {
            return false;
        }
    }
    json_out_end_array(out);
    cautions_write(out, call, scoring, drills, list->count);
    json_out_end_object(out);
    return true;
}

/* Student, homework and book at one moment: one read transaction, for this is the most frequent request of all. */
static enum store_status sheet_make(struct call *call, bool current, struct json_out *out)
{
    struct scoring scoring;
    struct store_homework_list list;
    enum store_status status = store_student_get(call->db, call->student_id, call->arena, &scoring.student);
    if (status == STORE_OK) {
        status = store_homework_list(call->db, call->student_id, current, homework_week_start(call->now), call->arena,
                                     &list);
    }
    if (status != STORE_OK) {
        return status;
    }
    scoring_player(&scoring.student, call->now, &scoring.player);
    const struct api_book *book = api_book_borrow(call->api, call->db, call->book_edits);
    if (book == NULL) {
        return STORE_ERROR;
    }
    const bool good = sheet_write(out, call, &scoring, &list, book);
    api_book_return(call->api, book);
    return good ? STORE_OK : STORE_ERROR;
}

void homework_of_student(struct call *call)
{
    struct json_out out;
    const char *all = exchange_query(call->exchange, "all");
    const bool current = all == NULL || strcmp(all, "true") != 0;
    enum store_status status = store_read_begin(call->db);
    if (status == STORE_OK) {
        status = sheet_make(call, current, &out);
        store_read_end(call->db);
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    answer_json(call, &out, 0);
}

/* Which of a guardian's juniors? ?student= says; with one alone it need not. False: answered. */
static bool guardian_choose(struct call *call)
{
    const char *wanted = exchange_query(call->exchange, "student");
    if (wanted != NULL) {
        const enum store_status status =
            uuid_valid(wanted) ? store_guardian_may(call->db, call->principal->account_id, wanted) : STORE_NOT_FOUND;
        if (status != STORE_OK) {
            call_problem_store(call, status);
            return false;
        }
        (void)snprintf(call->student_id, sizeof call->student_id, "%s", wanted);
        return true;
    }
    struct store_id_list juniors;
    const enum store_status status =
        store_guardian_students(call->db, call->principal->account_id, call->arena, &juniors);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return false;
    }
    if (juniors.count == 0) {
        exchange_problem(call->exchange, 404, "nobody-to-see", NULL,
                         "You stand for nobody here any more: a guardian's view ends on the child's 18th birthday.");
        return false;
    }
    if (juniors.count != 1) {
        exchange_problem(call->exchange, 422, "student-needed", NULL, "Say whose homework with ?student=.");
        return false;
    }
    memcpy(call->student_id, juniors.items[0], sizeof call->student_id);
    return true;
}

void homework_mine(struct call *call)
{
    if (call->principal->role == STORE_GUARDIAN) {
        if (!guardian_choose(call)) {
            return;
        }
    } else {
        memcpy(call->student_id, call->principal->student_id, sizeof call->student_id);
    }
    homework_of_student(call);
}

static enum store_status done_job(struct store_db *db, struct write *write)
{
    const struct store_homework_done *done = write->data;
    struct store_homework homework;
    /* Looked at here as well: a coach may have taken it off since. */
    const enum store_status status = store_homework_get(db, done->homework_id, 0, write->call.arena, &homework);
    if (status != STORE_OK) {
        return status;
    }
    if (homework.ended != 0 || !homework.fix_open) {
        return write_refuse(write, 409, "homework-ended", NULL,
                            "This homework is over: your coach has taken it off or closed the fix.");
    }
    if (done->done_at < homework.created) {
        return write_refuse(write, 422, "invalid", "done_at", "earlier than the homework was given");
    }
    return store_homework_done_insert(db, done);
}

static bool done_read(struct call *call, struct store_homework_done *done)
{
    static const char *const keys[] = {"comment", "done_at", NULL};
    struct body body;
    if (!body_begin(&body, call, keys, true)) {
        return false;
    }
    done->done_at = call->now;
    (void)body_text(&body, "comment", false, COMMENT_MAX, &done->comment);
    if (body_time(&body, "done_at", false, &done->done_at) && done->done_at > call->now + CLOCK_SLACK_MS) {
        (void)body_refuse(&body, "done_at", "lies in the future");
    }
    return body_end(&body);
}

void homework_done(struct call *call)
{
    struct json_out out;
    struct store_homework_done *done = arena_alloc(call->arena, sizeof *done);
    if (done == NULL) {
        answer_no_memory(call);
        return;
    }
    struct write *write = write_new(call, done_job, done);
    if (write == NULL || !done_read(call, done)) {
        return;
    }
    uuid7_new(done->id);
    (void)snprintf(done->homework_id, sizeof done->homework_id, "%s", exchange_capture(call->exchange, 0));
    memcpy(done->account_id, call->principal->account_id, sizeof done->account_id);
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    json_out_text(&out, "id", done->id);
    json_out_text(&out, "homework_id", done->homework_id);
    answer_time(&out, "done_at", done->done_at);
    json_out_text(&out, "comment", done->comment);
    json_out_end_object(&out);
    if (!answer_write(write, &out, 201)) {
        answer_no_memory(call);
        return;
    }
    answer_audit(write, "homework.done", "homework_done", done->id, call->student_id);
    call_write(write);
}
