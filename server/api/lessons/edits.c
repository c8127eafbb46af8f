/* What is done to a swing after it was sent: its marks corrected, set aside as not to be counted, given to the student
 * whose it is. Its lesson is judged anew; all of it is one write. */
#include <stdio.h>
#include <string.h>

#include <sodium.h>

#include "api/frame/body.h"
#include "api/frame/precondition.h"
#include "api/lessons/gather.h"
#include "api/lessons/handlers.h"
#include "api/lessons/incoming.h"
#include "api/lessons/swing_json.h"
#include "api/lessons/swing_load.h"
#include "store/lessons/edit.h"
#include "store/lessons/lesson.h"
#include "store/lessons/still.h"
#include "store/people/consent.h"
#include "wire/swing/marks.h"

#define REVISIONS_MAX 100 /* of one swing */

enum edit_kind { EDIT_MARKS, EDIT_VOID, EDIT_MOVE };

struct editing {
    enum edit_kind kind;
    struct store_swing swing; /* as it is */
    struct store_edit edit;
    struct store_swing next;         /* marks: the new document */
    struct swing_document *document; /* marks: the same, read */
    struct store_report report;      /* marks, move: the new one */
    struct store_report spread;      /* what stands for it in the player's own spread */
    bool voided;                     /* void: does it count no longer, or again? */
    char to_student[UUID_TEXT];      /* move */
    struct gathering lesson;         /* count 0: no swing of its lesson counts, or it is in none */
};

/* ---- the write ---- */

/* Nobody's pictures come to a student whose family agreed to none. */
static enum store_status pictures_may_come(struct store_db *db, struct write *write, const struct editing *editing)
{
    struct store_still_list stills;
    bool pictures = true;
    enum store_status status = store_still_list(db, editing->edit.swing_id, write->call.arena, &stills);
    if (status == STORE_OK && stills.count > 0) {
        status = store_consent_pictures(db, editing->to_student, &pictures);
    }
    if (status == STORE_OK && !pictures) {
        return write_refuse(write, 409, "consent-missing", "student_id",
                            "The swing has pictures, and nobody has agreed to pictures of this student: remove them "
                            "first, or record the consent.");
    }
    return status;
}

/* The former student's side of the audit is the write's own row; this is the other. */
static enum store_status audit_arrival(struct store_db *db, const struct write *write, const struct editing *editing)
{
    struct store_audit audit = write->audit;
    memcpy(audit.student_id, editing->to_student, sizeof audit.student_id);
    return store_audit_add(db, &audit);
}

static enum store_status move_run(struct store_db *db, struct write *write, const struct editing *editing)
{
    const char *answer = arena_printf(write->call.arena, "{\"id\":\"%s\",\"report_id\":\"%s\"}", editing->edit.swing_id,
                                      editing->report.id);
    enum store_status status = answer == NULL ? STORE_NO_MEMORY : pictures_may_come(db, write, editing);
    status = status == STORE_OK ? store_edit_move(db, &editing->edit, editing->to_student, answer) : status;
    return status == STORE_OK ? audit_arrival(db, write, editing) : status;
}

/* The swing; and its report, of an edit that has one made. */
static void edited_json(struct json_out *out, const struct call *call, const struct editing *editing,
                        const struct store_swing *swing, const struct store_report *report)
{
    json_out_start(out, call->arena);
    json_out_object(out, NULL);
    swing_json_write(out, swing, call->principal->role);
    if (editing->kind != EDIT_VOID) {
        json_out_raw(out, "report", report->json, report->json_size);
    }
    json_out_end_object(out);
}

/* What it is afterwards. */
static enum store_status answer_edited(struct store_db *db, struct write *write, const struct editing *editing)
{
    struct store_swing swing;
    struct json_out out;
    const enum store_status status = store_swing_get(db, editing->edit.swing_id, false, write->call.arena, &swing);
    if (status != STORE_OK) {
        return status;
    }
    edited_json(&out, &write->call, editing, &swing, &editing->report);
    write->etag = swing.version;
    return answer_write(write, &out, 200) ? STORE_OK : STORE_NO_MEMORY;
}

