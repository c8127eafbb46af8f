/* A tick: done, what came off, what hurt. Told pain pauses the drill; only a coach's word sets it going again. */
#include <stdio.h>
#include <string.h>

#include "api/frame/body.h"
#include "api/frame/precondition.h"
#include "api/lessons/scoring.h"
#include "api/practice/drill_row.h"
#include "api/practice/handlers.h"
#include "api/practice/homework_write.h"
#include "store/club/inbox.h"
#include "store/practice/drill.h"

#define CLOCK_SLACK_MS ((int64_t)10 * 60 * 1000) /* how far a phone's clock may run ahead */
#define COMMENT_MAX 2000
#define REASON_MAX 2000
#define PASSED_MAX 1000

static enum store_status inbox_tell(struct store_db *db, const struct write *write,
                                    const struct store_homework_done *done, bool pauses)
{
    const bool pain = done->pain_area != 0 && done->pain_level > 0;
    if (!pain && done->comment == NULL) {
        return STORE_OK;
    }
    struct store_inbox item = {.kind = pain ? "pain" : "comment", .urgent = pauses, .created = write->call.now};
    uuid7_new(item.id);
    memcpy(item.student_id, write->call.student_id, sizeof item.student_id);
    memcpy(item.done.id, done->id, sizeof item.done.id);
    return store_inbox_insert(db, &item, pain && done->pain_level >= PRACTICE_PAIN_HEAD);
}

static enum store_status done_answer(struct write *write, const struct store_homework_done *done, bool paused)
{
    struct json_out out;
    json_out_start(&out, write->call.arena);
    json_out_object(&out, NULL);
    json_out_text(&out, "id", done->id);
    json_out_text(&out, "homework_id", done->homework_id);
    answer_time(&out, "done_at", done->done_at);
    homework_tick_write(&out, done);
    json_out_bool(&out, "paused", paused);
    json_out_end_object(&out);
    return answer_write(write, &out, 201) ? STORE_OK : STORE_NO_MEMORY;
}

/* Does the homework stand still, for pain told before or for a sore area without a coach's word? */
static enum store_status stands_still(struct store_db *db, const struct write *write,
                                      const struct store_homework *homework, bool *still)
{
    struct store_student student;
    struct store_drill row;
    struct drill drill;
    *still = homework->paused_at != 0;
    enum store_status status = store_student_get(db, homework->student_id, write->call.arena, &student);
    if (*still || status != STORE_OK || student.pain == 0) {
        return status;
    }
    status = store_drill_get(db, homework->drill_id, write->call.arena, &row);
    if (status == STORE_OK && !drill_row_read(row.id, row.name, row.json, write->call.arena, &drill)) {
        status = STORE_CORRUPT;
    }
    *still = status == STORE_OK && homework_unworded(homework, &drill, student.pain) != 0;
    return status;
}

static enum store_status done_job(struct store_db *db, struct write *write)
{
    const struct store_homework_done *done = write->data;
    struct store_homework homework;
    bool still = false;
    int before = -1;
    /* Looked at here as well: a coach may have taken it off since. */
    enum store_status status = store_homework_get(db, done->homework_id, 0, write->call.arena, &homework);
    if (status != STORE_OK) {
        return status;
    }
    if (homework.ended != 0 || !homework.fix_open) {
        return write_refuse(write, 409, "homework-ended", NULL,
                            "This homework is over: your coach has taken it off or closed the fix.");
    }
    if (homework.fix_waits) {
        return write_refuse(write, 409, "homework-waits", NULL, "One thing at a time: this one is not yet your turn.");
    }
    if (done->done_at < homework.created) {
        return write_refuse(write, 422, "invalid", "done_at", "earlier than the homework was given");
    }
    status = stands_still(db, write, &homework, &still);
    if (status == STORE_OK && still && done->pain_area == 0) {
        return write_refuse(write, 409, "homework-paused", NULL,
                            "This drill is paused: leave it until your coach says that it goes on.");
    }
    if (status == STORE_OK && done->pain_area != 0) {
        status = store_homework_pain_before(db, &homework, done->pain_area, done->done_at, &before);
    }
    const bool pauses = done->pain_area != 0 && practice_pain_pauses(done->pain_level, before);
    if (status == STORE_OK) {
        status = store_homework_done_insert(db, done);
    }
    if (status == STORE_OK && pauses) {
        status = store_homework_pause(db, homework.id, write->call.now, done->pain_area, done->pain_level);
    }
    if (status == STORE_OK) {
        status = inbox_tell(db, write, done, pauses);
    }
    return status == STORE_OK ? done_answer(write, done, pauses || still) : status;
}

/* "passed": {"of": 10, "n": 8} */
static bool take_passed(struct tree *tree, int index, void *to)
{
    struct store_homework_done *done = to;
    (void)index;
    return tree_integer(tree, "of", true, 1, PASSED_MAX, &done->passed_of) &&
           tree_integer(tree, "n", true, 0, done->passed_of, &done->passed);
}

/* "pain": {"area": "knee", "level": 3} */
static bool take_pain(struct tree *tree, int index, void *to)
{
    struct store_homework_done *done = to;
    const char *area = NULL;
    (void)index;
    return tree_text_borrow(tree, "area", true, 32, &area) &&
           tree_integer(tree, "level", true, 0, PRACTICE_PAIN_MAX, &done->pain_level) &&
           (area_parse(area, &done->pain_area) || tree_refuse(tree, "area", "no such area"));
}

