/* The club's drills: read by every coach, added, changed and retired by the head. */
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/precondition.h"
#include "api/practice/drill_row.h"
#include "api/practice/handlers.h"
#include "wire/json/load.h"
#include "wire/json/tree.h"
#include "wire/rules/drill_read.h"
#include "wire/rules/drill_write.h"

json_t *drill_row_json(const char *name, const char *json)
{
    json_t *object = json == NULL ? NULL : json_load(json, strlen(json), JSON_REJECT_DUPLICATES, NULL);
    if (json_is_object(object)) {
        (void)json_object_del(object, "id");
        if (json_object_set_new(object, "name", json_string(name)) == 0) {
            return object;
        }
    }
    json_decref(object);
    return NULL;
}

bool drill_row_read(const char *id, const char *name, const char *json, struct arena *arena, struct drill *out)
{
    json_t *object = drill_row_json(name, json);
    struct tree tree = {.value = object, .arena = arena};
    const bool good = object != NULL && drill_read_one(&tree, false, out);
    json_decref(object);
    out->id = good ? id : NULL;
    return good;
}

const char *drill_row_sheet(const struct drill *drill, const struct drill *next, struct arena *arena)
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
    json_out_bool(&out, "beside_a_support", drill->balance || (drill->kit & KIT_SUPPORT) != 0);
    drill_line_write(&out, drill);
    if (next != NULL) {
        json_out_object(&out, "next");
        json_out_text(&out, "id", next->id);
        json_out_text(&out, "name", next->name);
        json_out_end_object(&out);
    } else {
        json_out_null(&out, "next");
    }
    json_out_end_object(&out);
    return json_out_finish(&out, &length);
}

static void row_write(struct json_out *out, const struct store_drill *row, const struct drill *drill)
{
    json_out_text(out, "id", row->id);
    drill_write(out, drill);
    json_out_bool(out, "built_in", row->built_in);
    answer_time(out, "created", row->created);
    answer_time(out, "retired", row->retired);
    answer_integer(out, "version", row->version);
}

void drills_list(struct call *call)
{
    struct store_page page;
    struct store_drill_list list;
    struct json_out out;
    if (!call_page(call, &page)) {
        return;
    }
    const char *retired = exchange_query(call->exchange, "retired");
    const bool with_retired = retired != NULL && strcmp(retired, "true") == 0;
    const enum store_status status = store_drill_list(call->db, with_retired, &page, call->arena, &list);
    if (!answer_list_begin(call, &out, status, "drills")) {
        return;
    }
    for (size_t i = 0; i < list.count; i++) {
        struct drill drill;
        const struct store_drill *row = &list.items[i];
        if (!drill_row_read(row->id, row->name, row->json, call->arena, &drill)) {
            call_problem_store(call, STORE_CORRUPT);
            return;
        }
        json_out_object(&out, NULL);
        row_write(&out, row, &drill);
        json_out_end_object(&out);
    }
    answer_list_end(call, &out, ANSWER_NEXT(list));
}

