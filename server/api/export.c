/* Everything held on one student as one JSON file: for the student, the guardian or the head. */
#include "store/export.h"

#include <sodium.h>
#include <string.h>

#include "api/answer.h"
#include "api/handlers.h"
#include "store/note.h"

struct exporting {
    struct json_out out;
    struct arena *arena;
    const char *table; /* whose array is open; NULL = none yet */
};

static bool ends_in(const char *name, const char *end)
{
    const size_t length = strlen(name);
    const size_t tail = strlen(end);
    return length >= tail && strcmp(name + length - tail, end) == 0;
}

static bool is_time(const char *name)
{
    static const char *const names[] = {"created",  "last_seen", "expires", "revoked",
                                        "archived", "disabled",  "ended",   "at"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        if (strcmp(name, names[i]) == 0) {
            return true;
        }
    }
    return ends_in(name, "_at");
}

static void blob_write(struct json_out *out, const char *name, const struct store_field *field, struct arena *arena)
{
    const size_t size = sodium_base64_ENCODED_LEN(field->size, sodium_base64_VARIANT_ORIGINAL);
    char *text = arena_alloc(arena, size);
    if (text == NULL) {
        out->failed = true;
        return;
    }
    json_out_text(
        out, name,
        sodium_bin2base64(text, size, (const unsigned char *)field->text, field->size, sodium_base64_VARIANT_ORIGINAL));
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
        out->failed = true;
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
            blob_write(out, name, field, exporting->arena);
        }
        return;
    }
}

static enum store_status row_write(void *context, const char *table, const struct store_field *fields, size_t count)
{
    struct exporting *exporting = context;
    struct json_out *out = &exporting->out;
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
    return out->failed ? STORE_NO_MEMORY : STORE_OK;
}

void students_export(struct call *call)
{
    struct exporting exporting = {.arena = call->arena};
    const enum store_role role = call->principal->role;
    const unsigned readers = role == STORE_STUDENT    ? STORE_NOTE_STUDENT
                             : role == STORE_GUARDIAN ? STORE_NOTE_GUARDIAN
                                                      : STORE_NOTE_STUDENT | STORE_NOTE_GUARDIAN;
    enum store_status status = store_read_begin(call->db);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    json_out_start(&exporting.out, call->arena);
    json_out_object(&exporting.out, NULL);
    json_out_text(&exporting.out, "schema", "leadside.export/1");
    answer_time(&exporting.out, "made_at", call->now);
    status = store_export_student(call->db, call->student_id, role == STORE_HEAD, readers, row_write, &exporting);
    store_read_end(call->db);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    if (exporting.table != NULL) {
        json_out_end_array(&exporting.out);
    }
    json_out_end_object(&exporting.out);
    exchange_add_header(call->exchange, "Content-Disposition", "attachment; filename=\"leadside-export.json\"");
    answer_json(call, &exporting.out, 0);
}
