/* A fix with all that the next coach needs to carry on. */
#include "api/practice/fix_write.h"

#include <string.h>

static void homework_item_write(struct json_out *out, const struct store_homework *homework, bool for_staff)
{
    json_out_object(out, NULL);
    json_out_text(out, "id", homework->id);
    json_out_text(out, "drill", homework->drill_id);
    json_out_text(out, "drill_name", homework->drill_name);
    if (for_staff) {
        json_out_text(out, "confirmed", homework->confirmed);
    }
    answer_integer(out, "sessions_per_week", homework->sessions_per_week);
    answer_integer(out, "minutes", homework->minutes);
    answer_integer(out, "self_check_every", homework->self_check_every);
    json_out_text(out, "assigned_by", homework->assigned_by);
    answer_time(out, "given_at", homework->created);
    answer_time(out, "retest_at", homework->retest_at);
    answer_time(out, "ended_at", homework->ended);
    answer_integer(out, "done", homework->done_count);
    answer_integer(out, "done_this_week", homework->done_since);
    answer_time(out, "last_done", homework->last_done);
    answer_time(out, "paused_at", homework->paused_at);
    json_out_end_object(out);
}

void fix_evidence_write(struct json_out *out, const struct standard *standard, const char *fault)
{
    enum fault_id id;
    const bool known = fault_parse(fault, &id) && standard->faults[id].defined;
    json_out_text(out, "evidence", known ? evidence_name(standard->faults[id].evidence) : NULL);
}

static void decision_write(struct json_out *out, const struct store_fix *fix, const struct standard *standard,
                           bool for_staff)
{
    json_out_text(out, "id", fix->id);
    json_out_text(out, "student_id", fix->student_id);
    json_out_text(out, "fault", fix->fault);
    fix_evidence_write(out, standard, fix->fault);
    json_out_text(out, "status", store_fix_status_name(fix->status));
    json_out_bool(out, "waiting", fix->status == STORE_FIX_OPEN && fix->waits);
    json_out_text(out, "opened_by", fix->opened_by);
    answer_time(out, "opened_at", fix->opened_at);
    answer_time(out, "ended_at", fix->ended_at);
    json_out_text(out, "reason", fix->reason);
    if (for_staff) {
        json_out_text(out, "overrule", fix->overrule);
        json_out_text(out, "together", fix->together);
        if (fix->conflicts == NULL) {
            json_out_null(out, "conflicts");
        } else {
            json_out_raw(out, "conflicts", fix->conflicts, strlen(fix->conflicts));
        }
    }
    answer_id(out, "from_swing", fix->baseline_swing);
    answer_id(out, "from_lesson", fix->baseline_lesson);
    answer_integer(out, "version", fix->version);
}

static void event_write(struct json_out *out, const struct store_fix_event *event)
{
    json_out_object(out, NULL);
    answer_time(out, "at", event->at);
    json_out_text(out, "account_id", event->account_id);
    json_out_text(out, "status", store_fix_status_name(event->status));
    json_out_text(out, "reason", event->reason);
    json_out_end_object(out);
}

enum store_status fix_write(struct json_out *out, struct store_db *db, struct arena *arena, const struct store_fix *fix,
                            const struct store_homework_list *homework, const struct standard *standard, bool for_staff)
{
    struct store_fix_history history;
    const enum store_status status = store_fix_history(db, fix->id, arena, &history);
    if (status != STORE_OK) {
        return status;
    }
    json_out_object(out, NULL);
    decision_write(out, fix, standard, for_staff);
    json_out_array(out, "history");
    for (size_t i = 0; i < history.count; i++) {
        event_write(out, &history.items[i]);
    }
    json_out_end_array(out);
    json_out_array(out, "homework");
    for (size_t i = 0; i < homework->count; i++) {
        if (strcmp(homework->items[i].fix_id, fix->id) == 0) {
            homework_item_write(out, &homework->items[i], for_staff);
        }
    }
    json_out_end_array(out);
    json_out_end_object(out);
    return STORE_OK;
}