static enum store_status edit_job(struct store_db *db, struct write *write)
{
    const struct editing *editing = write->data;
    enum store_status status = store_edit_begin(db, &editing->edit);
    if (status == STORE_STALE && editing->kind != EDIT_MARKS) {
        return gather_changed(write); /* who sent it named no version */
    }
    if (status == STORE_OK) {
        status = editing->kind == EDIT_MARKS  ? store_edit_document(db, &editing->edit, &editing->next)
                 : editing->kind == EDIT_VOID ? store_edit_void(db, &editing->edit, editing->voided)
                                              : move_run(db, write, editing);
    }
    if (status == STORE_OK && editing->kind != EDIT_VOID) {
        status = store_report_insert(db, &editing->report);
    }
    if (status == STORE_OK && editing->lesson.count > 0) {
        status = store_report_insert(db, &editing->lesson.report);
    }
    return status == STORE_OK ? answer_edited(db, write, editing) : status;
}

/* Who it was is in the row; why, and what else tells it apart, is the detail. NULL when memory is short. */
static const char *audit_detail(struct call *call, const struct editing *editing)
{
    size_t length;
    struct json_out out;
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    json_out_text(&out, "reason", editing->edit.note.reason);
    if (editing->kind == EDIT_MARKS) {
        answer_integer(&out, "revision", editing->swing.revision + 1);
    } else if (editing->kind == EDIT_MOVE) {
        json_out_text(&out, "from", editing->edit.was.student_id);
        json_out_text(&out, "to", editing->to_student);
    }
    json_out_end_object(&out);
    return json_out_finish(&out, &length);
}

static void edit_hand_over(struct call *call, void *data)
{
    struct editing *editing = data;
    const char *action = editing->kind == EDIT_MARKS  ? "swing.correct"
                         : editing->kind == EDIT_MOVE ? "swing.move"
                         : editing->voided            ? "swing.void"
                                                      : "swing.count";
    const char *detail = audit_detail(call, editing);
    struct write *write = write_new(call, edit_job, editing);
    if (write == NULL) {
        return;
    }
    if (detail == NULL) {
        answer_no_memory(call);
        return;
    }
    if (editing->lesson.count > 0) {
        gather_keep(call, &editing->lesson, editing->edit.was.lesson_id);
    }
    answer_audit(write, action, "swing", editing->edit.swing_id, call->student_id);
    write->audit.detail = detail;
    call_write(write);
}

/* ---- the lesson it is in ---- */

/* Is the lesson judged with it from now on? */
static bool counts_then(const struct editing *editing)
{
    return editing->kind == EDIT_MARKS ? editing->swing.voided.at == 0 : editing->kind == EDIT_VOID && !editing->voided;
}

static enum store_status lesson_take(struct call *call, struct editing *editing, const char *id)
{
    struct store_swing swing;
    struct gathering *lesson = &editing->lesson;
    if (editing->kind == EDIT_MARKS && strcmp(id, editing->edit.swing_id) == 0) {
        lesson->given = editing->document;
        lesson->given_at = lesson->count;
    }
    return gather_add(call, lesson, id, &swing);
}

/* The swings that count from now on, oldest first. */
static enum store_status lesson_find(struct call *call, struct editing *editing)
{
    struct store_lesson held;
    struct store_swing_ids ids;
    const char *own = editing->edit.swing_id;
    bool waits = counts_then(editing);
    enum store_status status = store_lesson_get(call->db, editing->swing.lesson_id, call->arena, &held);
    if (status == STORE_OK) {
        editing->edit.lesson_version = held.version;
        status = store_edit_lesson_swings(call->db, held.id, call->arena, &ids);
    }
    for (size_t i = 0; status == STORE_OK && i < ids.count; i++) {
        const int order = strcmp(ids.items[i], own);
        if (waits && order >= 0) {
            status = lesson_take(call, editing, own);
            waits = false;
        }
        if (status == STORE_OK && order != 0) {
            status = lesson_take(call, editing, ids.items[i]);
        }
    }
    return status == STORE_OK && waits ? lesson_take(call, editing, own) : status;
}

