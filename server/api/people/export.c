/* Everything held on one student as one JSON file: for the student, the guardian or the head. It may be hundreds of
 * megabytes: it is written, of one moment, into a file without a name by a thread of its own, and sent from there. */
#include "store/people/export.h"

#include <errno.h>
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/heavy.h"
#include "api/people/handlers.h"
#include "base/spool.h"
#include "store/lessons/note.h"

#define SPARE_BYTES ((uint64_t)256 << 20) /* of the disk, that an export leaves to the club's file */

struct exporting {
    struct json_out out;
    struct api *api;
    struct arena *arena;
    const char *table; /* whose array is open; NULL = none yet */
    struct spool *spool;
    struct heavy_place *place;
    bool disk_full;
    enum store_status status;
};

static bool ends_in(const char *name, const char *end)
{
    const size_t length = strlen(name);
    const size_t tail = strlen(end);
    return length >= tail && strcmp(name + length - tail, end) == 0;
}

#define NAMED_IN(name, names) named_in(name, names, sizeof(names) / sizeof *(names))

static bool named_in(const char *name, const char *const *names, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (strcmp(name, names[i]) == 0) {
            return true;
        }
    }
    return false;
}

static bool is_time(const char *name)
{
    static const char *const names[] = {"created",  "last_seen", "expires", "revoked", "archived",
                                        "disabled", "ended",     "at",      "started", "confirmed"};
    return NAMED_IN(name, names) || ends_in(name, "_at");
}

/* Kept as 0 or 1. */
static bool is_flag(const char *name)
{
    static const char *const names[] = {"junior", "as_junior", "waits", "urgent", "stays"};
    return NAMED_IN(name, names);
}

/* The areas that hurt, by name rather than as bits. */
static void pain_write(struct json_out *out, const char *name, int64_t bits)
{
    json_out_array(out, name);
    for (int i = 0; i < AREA_BITS; i++) {
        if (((uint64_t)bits & (uint64_t)1 << i) != 0) {
            json_out_text(out, NULL, area_name((enum area)(1U << i)));
        }
    }
    json_out_end_array(out);
}

static void field_write(struct exporting *exporting, const struct store_field *field)
{
    struct json_out *out = &exporting->out;
    const bool json = ends_in(field->name, "_json");
    const char *name = json ? arena_strndup(exporting->arena, field->name, strlen(field->name) - 5) : field->name;
    if (name == NULL) {
        out->text.failed = true;
        return;
    }
    switch (field->kind) {
    case STORE_FIELD_NULL:
        json_out_null(out, name);
        return;
    case STORE_FIELD_INTEGER:
        if (strcmp(field->name, "pain") == 0 || strcmp(field->name, "word_pain") == 0) {
            pain_write(out, name, field->integer);
        } else if (ends_in(field->name, "_area")) {
            json_out_text(out, name, area_name((enum area)field->integer));
        } else if (is_time(field->name)) {
            answer_time(out, name, field->integer);
        } else if (is_flag(field->name)) {
            json_out_bool(out, name, field->integer != 0);
        } else {
            answer_integer(out, name, field->integer);
        }
        return;
    case STORE_FIELD_REAL:
        json_out_number(out, name, field->real, 6);
        return;
    case STORE_FIELD_TEXT:
    case STORE_FIELD_BLOB:
        if (json) {
            json_out_raw(out, name, field->text, field->size);
        } else if (field->kind == STORE_FIELD_TEXT) {
            json_out_text(out, name, field->text);
        } else {
            json_out_base64(out, name, field->text, field->size);
        }
        return;
    }
}

