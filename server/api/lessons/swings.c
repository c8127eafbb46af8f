/* Swings: a document or a marker file comes in, is judged at once, and is kept byte for byte beside its report. */
#include <jansson.h>
#include <sodium.h>
#include <string.h>
#include <strings.h>

#include "api/frame/answer.h"
#include "api/frame/precondition.h"
#include "api/frame/stream.h"
#include "api/lessons/handlers.h"
#include "api/lessons/incoming.h"
#include "api/lessons/marker_query.h"
#include "api/lessons/markers.h"
#include "api/lessons/scoring.h"
#include "api/lessons/swing_json.h"
#include "store/lessons/swing.h"
#include "store/people/consent.h"
#include "wire/json/load.h"

struct upload {
    struct store_swing swing;
    struct store_report report;
    enum swing_media media;
    uint8_t key_hash[STORE_HASH]; /* of all that was sent */
};

static enum store_status upload_job(struct store_db *db, struct write *write)
{
    const struct upload *upload = write->data;
    const enum store_status status = store_swing_insert(db, &upload->swing);
    return status == STORE_OK ? store_report_insert(db, &upload->report) : status;
}

/* Everything about the rows but the report's text. */
static void upload_fill(struct upload *upload, const struct call *call, const struct swing_document *document,
                        const char *body, size_t length)
{
    struct store_swing *swing = &upload->swing;
    uuid7_new(swing->id);
    memcpy(swing->student_id, call->student_id, sizeof swing->student_id);
    memcpy(swing->uploaded_by, call->principal->account_id, sizeof swing->uploaded_by);
    swing->recorded_at = document->recorded_at_ms;
    swing->received_at = call->now;
    swing->document = body;
    swing->document_size = length;
    swing->media_type = swing_media_name(upload->media);
    (void)crypto_hash_sha256(swing->document_hash, (const unsigned char *)body, length);
    memcpy(upload->key_hash, swing->document_hash, sizeof upload->key_hash);
    if (upload->media != SWING_JSON) {
        marker_query_hash(call, upload->media, swing->document_hash, upload->key_hash);
    }
}

static void upload_answer(struct json_out *out, struct arena *arena, const char *id, const struct store_report *report)
{
    json_out_start(out, arena);
    json_out_object(out, NULL);
    json_out_text(out, "id", id);
    json_out_raw(out, "report", report->json, report->json_size);
    json_out_end_object(out);
}

/* The report is in the file once already, so only its id is kept for a repeated upload. */
static const char *upload_kept(struct arena *arena, const struct upload *upload)
{
    return arena_printf(arena, "{\"id\":\"%s\",\"report_id\":\"%s\"}", upload->swing.id, upload->report.id);
}

/* The same answer again, from the report that it was given with. */
static enum store_status upload_restore(struct store_db *db, struct write *write)
{
    struct json_out out;
    struct store_report report;
    char student_id[UUID_TEXT] = "";
    struct arena *arena = write->call.arena;
    json_t *kept = json_load(write->json, strlen(write->json), 0, NULL);
    const char *report_id = json_string_value(json_object_get(kept, "report_id"));
    enum store_status status = report_id == NULL ? STORE_CORRUPT : store_report_get(db, report_id, arena, &report);
    json_decref(kept);
    status = status == STORE_OK ? store_swing_student(db, report.swing_id, student_id) : status;
    if (status != STORE_OK) {
        return status;
    }
    if (strcmp(student_id, write->call.student_id) != 0) {
        return write_refuse(write, 409, "swing-moved", NULL,
                            "This swing arrived, and was then given to the student whose it is.");
    }
    upload_answer(&out, arena, report.swing_id, &report);
    return answer_write(write, &out, write->status) ? STORE_OK : STORE_NO_MEMORY;
}

static void upload_hand_over(struct call *call, struct upload *upload)
{
    struct json_out out;
    struct write *write = write_new(call, upload_job, upload);
    if (write == NULL) {
        return;
    }
    upload_answer(&out, call->arena, upload->swing.id, &upload->report);
    write->kept_json = upload_kept(call->arena, upload);
    write->restore = upload_restore;
    write->body_hash = upload->key_hash;
    if (!answer_write(write, &out, 201) || write->kept_json == NULL) {
        answer_no_memory(call);
        return;
    }
    write->location = arena_printf(call->arena, "/v1/swings/%s", upload->swing.id);
    answer_audit(write, "swing.create", "swing", upload->swing.id, call->student_id);
    call_write(write);
}

/* By the body's content type, or by its first bytes when that says nothing. False: answered. */
static bool media_find(struct call *call, const char *body, size_t length, enum swing_media *out)
{
    const char *type = exchange_header(call->exchange, "Content-Type");
    type = type == NULL ? "" : type; /* an empty body needs none */
    const size_t size = strcspn(type, "; \t");
    for (int i = 0; i < SWING_MEDIA_COUNT; i++) {
        const char *name = swing_media_name((enum swing_media)i);
        if (size == strlen(name) && strncasecmp(type, name, size) == 0) {
            *out = (enum swing_media)i;
            return true;
        }
    }
    if (length == 0 || swing_media_guess(body, length, out)) {
        *out = length == 0 ? SWING_JSON : *out;
        return true;
    }
    exchange_problem(call->exchange, 422, "invalid-document", "",
                     "This is neither a swing document (JSON) nor a C3D or TRC file.");
    return false;
}