/* What stands for this swing when the player's own spread is worked out: nothing, when it counts no longer. */
static enum store_status spread_find(struct call *call, struct editing *editing)
{
    struct store_report *spread = &editing->spread;
    enum store_status status = STORE_OK;
    if (counts_then(editing) && editing->kind == EDIT_VOID) {
        status = store_report_of_swing(call->db, editing->edit.swing_id, call->arena, spread);
    } else if (counts_then(editing)) {
        *spread = editing->report;
    }
    spread->recorded_at = editing->kind == EDIT_MARKS ? editing->next.recorded_at : editing->swing.recorded_at;
    memcpy(spread->swing_id, editing->edit.swing_id, UUID_TEXT);
    return status;
}

/* With its own report made: the lesson's, then the write. */
static void edit_go_on(struct call *call, struct editing *editing)
{
    struct gathering *lesson = &editing->lesson;
    enum store_status status = spread_find(call, editing);
    if (status == STORE_OK && editing->swing.lesson_id[0] != '\0') {
        status = lesson_find(call, editing);
    }
    if (editing->kind == EDIT_MARKS && !counts_then(editing)) {
        lesson->count = 0; /* it is none of the lesson's figures as it is */
    }
    if (status == STORE_OK && lesson->count > 0) {
        status = store_student_get(call->db, call->student_id, call->arena, &lesson->scored.student);
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    if (lesson->count == 0) {
        edit_hand_over(call, editing);
        return;
    }
    lesson->instead = &editing->spread;
    scoring_player(&lesson->scored.student, call->now, &lesson->scored.player);
    gather_run(call, lesson, edit_hand_over, editing);
}

/* ---- the three ---- */

/* NULL: answered. */
static struct editing *editing_new(struct call *call, enum edit_kind kind)
{
    struct editing *editing = arena_alloc(call->arena, sizeof *editing);
    if (editing == NULL) {
        answer_no_memory(call);
        return NULL;
    }
    struct store_edit *edit = &editing->edit;
    editing->kind = kind;
    (void)snprintf(edit->swing_id, sizeof edit->swing_id, "%s", exchange_capture(call->exchange, 0));
    const enum store_status status =
        store_swing_get(call->db, edit->swing_id, kind == EDIT_MOVE, call->arena, &editing->swing);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return NULL;
    }
    edit->was.version = editing->swing.version;
    memcpy(edit->was.student_id, editing->swing.student_id, UUID_TEXT);
    memcpy(edit->was.lesson_id, editing->swing.lesson_id, UUID_TEXT);
    edit->note.at = call->now;
    memcpy(edit->note.by, call->principal->account_id, UUID_TEXT);
    return editing;
}

/* Nothing to do: what it is already. A repeated request finds it so. */
static void answer_as_it_is(struct call *call, const struct editing *editing)
{
    struct json_out out;
    struct store_report report;
    const enum store_status status = store_report_of_swing(call->db, editing->edit.swing_id, call->arena, &report);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    edited_json(&out, call, editing, &editing->swing, &report);
    answer_json(call, &out, editing->swing.version);
}

/* May it be corrected at all? False: answered. */
static bool may_be_corrected(struct call *call, const struct editing *editing)
{
    if (editing->swing.reading != NULL) {
        exchange_problem(call->exchange, 409, "not-a-document", NULL,
                         "This swing came as a marker file: it has no marks. Set it aside and send another.");
        return false;
    }
    if (!precondition_edit(call, editing->swing.version)) {
        return false;
    }
    if (editing->swing.revision >= REVISIONS_MAX) {
        exchange_problem(call->exchange, 409, "too-many-revisions", NULL,
                         "A swing has at most %d revisions: set it aside and send a new one.", REVISIONS_MAX);
        return false;
    }
    return true;
}

