/* Lessons: swings that were hit together are judged together. */
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/body.h"
#include "api/lessons/gather.h"
#include "api/lessons/handlers.h"
#include "api/lessons/scoring.h"
#include "store/lessons/edit.h"
#include "store/lessons/lesson.h"

#define NOTE_MAX 4000

struct new_lesson {
    struct store_lesson lesson;
    struct gathering all;
    const char *voided; /* the path of one that is not to be counted; NULL = each counts */
    int count;
    char swings[SCORE_SWINGS_MAX][UUID_TEXT]; /* as the body names them */
};

static enum store_status lesson_job(struct store_db *db, struct write *write)
{
    const struct new_lesson *held = write->data;
    if (held->voided != NULL) {
        return write_refuse(write, 422, "voided-swing", held->voided, "This swing is not to be counted.");
    }
    enum store_status status = store_lesson_insert(db, &held->lesson);
    for (int i = 0; status == STORE_OK && i < held->count; i++) {
        struct store_edit_state now;
        status = store_edit_state(db, held->swings[i], &now);
        if (status == STORE_OK && now.version != held->all.versions[i]) {
            return gather_changed(write);
        }
        status = status == STORE_OK ? store_lesson_attach(db, held->lesson.id, held->swings[i]) : status;
        if (status == STORE_CONFLICT) {
            return write_refuse(write, 409, "swing-in-a-lesson", arena_printf(write->call.arena, "swings[%d]", i),
                                "This swing already belongs to another lesson.");
        }
    }
    return status == STORE_OK ? store_report_insert(db, &held->all.report) : status;
}

/* An id of the body's "swings": none twice. */
static bool take_swing(struct tree *tree, int index, void *to)
{
    struct new_lesson *held = to;
    const char *id = tree_here(tree);
    if (id == NULL || !uuid_valid(id)) {
        return tree_refuse(tree, NULL, "an id is expected");
    }
    for (int k = 0; k < index; k++) {
        if (strcmp(held->swings[k], id) == 0) {
            return tree_refuse(tree, NULL, "the same swing twice");
        }
    }
    memcpy(held->swings[index], id, UUID_TEXT);
    return true;
}

static bool lesson_read(struct call *call, struct new_lesson *held)
{
    static const char *const keys[] = {"swings", "held_at", "note", NULL};
    static const char shape[] = "a list of 1 to 50 swing ids is expected";
    _Static_assert(SCORE_SWINGS_MAX == 50, "the sentence says so");
    struct body body;
    if (!body_begin(&body, call, keys, false)) {
        return false;
    }
    (void)tree_time(&body.in, "held_at", false, &held->lesson.held_at);
    (void)tree_text(&body.in, "note", false, NOTE_MAX, &held->lesson.note);
    if (tree_list(&body.in, "swings", false, SCORE_SWINGS_MAX, shape, take_swing, held, &held->count) &&
        held->count < 1) {
        (void)tree_refuse(&body.in, "swings", "%s", shape);
    }
    return body_end(&body);
}

/* The lesson's swings are this student's, and how much there is to read. Whether one is in a lesson already, or
 * not to be counted, is the job's to say: a repeated request gets the answer that it got. False: answered. */
static bool swings_find(struct call *call, struct new_lesson *held)
{
    struct gathering *all = &held->all;
    for (int i = 0; i < held->count; i++) {
        const char *path = arena_printf(call->arena, "swings[%d]", i);
        struct store_swing swing;
        const enum store_status status = gather_add(call, all, held->swings[i], &swing);
        if (status != STORE_OK && status != STORE_NOT_FOUND) {
            call_problem_store(call, status);
            return false;
        }
        if (status == STORE_NOT_FOUND || strcmp(swing.student_id, call->student_id) != 0) {
            exchange_problem(call->exchange, 422, "unknown-swing", path, "This student has no such swing.");
            return false;
        }
        held->voided = held->voided == NULL && swing.voided.at != 0 ? path : held->voided;
        if (i == 0 && held->lesson.held_at == 0) {
            held->lesson.held_at = swing.recorded_at;
        }
    }
    return true;
}

static void lesson_hand_over(struct call *call, void *data)
{
    struct new_lesson *held = data;
    struct json_out out;
    struct store_lesson *lesson = &held->lesson;
    struct write *write = write_new(call, lesson_job, held);
    uuid7_new(lesson->id);
    memcpy(lesson->student_id, call->student_id, sizeof lesson->student_id);
    memcpy(lesson->coach, call->principal->account_id, sizeof lesson->coach);
    lesson->created = call->now;
    gather_keep(call, &held->all, lesson->id);
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    json_out_text(&out, "id", lesson->id);
    json_out_raw(&out, "report", held->all.report.json, held->all.report.json_size);
    json_out_end_object(&out);
    if (write == NULL) {
        return;
    }
    if (!answer_write(write, &out, 201)) {
        answer_no_memory(call);
        return;
    }
    write->location = arena_printf(call->arena, "/v1/lessons/%s/report", lesson->id);
    answer_audit(write, "lesson.create", "lesson", lesson->id, call->student_id);
    call_write(write);
}

void lessons_create(struct call *call)
{
    struct new_lesson *held = arena_alloc(call->arena, sizeof *held);
    if (held == NULL) {
        answer_no_memory(call);
        return;
    }
    if (lesson_read(call, held) && scoring_start(call, &held->all.scored) && swings_find(call, held)) {
        gather_run(call, &held->all, lesson_hand_over, held);
    }
}

void lessons_list(struct call *call)
{
    struct store_page page;
    struct store_lesson_list list;
    struct json_out out;
    /* The note is between coaches: what the family may read is written under notes. */
    const bool to_coach = call->principal->role == STORE_HEAD || call->principal->role == STORE_COACH;
    if (!call_page(call, &page)) {
        return;
    }
    const enum store_status status = store_lesson_list(call->db, call->student_id, &page, call->arena, &list);
    if (!answer_list_begin(call, &out, status, "lessons")) {
        return;
    }
    for (size_t i = 0; i < list.count; i++) {
        const struct store_lesson *lesson = &list.items[i];
        json_out_object(&out, NULL);
        json_out_text(&out, "id", lesson->id);
        json_out_text(&out, "student_id", lesson->student_id);
        json_out_text(&out, "coach", lesson->coach);
        answer_time(&out, "held_at", lesson->held_at);
        answer_time(&out, "created", lesson->created);
        answer_integer(&out, "swings", lesson->swings);
        json_out_text(&out, "note", to_coach ? lesson->note : NULL);
        json_out_end_object(&out);
    }
    answer_list_end(call, &out, ANSWER_NEXT(list));
}

void lessons_report(struct call *call)
{
    struct store_report report;
    const char *id = exchange_capture(call->exchange, 0);
    int64_t standard;
    if (!scoring_standard_asked(call, &standard)) {
        return;
    }
    const enum store_status status = standard == 0
                                         ? store_report_of_lesson(call->db, id, call->arena, &report)
                                         : store_report_by_standard(call->db, true, id, standard, call->arena, &report);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    call_reply_json(call, 200, report.json, report.json_size, 0, NULL);
}