void drills_get(struct call *call)
{
    struct store_drill row;
    struct drill drill;
    struct json_out out;
    enum store_status status = store_drill_get(call->db, exchange_capture(call->exchange, 0), call->arena, &row);
    if (status == STORE_OK && !drill_row_read(row.id, row.name, row.json, call->arena, &drill)) {
        status = STORE_CORRUPT;
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    row_write(&out, &row, &drill);
    json_out_end_object(&out);
    answer_json(call, &out, row.version);
}

struct drill_edit {
    struct store_drill row;
    struct drill drill;
    bool adds;
};

static enum store_status edit_job(struct store_db *db, struct write *write)
{
    struct drill_edit *edit = write->data;
    struct json_out out;
    const enum store_status status =
        edit->adds ? store_drill_insert(db, &edit->row) : store_drill_update(db, &edit->row);
    if (status != STORE_OK) {
        return status;
    }
    json_out_start(&out, write->call.arena);
    json_out_object(&out, NULL);
    row_write(&out, &edit->row, &edit->drill);
    json_out_end_object(&out);
    write->etag = edit->row.version;
    return answer_write(write, &out, edit->adds ? 201 : 200) ? STORE_OK : STORE_NO_MEMORY;
}

static void edit_hand_over(struct call *call, struct drill_edit *edit)
{
    size_t length;
    struct json_out out;
    struct write *write = write_new(call, edit_job, edit);
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    drill_write(&out, &edit->drill);
    json_out_end_object(&out);
    edit->row.name = edit->drill.name;
    edit->row.json = json_out_finish(&out, &length);
    if (write == NULL) {
        return;
    }
    if (edit->row.json == NULL) {
        answer_no_memory(call);
        return;
    }
    if (edit->adds) {
        write->location = arena_printf(call->arena, "/v1/drills/%s", edit->row.id);
    }
    answer_audit(write, edit->adds ? "drill.create" : "drill.update", "drill", edit->row.id, "");
    call_write(write);
}

/* The request's object; NULL and answered when it is none. The caller owns it. */
static json_t *body_object(struct call *call)
{
    size_t length;
    struct wire_error error;
    const char *text = exchange_body(call->exchange, &length);
    json_t *object = tree_parse(text, length, &error);
    if (object == NULL) {
        exchange_problem(call->exchange, 400, "not-json", "", "%s.", error.what);
    } else if (!json_is_object(object)) {
        exchange_problem(call->exchange, 422, "invalid", NULL, "an object is expected");
        json_decref(object);
        object = NULL;
    }
    return object;
}

void drills_create(struct call *call)
{
    struct wire_error error;
    struct drill_edit *edit = arena_alloc(call->arena, sizeof *edit);
    if (edit == NULL) {
        answer_no_memory(call);
        return;
    }
    json_t *object = body_object(call);
    if (object == NULL) {
        return;
    }
    struct tree tree = {.value = object, .arena = call->arena, .error = &error};
    const bool good = drill_read_one(&tree, false, &edit->drill);
    json_decref(object);
    if (!good) {
        exchange_problem(call->exchange, 422, "invalid", error.path, "%s", error.what);
        return;
    }
    uuid7_new(edit->row.id);
    edit->drill.id = edit->row.id;
    edit->row.created = call->now;
    edit->row.version = 1;
    edit->adds = true;
    edit_hand_over(call, edit);
}

/* Puts the patch's members over the stored ones (null removes one) and takes "retired" out. */
static bool patch_apply(const struct call *call, json_t *stored, json_t *patch, struct store_drill *row)
{
    const char *key;
    json_t *value;
    if (json_object_get(patch, "level") == NULL &&
        (json_object_get(patch, "ball") != NULL || json_object_get(patch, "kit") != NULL)) {
        (void)json_object_del(stored, "level"); /* it follows from these unless it is given */
    }
    json_object_foreach(patch, key, value)
    {
        if (strcmp(key, "retired") == 0) {
            if (!json_is_boolean(value)) {
                return false;
            }
            if (!json_is_true(value)) {
                row->retired = 0;
            } else if (row->retired == 0) {
                row->retired = call->now;
            }
        } else if (json_is_null(value)) {
            (void)json_object_del(stored, key);
        } else if (json_object_set(stored, key, value) != 0) {
            return false;
        }
    }
    return true;
}

/* False: answered. */
static bool patch_read(struct call *call, struct drill_edit *edit)
{
    struct wire_error error = {"retired", "true or false is expected"};
    json_t *patch = body_object(call);
    if (patch == NULL) {
        return false;
    }
    json_t *stored = drill_row_json(edit->row.name, edit->row.json);
    struct tree tree = {.value = stored, .arena = call->arena, .error = &error};
    const bool good =
        stored != NULL && patch_apply(call, stored, patch, &edit->row) && drill_read_one(&tree, false, &edit->drill);
    json_decref(patch);
    if (stored == NULL) {
        call_problem_store(call, STORE_CORRUPT);
    } else if (!good) {
        exchange_problem(call->exchange, 422, "invalid", error.path, "%s", error.what);
    }
    json_decref(stored);
    edit->drill.id = edit->row.id;
    return good;
}

void drills_update(struct call *call)
{
    struct drill_edit *edit = arena_alloc(call->arena, sizeof *edit);
    if (edit == NULL) {
        answer_no_memory(call);
        return;
    }
    enum store_status status = store_drill_get(call->db, exchange_capture(call->exchange, 0), call->arena, &edit->row);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    if (precondition_edit(call, edit->row.version) && patch_read(call, edit)) {
        edit_hand_over(call, edit);
    }
}
