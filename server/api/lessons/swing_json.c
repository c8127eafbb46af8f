/* See swing_json.h. */
#include "api/lessons/swing_json.h"

static void note_write(struct json_out *out, const char *key, const struct store_edit_note *note, bool to_coach)
{
    if (note->at == 0) {
        json_out_null(out, key);
        return;
    }
    json_out_object(out, key);
    answer_time(out, "at", note->at);
    json_out_text(out, "by", note->by);
    if (to_coach) {
        json_out_text(out, "reason", note->reason);
    }
    json_out_end_object(out);
}

void swing_json_write(struct json_out *out, const struct store_swing *swing, enum store_role reader)
{
    const bool to_coach = reader == STORE_HEAD || reader == STORE_COACH;
    json_out_text(out, "id", swing->id);
    json_out_text(out, "student_id", swing->student_id);
    json_out_text(out, "uploaded_by", swing->uploaded_by);
    answer_id(out, "lesson_id", swing->lesson_id);
    answer_time(out, "recorded_at", swing->recorded_at);
    answer_time(out, "received_at", swing->received_at);
    json_out_text(out, "media_type", swing->media_type);
    answer_integer(out, "size", (int64_t)swing->document_size);
    answer_integer(out, "version", swing->version);
    answer_integer(out, "revision", swing->revision);
    note_write(out, "revised", &swing->revised, to_coach);
    note_write(out, "voided", &swing->voided, to_coach);
    note_write(out, "moved", &swing->moved, to_coach);
}
