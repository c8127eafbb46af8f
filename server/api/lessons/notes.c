/* What coaches write about a student. Between a coach and a junior, the guardian always reads along. */
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/body.h"
#include "api/lessons/handlers.h"
#include "store/lessons/note.h"

static void note_json(struct json_out *out, const struct store_note *note)
{
    json_out_text(out, "id", note->id);
    json_out_text(out, "student_id", note->student_id);
    json_out_text(out, "author", note->author);
    json_out_text(out, "text", note->text);
    json_out_array(out, "readers");
    if ((note->readers & STORE_NOTE_STUDENT) != 0) {
        json_out_text(out, NULL, "student");
    }
    if ((note->readers & STORE_NOTE_GUARDIAN) != 0) {
        json_out_text(out, NULL, "guardian");
    }
    json_out_end_array(out);
    answer_time(out, "created", note->created);
}

/* The bits of the notes that the caller reads; STORE_NOTE_COACHES: all. */
static unsigned readers_of(const struct call *call)
{
    const enum store_role role = call->principal->role;
    return role == STORE_STUDENT    ? STORE_NOTE_STUDENT
           : role == STORE_GUARDIAN ? STORE_NOTE_READ_BY_GUARDIAN
                                    : STORE_NOTE_COACHES;
}

/* A note that is not the caller's to read is none. */
void notes_get(struct call *call)
{
    const unsigned readers = readers_of(call);
    struct store_note note;
    struct json_out out;
    enum store_status status = store_note_get(call->db, exchange_capture(call->exchange, 0), call->arena, &note);
    if (status == STORE_OK && readers != STORE_NOTE_COACHES && (note.readers & readers) == 0) {
        status = STORE_NOT_FOUND;
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    note_json(&out, &note);
    json_out_end_object(&out);
    answer_json(call, &out, 0);
}

void notes_list(struct call *call)
{
    const unsigned readers = readers_of(call);
    struct store_page page;
    struct store_note_list list;
    struct json_out out;
    if (!call_page(call, &page)) {
        return;
    }
    enum store_status status = store_note_list(call->db, call->student_id, readers, &page, call->arena, &list);
    if (!answer_list_begin(call, &out, status, "notes")) {
        return;
    }
    for (size_t i = 0; i < list.count; i++) {
        json_out_object(&out, NULL);
        note_json(&out, &list.items[i]);
        json_out_end_object(&out);
    }
    answer_list_end(call, &out, ANSWER_NEXT(list));
}

static bool take_reader(struct tree *tree, int index, void *to)
{
    struct store_note *note = to;
    const char *name = tree_here(tree);
    (void)index;
    if (name != NULL && strcmp(name, "student") == 0) {
        note->readers |= STORE_NOTE_STUDENT;
    } else if (name != NULL && strcmp(name, "guardian") == 0) {
        note->readers |= STORE_NOTE_GUARDIAN;
    } else {
        return tree_refuse_at(tree, tree->at->up, "may hold student and guardian alone");
    }
    return true;
}

static enum store_status create_job(struct store_db *db, struct write *write)
{
    const struct store_note *note = write->data;
    answer_audit(write, "note.create", "note", note->id, note->student_id);
    return store_note_insert(db, note);
}

static bool note_read(struct call *call, struct store_note *note)
{
    static const char *const keys[] = {"text", "readers", NULL};
    struct store_student student;
    struct body body;
    enum store_status status = store_student_get(call->db, call->student_id, call->arena, &student);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return false;
    }
    if (!body_begin(&body, call, keys, false)) {
        return false;
    }
    tree_text(&body.in, "text", true, 20000, &note->text);
    tree_list(&body.in, "readers", false, 2, "must be a list of student and guardian", take_reader, note, NULL);
    if (student.junior && note->readers != STORE_NOTE_COACHES) {
        note->readers |= STORE_NOTE_GUARDIAN;
    }
    return body_end(&body);
}

void notes_create(struct call *call)
{
    struct store_note *note = arena_alloc(call->arena, sizeof *note);
    struct json_out out;
    if (note == NULL) {
        answer_no_memory(call);
        return;
    }
    if (!note_read(call, note)) {
        return;
    }
    uuid7_new(note->id);
    memcpy(note->student_id, call->student_id, UUID_TEXT);
    memcpy(note->author, call->principal->account_id, UUID_TEXT);
    note->created = call->now;
    struct write *write = write_new(call, create_job, note);
    if (write == NULL) {
        return;
    }
    write->location = arena_printf(call->arena, "/v1/notes/%s", note->id);
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    note_json(&out, note);
    json_out_end_object(&out);
    if (!answer_write(write, &out, 201)) {
        answer_no_memory(call);
        return;
    }
    call_write(write);
}
