/* Lessons: swings that were hit together are judged together. */
#include <stdio.h>
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/body.h"
#include "api/frame/heavy.h"
#include "api/lessons/handlers.h"
#include "api/lessons/scoring.h"
#include "api/lessons/swing_load.h"
#include "store/lessons/lesson.h"
#include "store/lessons/swing.h"

#define NOTE_MAX 4000
#define QUICK_BYTES ((size_t)1 << 20) /* of documents; more are read and scored off the HTTP threads */

struct new_lesson {
    struct scored_student scored;
    size_t bytes; /* of all documents */
    enum store_status status;
    struct { /* why the lesson is refused, when status says nothing */
        const char *type, *path, *what;
    } refused;
    struct store_lesson lesson;
    struct store_report report;
    int count;
    char swings[SCORE_SWINGS_MAX][UUID_TEXT];
    struct swing_document *documents[SCORE_SWINGS_MAX];
};

static enum store_status lesson_job(struct store_db *db, struct write *write)
{
    const struct new_lesson *gathering = write->data;
    enum store_status status = store_lesson_insert(db, &gathering->lesson);
    for (int i = 0; status == STORE_OK && i < gathering->count; i++) {
        status = store_lesson_attach(db, gathering->lesson.id, gathering->swings[i]);
        if (status == STORE_CONFLICT) {
            return write_refuse(write, 409, "swing-in-a-lesson", arena_printf(write->call.arena, "swings[%d]", i),
                                "This swing already belongs to another lesson.");
        }
    }
    return status == STORE_OK ? store_report_insert(db, &gathering->report) : status;
}

/* An id of the body's "swings": none twice. */
static bool take_swing(struct tree *tree, int index, void *to)
{
    struct new_lesson *gathering = to;
    const char *id = tree_here(tree);
    if (id == NULL || !uuid_valid(id)) {
        return tree_refuse(tree, NULL, "an id is expected");
    }
    for (int k = 0; k < index; k++) {
        if (strcmp(gathering->swings[k], id) == 0) {
            return tree_refuse(tree, NULL, "the same swing twice");
        }
    }
    memcpy(gathering->swings[index], id, UUID_TEXT);
    return true;
}

static bool lesson_read(struct call *call, struct new_lesson *gathering)
{
    static const char *const keys[] = {"swings", "held_at", "note", NULL};
    static const char shape[] = "a list of 1 to 50 swing ids is expected";
    _Static_assert(SCORE_SWINGS_MAX == 50, "the sentence says so");
    struct body body;
    if (!body_begin(&body, call, keys, false)) {
        return false;
    }
    (void)tree_time(&body.in, "held_at", false, &gathering->lesson.held_at);
    (void)tree_text(&body.in, "note", false, NOTE_MAX, &gathering->lesson.note);
    if (tree_list(&body.in, "swings", false, SCORE_SWINGS_MAX, shape, take_swing, gathering, &gathering->count) &&
        gathering->count < 1) {
        (void)tree_refuse(&body.in, "swings", "%s", shape);
    }
    return body_end(&body);
}

/* The lesson's swings are this student's, and how much there is to read. Whether one is in a lesson already is the
 * job's to say, for a repeated request finds it in its own. False: answered. */
static bool swings_find(struct call *call, struct new_lesson *gathering)
{
    for (int i = 0; i < gathering->count; i++) {
        char path[32];
        struct store_swing swing;
        const enum store_status status = store_swing_get(call->db, gathering->swings[i], false, call->arena, &swing);
        if (status != STORE_OK && status != STORE_NOT_FOUND) {
            call_problem_store(call, status);
            return false;
        }
        if (status == STORE_NOT_FOUND || strcmp(swing.student_id, call->student_id) != 0) {
            (void)snprintf(path, sizeof path, "swings[%d]", i);
            exchange_problem(call->exchange, 422, "unknown-swing", path, "This student has no such swing.");
            return false;
        }
        if (i == 0 && gathering->lesson.held_at == 0) {
            gathering->lesson.held_at = swing.recorded_at;
        }
        gathering->bytes += swing.document_size;
    }
    return true;
}

static bool refuse(struct new_lesson *gathering, struct arena *arena, int i, const char *type, const char *what)
{
    gathering->refused.type = type;
    gathering->refused.path = arena_printf(arena, "swings[%d]", i);
    gathering->refused.what = what;
    return false;
}