/* The new document, out of the body. False: answered. */
static bool correction_read(struct call *call, struct editing *editing)
{
    static const struct swing_reading no_reading;
    struct wire_error error;
    size_t length;
    const char *body = exchange_body(call->exchange, &length);
    struct swing_marks *marks = arena_alloc(call->arena, sizeof *marks);
    struct swing_document *document = arena_alloc(call->arena, sizeof *document);
    struct store_swing *next = &editing->next;
    if (marks == NULL || document == NULL) {
        answer_no_memory(call);
        return false;
    }
    if (!swing_marks_read(body, length, call->arena, marks, &error)) {
        exchange_problem(call->exchange, 422, "invalid-document", error.path, "%s", error.what);
        return false;
    }
    if (!incoming_read(call, SWING_JSON, marks->document, marks->document_size, &no_reading, document)) {
        return false;
    }
    editing->edit.note.reason = marks->reason;
    editing->document = document;
    next->recorded_at = document->recorded_at_ms;
    next->document = marks->document;
    next->document_size = marks->document_size;
    (void)crypto_hash_sha256(next->document_hash, (const unsigned char *)next->document, next->document_size);
    store_swing_pack(call->db, next, call->arena);
    return true;
}

void swings_correct(struct call *call)
{
    struct scored_student scored;
    struct editing *editing = editing_new(call, EDIT_MARKS);
    if (editing != NULL && may_be_corrected(call, editing) && correction_read(call, editing) &&
        scoring_start(call, &scored) && scoring_may_keep(call, &scored) &&
        incoming_score(call, &scored, editing->document, editing->edit.swing_id, &editing->report)) {
        edit_go_on(call, editing);
    }
}

void swings_void(struct call *call)
{
    static const char *const keys[] = {"reason", "void", NULL};
    struct body body;
    struct editing *editing = editing_new(call, EDIT_VOID);
    if (editing == NULL || !body_begin(&body, call, keys, false)) {
        return;
    }
    editing->voided = true;
    (void)tree_boolean(&body.in, "void", false, &editing->voided);
    (void)tree_text(&body.in, "reason", true, STORE_EDIT_REASON, &editing->edit.note.reason);
    if (!body_end(&body)) {
        return;
    }
    if (editing->voided == (editing->swing.voided.at != 0)) {
        answer_as_it_is(call, editing);
        return;
    }
    edit_go_on(call, editing);
}

/* The new player, whom the caller must be tied to as well. False: answered as if there were none. */
static bool student_find(struct call *call, const struct editing *editing, struct scored_student *out)
{
    enum rights_membership membership;
    enum store_status status = rights_find_membership(call->db, call->principal, editing->to_student, &membership);
    if (status == STORE_OK &&
        rights_check(call->row->roles, RIGHTS_TEAM, call->principal, membership, false) != RIGHTS_YES) {
        status = STORE_NOT_FOUND;
    }
    if (status == STORE_OK) {
        status = store_student_get(call->db, editing->to_student, call->arena, &out->student);
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return false;
    }
    scoring_player(&out->student, call->now, &out->player);
    return true;
}

/* What was kept, read again and judged as the new player's. False: answered. */
static bool move_score(struct call *call, struct editing *editing, const struct scored_student *scored)
{
    struct wire_error error;
    struct swing_document *document = arena_alloc(call->arena, sizeof *document);
    if (document == NULL) {
        answer_no_memory(call);
        return false;
    }
    if (!swing_load_scored(&editing->swing, call->arena, document, &error)) {
        exchange_problem(call->exchange, 422, "invalid-document", error.path, "%s", error.what);
        return false;
    }
    return incoming_score(call, scored, document, editing->edit.swing_id, &editing->report);
}

void swings_move(struct call *call)
{
    static const char *const keys[] = {"student_id", "reason", NULL};
    struct body body;
    struct scored_student scored = {.unsteady = false};
    struct editing *editing = editing_new(call, EDIT_MOVE);
    if (editing == NULL || !body_begin(&body, call, keys, false)) {
        return;
    }
    (void)tree_uuid(&body.in, "student_id", true, editing->to_student);
    (void)tree_text(&body.in, "reason", true, STORE_EDIT_REASON, &editing->edit.note.reason);
    if (!body_end(&body) || !student_find(call, editing, &scored)) {
        return;
    }
    if (strcmp(editing->to_student, call->student_id) == 0) {
        answer_as_it_is(call, editing);
        return;
    }
    if (scoring_may_keep(call, &scored) && move_score(call, editing, &scored)) {
        edit_go_on(call, editing);
    }
}
