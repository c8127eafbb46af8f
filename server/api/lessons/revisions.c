/* The documents that a swing has had, each with the report that was made of it. */
#include <stdio.h>
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/stream.h"
#include "api/lessons/handlers.h"
#include "store/lessons/edit.h"

/* All of them, the present one first. */
struct revisions {
    struct store_swing swing;
    struct store_revision present;
    struct store_revision_list former;
};

/* False: answered. */
static bool revisions_find(struct call *call, struct revisions *out)
{
    struct store_report report;
    const char *id = exchange_capture(call->exchange, 0);
    struct store_swing *swing = &out->swing;
    enum store_status status = store_swing_get(call->db, id, false, call->arena, swing);
    if (status == STORE_OK) {
        status = store_report_of_swing(call->db, id, call->arena, &report);
    }
    if (status == STORE_OK) {
        status = store_revision_list(call->db, id, call->arena, &out->former);
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return false;
    }
    const bool first = swing->revised.at == 0;
    out->present = (struct store_revision){.number = swing->revision,
                                           .created = first ? swing->received_at : swing->revised.at,
                                           .reason = swing->revised.reason,
                                           .document_size = swing->document_size};
    memcpy(out->present.made_by, first ? swing->uploaded_by : swing->revised.by, UUID_TEXT);
    memcpy(out->present.report_id, report.id, UUID_TEXT);
    return true;
}

/* Why it was corrected is said between coaches. */
static void revision_write(struct json_out *out, const struct store_revision *revision, enum store_role reader)
{
    answer_integer(out, "number", revision->number);
    json_out_text(out, "made_by", revision->made_by);
    answer_time(out, "created", revision->created);
    if (reader == STORE_HEAD || reader == STORE_COACH) {
        json_out_text(out, "reason", revision->reason);
    }
    answer_id(out, "report_id", revision->report_id);
    answer_integer(out, "size", (int64_t)revision->document_size);
}

static void revision_item(struct json_out *out, const struct store_revision *revision, enum store_role reader)
{
    json_out_object(out, NULL);
    revision_write(out, revision, reader);
    json_out_end_object(out);
}

void revisions_list(struct call *call)
{
    struct revisions all;
    struct json_out out;
    if (!revisions_find(call, &all)) {
        return;
    }
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    json_out_array(&out, "revisions");
    revision_item(&out, &all.present, call->principal->role);
    for (size_t i = 0; i < all.former.count; i++) {
        revision_item(&out, &all.former.items[i], call->principal->role);
    }
    json_out_end_array(&out);
    json_out_end_object(&out);
    answer_json(call, &out, 0);
}

/* With its report while that is there; the document is sent piece by piece, out of the file. */
static void revision_reply(struct call *call, const struct store_revision *revision, const struct store_swing *swing)
{
    size_t length;
    struct json_out out;
    struct store_report report = {.json = NULL};
    enum store_status status = STORE_OK;
    if (revision->report_id[0] != '\0') {
        status = store_report_get(call->db, revision->report_id, call->arena, &report);
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    revision_write(&out, revision, call->principal->role);
    if (report.json == NULL) {
        json_out_null(&out, "report");
    } else {
        json_out_raw(&out, "report", report.json, report.json_size);
    }
    if (swing->reading != NULL) { /* a marker file: its bytes are at …/file */
        json_out_null(&out, "document");
        json_out_end_object(&out);
        answer_json(call, &out, 0);
        return;
    }
    json_out_raw(&out, "document", "", 0);
    const char *head = json_out_finish(&out, &length);
    if (head == NULL) {
        answer_no_memory(call);
        return;
    }
    const struct store_blob blob = revision->id[0] == '\0' ? store_swing_blob(swing) : store_revision_blob(revision);
    stream_reply(call, "application/json", head, &blob, "}");
}

void revisions_get(struct call *call)
{
    char number[24];
    struct revisions all;
    const char *wanted = exchange_capture(call->exchange, 1);
    if (!revisions_find(call, &all)) {
        return;
    }
    for (size_t i = 0; i <= all.former.count; i++) {
        const struct store_revision *revision = i == 0 ? &all.present : &all.former.items[i - 1];
        (void)snprintf(number, sizeof number, "%lld", (long long)revision->number);
        if (strcmp(number, wanted) == 0) {
            revision_reply(call, revision, &all.swing);
            return;
        }
    }
    call_problem_store(call, STORE_NOT_FOUND);
}
