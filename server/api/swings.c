/* Swings: a document comes in, is judged at once, and is kept byte for byte beside its report. */
#include <jansson.h>
#include <sodium.h>
#include <string.h>

#include "api/answer.h"
#include "api/handlers.h"
#include "api/scoring.h"
#include "store/swing.h"

struct upload {
    struct store_swing swing;
    struct store_report report;
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
    uuid7_new(upload->report.id);
    memcpy(swing->student_id, call->student_id, sizeof swing->student_id);
    memcpy(swing->uploaded_by, call->principal->account_id, sizeof swing->uploaded_by);
    memcpy(upload->report.swing_id, swing->id, sizeof upload->report.swing_id);
    swing->recorded_at = document->recorded_at_ms;
    swing->received_at = call->now;
    upload->report.created = call->now;
    swing->document = body;
    swing->document_size = length;
    (void)crypto_hash_sha256(swing->document_hash, (const unsigned char *)body, length);
}

/* The report of the uploaded document; false: answered. */
static bool upload_score(struct upload *upload, struct call *call, const struct scoring *scoring,
                         struct swing_document *document)
{
    const struct api_book *book = api_book_borrow(call->api, call->db, call->book_edits);
    if (book == NULL) {
        call_problem_store(call, STORE_ERROR);
        return false;
    }
    upload->report.standard = book->number;
    upload->report.json = scoring_report(scoring, book, &document, 1, call->arena, &upload->report.json_size);
    api_book_return(call->api, book);
    if (upload->report.json == NULL) {
        answer_no_memory(call);
        return false;
    }
    return true;
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
    struct arena *arena = write->call.arena;
    json_t *kept = json_loads(write->json, 0, NULL);
    const char *report_id = json_string_value(json_object_get(kept, "report_id"));
    enum store_status status = report_id == NULL ? STORE_CORRUPT : store_report_get(db, report_id, arena, &report);
    if (status == STORE_OK) {
        upload_answer(&out, arena, report.swing_id, &report);
        status = answer_write(write, &out, write->status) ? STORE_OK : STORE_NO_MEMORY;
    }
    json_decref(kept);
    return status;
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
    write->body_hash = upload->swing.document_hash;
    if (!answer_write(write, &out, 201) || write->kept_json == NULL) {
        answer_no_memory(call);
        return;
    }
    write->location = arena_printf(call->arena, "/v1/swings/%s", upload->swing.id);
    answer_audit(write, "swing.create", "swing", upload->swing.id, call->student_id);
    call_write(write);
}

void swings_create(struct call *call)
{
    size_t length;
    struct scoring scoring;
    struct wire_error error;
    const char *body = exchange_body(call->exchange, &length);
    struct swing_document *document = arena_alloc(call->arena, sizeof *document);
    struct upload *upload = arena_alloc(call->arena, sizeof *upload);
    if (document == NULL || upload == NULL) {
        answer_no_memory(call);
        return;
    }
    if (!scoring_start(call, &scoring)) {
        return;
    }
    if (scoring.student.junior && scoring.student.consent_at == 0) {
        exchange_problem(call->exchange, 409, "consent-missing", NULL,
                         "A guardian's consent must be recorded before any swing of a junior is stored.");
        return;
    }
    if (!swing_read(body, length, call->arena, document, &error)) {
        exchange_problem(call->exchange, 422, "invalid-document", error.path, "%s", error.what);
        return;
    }
    upload_fill(upload, call, document, body, length);
    if (upload_score(upload, call, &scoring, document)) {
        upload_hand_over(call, upload);
    }
}

static void swing_write(struct json_out *out, const struct store_swing *swing)
{
    json_out_text(out, "id", swing->id);
    json_out_text(out, "student_id", swing->student_id);
    json_out_text(out, "uploaded_by", swing->uploaded_by);
    answer_id(out, "lesson_id", swing->lesson_id);
    answer_time(out, "recorded_at", swing->recorded_at);
    answer_time(out, "received_at", swing->received_at);
    answer_integer(out, "size", (int64_t)swing->document_size);
}

void swings_list(struct call *call)
{
    struct store_page page;
    struct store_swing_list list;
    struct json_out out;
    if (!call_page(call, &page)) {
        return;
    }
    const enum store_status status = store_swing_list(call->db, call->student_id, &page, call->arena, &list);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    json_out_array(&out, "swings");
    for (size_t i = 0; i < list.count; i++) {
        json_out_object(&out, NULL);
        swing_write(&out, &list.items[i]);
        json_out_end_object(&out);
    }
    json_out_end_array(&out);
    json_out_end_object(&out);
    call_link_next(call, list.more, list.count > 0 ? list.items[list.count - 1].id : NULL);
    answer_json(call, &out, 0);
}

void swings_get(struct call *call)
{
    struct store_swing swing;
    struct json_out out;
    const enum store_status status =
        store_swing_get(call->db, exchange_capture(call->exchange, 0), true, call->arena, &swing);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    swing_write(&out, &swing);
    json_out_raw(&out, "document", swing.document, swing.document_size);
    json_out_end_object(&out);
    answer_json(call, &out, 0);
}

void swings_report(struct call *call)
{
    struct store_report report;
    const enum store_status status =
        store_report_of_swing(call->db, exchange_capture(call->exchange, 0), call->arena, &report);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    call_reply_json(call, 200, report.json, report.json_size, 0, NULL);
}
