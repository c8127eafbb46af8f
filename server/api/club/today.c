/* Today's students in one answer: whom the tablet names, then whoever had a swing or a lesson today, each with the open
 * fix, the last note and what waits. */
#include "store/club/today.h"

#include <string.h>

#include "api/club/handlers.h"
#include "api/frame/answer.h"
#include "api/people/student_json.h"
#include "auth/rights.h"
#include "base/ids.h"

struct today {
    struct call *call;
    struct json_out out;
    char ids[STORE_TODAY_MAX][UUID_TEXT]; /* in the answer already */
    int count;
};

static void student_write(struct json_out *out, const struct store_today *student)
{
    json_out_object(out, NULL);
    json_out_text(out, "id", student->id);
    json_out_text(out, "name", student->name);
    json_out_text(out, "hand", student->hand);
    json_out_text(out, "sex", student->sex);
    json_out_bool(out, "junior", student->junior);
    student_pain(out, student->pain);
    json_out_text(out, "pain_note", student->pain_note);
    if (student->fix_id[0] == '\0') {
        json_out_null(out, "fix");
    } else {
        json_out_object(out, "fix");
        json_out_text(out, "id", student->fix_id);
        json_out_text(out, "fault", student->fault);
        answer_time(out, "opened_at", student->opened_at);
        answer_time(out, "retest_at", student->retest_at);
        json_out_end_object(out);
    }
    answer_integer(out, "open_fixes", student->open_fixes);
    if (student->note_id[0] == '\0') {
        json_out_null(out, "note");
    } else {
        json_out_object(out, "note");
        json_out_text(out, "id", student->note_id);
        json_out_text(out, "text", student->note);
        answer_time(out, "created", student->noted_at);
        json_out_text(out, "author_name", student->note_by);
        json_out_end_object(out);
    }
    if (student->handover_id[0] == '\0') {
        json_out_null(out, "handover");
    } else {
        json_out_object(out, "handover");
        json_out_text(out, "id", student->handover_id);
        json_out_text(out, "note", student->handed_note);
        answer_time(out, "created", student->handed_at);
        json_out_text(out, "from_name", student->handed_by);
        json_out_end_object(out);
    }
    answer_integer(out, "waiting", student->waiting);
    json_out_bool(out, "urgent", student->urgent > 0);
    json_out_text(out, "still", student->still);
    answer_time(out, "last_swing", student->last_swing);
    json_out_end_object(out);
}

/* One more, once: one who is nobody's here, or archived, is left out. */
static enum store_status add(struct today *today, const char *id)
{
    struct call *call = today->call;
    const struct principal *who = call->principal;
    struct store_today student;
    for (int i = 0; i < today->count; i++) {
        if (strcmp(today->ids[i], id) == 0) {
            return STORE_OK;
        }
    }
    if (today->count == STORE_TODAY_MAX) {
        return STORE_OK;
    }
    enum rights_membership membership;
    enum store_status status = rights_find_membership(call->db, who, id, &membership);
    if (status != STORE_OK || membership == RIGHTS_STRANGER) {
        return status;
    }
    status = store_today_student(call->db, who->account_id, id, call->now, call->arena, &student);
    if (status == STORE_OK) {
        memcpy(today->ids[today->count++], id, UUID_TEXT);
        student_write(&today->out, &student);
    }
    return status == STORE_NOT_FOUND ? STORE_OK : status;
}

/* Ids with commas between. False: one of them is none, or too many are named. */
static bool ids_read(const char *text, char ids[STORE_TODAY_MAX][UUID_TEXT], int *count)
{
    while (text != NULL && *text != '\0') {
        const size_t length = strcspn(text, ",");
        if (length != UUID_TEXT - 1 || *count == STORE_TODAY_MAX) {
            return false;
        }
        memcpy(ids[*count], text, length);
        ids[*count][length] = '\0';
        if (!uuid_valid(ids[(*count)++])) {
            return false;
        }
        text += length + (text[length] == ',');
    }
    return true;
}

void today_list(struct call *call)
{
    struct today *today = arena_alloc(call->arena, sizeof *today);
    struct store_id_list active;
    const char *since_text = exchange_query(call->exchange, "since");
    int64_t since = call->now - call->now % DAY_MS;
    char named[STORE_TODAY_MAX][UUID_TEXT];
    int count = 0;
    if (today == NULL) {
        answer_no_memory(call);
        return;
    }
    if (since_text != NULL && !time_parse(since_text, &since)) {
        exchange_problem(call->exchange, 422, "invalid", "since", "since: must be a time, as 2026-05-02T09:00:00Z");
        return;
    }
    if (!ids_read(exchange_query(call->exchange, "students"), named, &count)) {
        exchange_problem(call->exchange, 422, "invalid", "students", "students: at most 50 ids, a comma between");
        return;
    }
    today->call = call;
    json_out_start(&today->out, call->arena);
    json_out_object(&today->out, NULL);
    json_out_array(&today->out, "students");
    enum store_status status = store_today_active(call->db, call->principal->account_id, since, call->arena, &active);
    for (int i = 0; status == STORE_OK && i < count; i++) {
        status = add(today, named[i]);
    }
    for (size_t i = 0; status == STORE_OK && i < active.count; i++) {
        status = add(today, active.items[i]);
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    json_out_end_array(&today->out);
    json_out_end_object(&today->out);
    answer_json(call, &today->out, 0);
}