static enum store_status row_write(void *context, const char *table, const struct store_field *fields, size_t count)
{
    struct exporting *exporting = context;
    struct json_out *out = &exporting->out;
    if (atomic_load(&exporting->api->refusing)) {
        return STORE_CLOSED;
    }
    if (exporting->table == NULL || strcmp(exporting->table, table) != 0) {
        if (exporting->table != NULL) {
            json_out_end_array(out);
        }
        json_out_array(out, table);
        exporting->table = table;
    }
    json_out_object(out, NULL);
    for (size_t i = 0; i < count; i++) {
        field_write(exporting, &fields[i]);
    }
    json_out_end_object(out);
    return !out->text.failed ? STORE_OK : exporting->disk_full ? STORE_FULL : STORE_NO_MEMORY;
}

static bool piece_take(void *context, const char *text, size_t length)
{
    struct exporting *exporting = context;
    exporting->disk_full = !spool_write(exporting->spool, text, length);
    return !exporting->disk_full;
}

/* On a heavy thread. */
static void export_make(struct call *call, void *data)
{
    struct exporting *exporting = data;
    struct json_out *out = &exporting->out;
    const enum store_role role = call->principal->role;
    const unsigned readers = role == STORE_STUDENT    ? STORE_NOTE_STUDENT
                             : role == STORE_GUARDIAN ? STORE_NOTE_READ_BY_GUARDIAN
                                                      : STORE_NOTE_STUDENT | STORE_NOTE_GUARDIAN;
    json_out_start_to(out, call->arena, piece_take, exporting);
    json_out_object(out, NULL);
    json_out_text(out, "schema", "leadside.export/1");
    answer_time(out, "made_at", call->now);
    exporting->status =
        store_export_student(call->db, call->student_id, role == STORE_HEAD, readers, row_write, exporting);
    if (exporting->status != STORE_OK) {
        return;
    }
    if (exporting->table != NULL) {
        json_out_end_array(out);
    }
    json_out_end_object(out);
    if (!json_out_flush(out)) {
        exporting->status = exporting->disk_full ? STORE_FULL : STORE_NO_MEMORY;
    }
}

static size_t export_read(void *context, uint64_t at, char *out, size_t size)
{
    const struct exporting *exporting = context;
    return spool_read(exporting->spool, at, out, size);
}

/* The place is held until the answer is fetched: files that wait for their readers fill the disk as well. */
static void export_end(void *context)
{
    struct exporting *exporting = context;
    spool_free(exporting->spool);
    heavy_release(exporting->place);
}

static void export_reply(struct call *call, enum store_status status, void *data)
{
    struct exporting *exporting = data;
    status = status == STORE_OK ? exporting->status : status;
    if (status != STORE_OK) {
        export_end(exporting);
        call_problem_store(call, status);
        return;
    }
    exchange_add_header(call->exchange, "Content-Disposition", "attachment; filename=\"leadside-export.json\"");
    exchange_reply_stream(call->exchange, 200, "application/json", spool_size(exporting->spool), export_read,
                          export_end, exporting);
}

static enum store_status export_job(struct store_db *db, struct write *write)
{
    (void)db;
    answer_audit(write, "student.export", "student", write->call.student_id, write->call.student_id);
    return STORE_OK;
}

static void export_begin(struct write *write)
{
    struct call *call = &write->call;
    struct exporting *exporting = write->data;
    exporting->spool = spool_new(call->api->directory, SPARE_BYTES);
    if (exporting->spool == NULL) {
        call_problem_store(call, errno == ENOSPC || errno == EDQUOT ? STORE_FULL : STORE_ERROR);
        return;
    }
    if (!call_heavy(call, export_make, export_reply, exporting, &exporting->place)) {
        spool_free(exporting->spool);
    }
}

/* It is made when it is on record that it was asked for. */
void students_export(struct call *call)
{
    struct exporting *exporting = arena_alloc(call->arena, sizeof *exporting);
    if (exporting == NULL) {
        answer_no_memory(call);
        return;
    }
    *exporting = (struct exporting){.api = call->api, .arena = call->arena};
    struct write *write = write_new(call, export_job, exporting);
    if (write != NULL) {
        write->reply = export_begin;
        call_write(write);
    }
}