static bool done_read(struct call *call, struct store_homework_done *done)
{
    static const char *const keys[] = {"comment", "done_at", "passed", "pain", NULL};
    static const char *const passed[] = {"of", "n", NULL};
    static const char *const pain[] = {"area", "level", NULL};
    struct body body;
    if (!body_begin(&body, call, keys, true)) {
        return false;
    }
    done->done_at = call->now;
    (void)tree_text(&body.in, "comment", false, COMMENT_MAX, &done->comment);
    if (tree_time(&body.in, "done_at", false, &done->done_at) && done->done_at > call->now + CLOCK_SLACK_MS) {
        (void)tree_refuse(&body.in, "done_at", "lies in the future");
    }
    if (tree_given(&body.in, "passed")) {
        (void)tree_object(&body.in, "passed", true, passed, take_passed, done);
    }
    if (tree_given(&body.in, "pain")) {
        (void)tree_object(&body.in, "pain", true, pain, take_pain, done);
    }
    return body_end(&body);
}

void homework_done(struct call *call)
{
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
    write->location = arena_printf(call->arena, "/v1/homework/%s", exchange_capture(call->exchange, 0));
    (void)snprintf(done->homework_id, sizeof done->homework_id, "%s", exchange_capture(call->exchange, 0));
    memcpy(done->account_id, call->principal->account_id, sizeof done->account_id);
    answer_audit(write, "homework.done", "homework_done", done->id, call->student_id);
    call_write(write);
}

/* ---- a coach's word ---- */

struct word {
    char id[UUID_TEXT];
    int64_t version;
    bool end;
    const char *reason;
};

static enum store_status word_answer(struct store_db *db, struct write *write, const char *id)
{
    struct store_homework homework;
    struct json_out out;
    const enum store_status status = store_homework_get(db, id, 0, write->call.arena, &homework);
    if (status != STORE_OK) {
        return status;
    }
    json_out_start(&out, write->call.arena);
    json_out_object(&out, NULL);
    json_out_text(&out, "id", homework.id);
    json_out_text(&out, "fix_id", homework.fix_id);
    json_out_text(&out, "drill", homework.drill_id);
    homework_paused_write(&out, &homework, 0);
    answer_time(&out, "resumed_at", homework.resumed_at);
    answer_id(&out, "resumed_by", homework.resumed_by);
    json_out_text(&out, "resumed_reason", homework.resumed_reason);
    answer_time(&out, "ended_at", homework.ended);
    answer_integer(&out, "version", homework.version);
    json_out_end_object(&out);
    write->etag = homework.version;
    return answer_write(write, &out, 200) ? STORE_OK : STORE_NO_MEMORY;
}

static enum store_status word_job(struct store_db *db, struct write *write)
{
    const struct word *word = write->data;
    struct store_homework homework;
    struct store_student student;
    bool still = false;
    enum store_status status = store_homework_get(db, word->id, 0, write->call.arena, &homework);
    if (status == STORE_OK) {
        status = store_student_get(db, homework.student_id, write->call.arena, &student);
    }
    if (status != STORE_OK) {
        return status;
    }
    if (homework.ended != 0) {
        return write_refuse(write, 409, "homework-ended", NULL, "This homework was taken off.");
    }
    if (word->end) {
        status = store_homework_end(db, word->id, word->version, write->call.now);
        return status == STORE_OK ? word_answer(db, write, word->id) : status;
    }
    status = stands_still(db, write, &homework, &still);
    if (status == STORE_OK && !still) {
        return write_refuse(write, 409, "not-paused", "paused", "This drill is not paused.");
    }
    homework.version = word->version;
    homework.resumed_at = write->call.now;
    memcpy(homework.resumed_by, write->call.principal->account_id, sizeof homework.resumed_by);
    homework.resumed_reason = word->reason;
    homework.word_pain = student.pain;
    if (status == STORE_OK) {
        status = store_homework_resume(db, &homework);
    }
    return status == STORE_OK ? word_answer(db, write, word->id) : status;
}

static bool word_read(struct call *call, struct word *word)
{
    static const char *const keys[] = {"paused", "ended", "reason", NULL};
    struct body body;
    bool paused = true;
    if (!body_begin(&body, call, keys, false)) {
        return false;
    }
    if (tree_has(&body.in, "paused") && tree_boolean(&body.in, "paused", true, &paused) && paused) {
        (void)tree_refuse(&body.in, "paused", "only false is expected: pain pauses, a coach's word sets going again");
    }
    if (tree_has(&body.in, "ended") && tree_boolean(&body.in, "ended", true, &word->end) && !word->end) {
        (void)tree_refuse(&body.in, "ended", "only true is expected");
    }
    if (!body.in.failed && !tree_has(&body.in, "paused") && !word->end) {
        (void)tree_refuse(&body.in, "paused", "paused or ended is expected");
    }
    if (!body.in.failed && tree_has(&body.in, "paused") && word->end) {
        (void)tree_refuse(&body.in, "ended", "give paused or ended, not both");
    }
    (void)tree_text(&body.in, "reason", true, REASON_MAX, &word->reason);
    return body_end(&body);
}

void homework_update(struct call *call)
{
    struct word *word = arena_alloc(call->arena, sizeof *word);
    if (word == NULL) {
        answer_no_memory(call);
        return;
    }
    struct store_homework homework;
    const enum store_status status =
        store_homework_get(call->db, exchange_capture(call->exchange, 0), 0, call->arena, &homework);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    word->version = homework.version;
    if (!precondition_edit(call, homework.version) || !word_read(call, word)) {
        return;
    }
    (void)snprintf(word->id, sizeof word->id, "%s", exchange_capture(call->exchange, 0));
    struct write *write = write_new(call, word_job, word);
    if (write != NULL) {
        answer_audit(write, word->end ? "homework.end" : "homework.resume", "homework", word->id, call->student_id);
        call_write(write);
    }
}