/* One document. Its text and its points are given back at once: fifty recordings don't fit in memory. */
static bool document_read(struct call *call, struct new_lesson *gathering, int i)
{
    struct store_swing swing;
    struct wire_error error;
    struct arena *own = arena_new(0);
    struct swing_document *document = own == NULL ? NULL : arena_alloc(call->arena, sizeof *document);
    gathering->status =
        document == NULL ? STORE_NO_MEMORY : store_swing_get(call->db, gathering->swings[i], true, own, &swing);
    bool good = gathering->status == STORE_OK;
    if (good && !swing_load_scored(&swing, call->arena, document, &error)) {
        good = refuse(gathering, call->arena, i, "invalid-document",
                      arena_printf(call->arena, "%s: %s", error.path, error.what));
    }
    if (good && i > 0 && document->swing.hand != gathering->documents[0]->swing.hand) {
        good = refuse(gathering, call->arena, i, "invalid",
                      "All swings of a lesson must be by one student, all right-handed or all left-handed.");
    }
    gathering->documents[i] = document;
    arena_free(own);
    return good;
}

/* Reads and scores, and answers nothing: on an HTTP thread or a heavy one. */
static void lesson_score(struct call *call, void *data)
{
    struct new_lesson *gathering = data;
    struct scored_student *scored = &gathering->scored;
    for (int i = 0; i < gathering->count; i++) {
        gathering->status = atomic_load(&call->api->refusing) ? STORE_CLOSED : STORE_OK;
        if (gathering->status != STORE_OK || !document_read(call, gathering, i)) {
            return;
        }
    }
    const enum club_class club = club_class_of(gathering->documents[0]->swing.club);
    gathering->status = scoring_own_spread(call->db, call->arena, call->student_id, club, &scored->player);
    if (gathering->status != STORE_OK) {
        return;
    }
    const struct rules_cache *rules = rules_borrow(call->api, call->db, call->rules_edits);
    if (rules == NULL) {
        gathering->status = STORE_ERROR;
        return;
    }
    const bool made =
        scoring_report(scored, rules, gathering->documents, gathering->count, call->arena, &gathering->report);
    rules_return(call->api, rules);
    gathering->status = made ? STORE_OK : STORE_NO_MEMORY;
}

static void lesson_hand_over(struct call *call, struct new_lesson *gathering)
{
    struct json_out out;
    struct store_lesson *lesson = &gathering->lesson;
    struct write *write = write_new(call, lesson_job, gathering);
    uuid7_new(lesson->id);
    memcpy(lesson->student_id, call->student_id, sizeof lesson->student_id);
    memcpy(lesson->coach, call->principal->account_id, sizeof lesson->coach);
    lesson->created = call->now;
    uuid7_new(gathering->report.id);
    memcpy(gathering->report.lesson_id, lesson->id, sizeof gathering->report.lesson_id);
    gathering->report.created = call->now;
    store_report_pack(call->db, &gathering->report, call->arena);
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    json_out_text(&out, "id", lesson->id);
    json_out_raw(&out, "report", gathering->report.json, gathering->report.json_size);
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

static void lesson_scored(struct call *call, enum store_status status, void *data)
{
    struct new_lesson *gathering = data;
    status = status == STORE_OK ? gathering->status : status;
    if (status != STORE_OK) {
        call_problem_store(call, status);
    } else if (gathering->refused.type != NULL) {
        exchange_problem(call->exchange, 422, gathering->refused.type, gathering->refused.path, "%s",
                         gathering->refused.what == NULL ? "It can't be read." : gathering->refused.what);
    } else {
        lesson_hand_over(call, gathering);
    }
}

void lessons_create(struct call *call)
{
    struct new_lesson *gathering = arena_alloc(call->arena, sizeof *gathering);
    if (gathering == NULL) {
        answer_no_memory(call);
        return;
    }
    if (!lesson_read(call, gathering) || !scoring_start(call, &gathering->scored) || !swings_find(call, gathering)) {
        return;
    }
    if (gathering->bytes > QUICK_BYTES) {
        (void)call_heavy(call, HEAVY_LESSON, lesson_score, lesson_scored, gathering, NULL);
        return;
    }
    lesson_score(call, gathering);
    lesson_scored(call, STORE_OK, gathering);
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
    const enum store_status status =
        store_report_of_lesson(call->db, exchange_capture(call->exchange, 0), call->arena, &report);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    call_reply_json(call, 200, report.json, report.json_size, 0, NULL);
}