/* What stands beside the file, and its text to be kept. A document says everything itself. False: answered. */
static bool reading_find(struct call *call, const char *hand, struct upload *upload, struct swing_reading *out)
{
    memset(out, 0, sizeof *out);
    if (upload->media == SWING_JSON) {
        const char *name = marker_query_any(call);
        if (name != NULL) {
            exchange_problem(call->exchange, 422, "invalid", name,
                             "?%s= is for marker files: a swing document says such things itself.", name);
        }
        return name == NULL;
    }
    if (!marker_query_read(call, hand, out)) {
        return false;
    }
    const enum store_status status = markers_current(call, &out->map);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return false;
    }
    upload->swing.reading = swing_reading_write(out, call->arena, &upload->swing.reading_size);
    if (upload->swing.reading == NULL) {
        answer_no_memory(call);
        return false;
    }
    return true;
}

void swings_create(struct call *call)
{
    size_t length;
    struct scored_student scored;
    struct swing_reading reading;
    const char *body = exchange_body(call->exchange, &length);
    struct swing_document *document = arena_alloc(call->arena, sizeof *document);
    struct upload *upload = arena_alloc(call->arena, sizeof *upload);
    if (document == NULL || upload == NULL) {
        answer_no_memory(call);
        return;
    }
    if (!scoring_start(call, &scored)) {
        return;
    }
    if (!scoring_may_keep(call, &scored)) {
        return;
    }
    if (!media_find(call, body, length, &upload->media) || !reading_find(call, scored.student.hand, upload, &reading) ||
        !incoming_read(call, upload->media, body, length, &reading, document)) {
        return;
    }
    upload_fill(upload, call, document, body, length);
    if (incoming_score(call, &scored, document, upload->swing.id, &upload->report)) {
        store_swing_pack(call->db, &upload->swing, call->arena);
        upload_hand_over(call, upload);
    }
}

void swings_list(struct call *call)
{
    struct store_page page;
    struct store_swing_list list = {0};
    struct json_out out;
    bool shown;
    if (!call_page(call, &page)) {
        return;
    }
    enum store_status status = store_consent_pictures(call->db, call->student_id, &shown);
    if (status == STORE_OK) {
        status = store_swing_list(call->db, call->student_id, &page, call->arena, &list);
    }
    if (!answer_list_begin(call, &out, status, "swings")) {
        return;
    }
    for (size_t i = 0; i < list.count; i++) {
        json_out_object(&out, NULL);
        swing_json_write(&out, &list.items[i], call->principal->role);
        json_out_text(&out, "still", shown ? list.items[i].still : NULL);
        json_out_end_object(&out);
    }
    answer_list_end(call, &out, ANSWER_NEXT(list));
}

/* The document itself is sent piece by piece, out of the file. */
static void document_reply(struct call *call, struct json_out *out, const struct store_swing *swing)
{
    size_t length;
    const struct store_blob blob = store_swing_blob(swing);
    json_out_raw(out, "document", "", 0);
    const char *head = json_out_finish(out, &length);
    const char *tail = arena_printf(call->arena, ",\"file\":\"/v1/swings/%s/file\"}", swing->id);
    if (head == NULL || tail == NULL) {
        answer_no_memory(call);
        return;
    }
    if (!precondition_moving(call, swing->version, head, length)) {
        stream_reply(call, "application/json", head, &blob, tail);
    }
}

void swings_get(struct call *call)
{
    struct store_swing swing;
    struct json_out out;
    const enum store_status status =
        store_swing_get(call->db, exchange_capture(call->exchange, 0), false, call->arena, &swing);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    swing_json_write(&out, &swing, call->principal->role);
    if (swing.reading == NULL) {
        document_reply(call, &out, &swing);
        return;
    }
    json_out_raw(&out, "reading", swing.reading, swing.reading_size);
    json_out_text(&out, "file", arena_printf(call->arena, "/v1/swings/%s/file", swing.id));
    json_out_end_object(&out);
    answer_json_moving(call, &out, swing.version);
}

/* The bytes as they were sent. */
void swings_file(struct call *call)
{
    static const char *const ends[SWING_MEDIA_COUNT] = {"json", "c3d", "trc"};
    struct store_swing swing;
    enum swing_media media = SWING_JSON;
    const enum store_status status =
        store_swing_get(call->db, exchange_capture(call->exchange, 0), false, call->arena, &swing);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    const struct store_blob blob = store_swing_blob(&swing);
    const bool known = swing_media_parse(swing.media_type, &media);
    const char *name = arena_printf(call->arena, "attachment; filename=\"swing-%s.%s\"", swing.id, ends[media]);
    if (!known || name == NULL) {
        call_problem_store(call, known ? STORE_NO_MEMORY : STORE_CORRUPT);
        return;
    }
    exchange_add_header(call->exchange, "Content-Disposition", name);
    stream_reply(call, swing_media_name(media), NULL, &blob, NULL);
}

/* The newest, or what an older version of the standard said. */
void swings_report(struct call *call)
{
    struct store_report report;
    const char *id = exchange_capture(call->exchange, 0);
    int64_t standard;
    if (!scoring_standard_asked(call, &standard)) {
        return;
    }
    const enum store_status status =
        standard == 0 ? store_report_of_swing(call->db, id, call->arena, &report)
                      : store_report_by_standard(call->db, false, id, standard, call->arena, &report);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    call_reply_json(call, 200, report.json, report.json_size, 0, NULL);
}
