/* What the head sees of the whole club: every coach, and page by page every student. */
#include "store/club/overview.h"

#include <string.h>

#include "api/club/handlers.h"
#include "api/frame/answer.h"
#include "api/people/student_json.h"
#include "api/practice/homework_write.h"

static void coach_write(struct json_out *out, const struct store_coach_row *row)
{
    json_out_object(out, NULL);
    json_out_text(out, "account_id", row->account_id);
    json_out_text(out, "name", row->name);
    answer_integer(out, "students", row->students);
    answer_integer(out, "students_without_fix", row->students_without_fix);
    answer_integer(out, "homework_done_this_week", row->homework_done);
    answer_time(out, "last_seen", row->last_seen);
    json_out_bool(out, "disabled", row->disabled);
    json_out_end_object(out);
}

/* Words with commas between, as an array. */
static void list_write(struct json_out *out, const char *key, const char *text)
{
    char word[UUID_TEXT];
    json_out_array(out, key);
    while (text != NULL && *text != '\0') {
        size_t length = strcspn(text, ",");
        if (length < sizeof word) {
            memcpy(word, text, length);
            word[length] = '\0';
            json_out_text(out, NULL, word);
        }
        text += length + (text[length] == ',');
    }
    json_out_end_array(out);
}

/* This year, or with the year of birth alone when it is over. */
static bool comes_of_age(const struct store_student_row *row, int64_t now)
{
    char first[TIME_TEXT];
    char then[TIME_TEXT];
    int64_t start = 0;
    int64_t end = 0;
    if (row->adult_from == 0 || row->adult_from >= STORE_ADULT_UNKNOWN) {
        return false;
    }
    time_format(now, first);
    memcpy(first + 4, "-01-01T00:00:00.000Z", sizeof first - 4);
    (void)time_parse(first, &start);
    /* 367 days on is in the next year, whatever the year; its first day ends this one */
    time_format(start + 367 * (int64_t)86400000, then);
    memcpy(then + 4, "-01-01T00:00:00.000Z", sizeof then - 4);
    (void)time_parse(then, &end);
    return row->adult_from >= start && row->adult_from <= end;
}

static void student_write(struct json_out *out, const struct store_student_row *row, int64_t now)
{
    json_out_object(out, NULL);
    json_out_text(out, "student_id", row->student_id);
    json_out_text(out, "name", row->name);
    json_out_text(out, "member_number", row->member_number);
    answer_integer(out, "coaches", row->team);
    list_write(out, "team", row->team_ids);
    list_write(out, "faults", row->faults);
    answer_integer(out, "open_fixes", row->open_fixes);
    answer_integer(out, "waiting_fixes", row->waiting_fixes);
    answer_integer(out, "paused_drills", row->paused);
    student_pain(out, row->pain);
    answer_time(out, "oldest_fix", row->oldest_fix);
    answer_time(out, "last_swing", row->last_swing);
    answer_time(out, "last_lesson", row->last_lesson);
    answer_time(out, "last_done", row->last_done);
    answer_time(out, "retest_at", row->retest_at);
    student_comes_of_age(out, comes_of_age(row, now) ? row->adult_from : 0);
    json_out_bool(out, "retest_due", row->retest_at != 0 && row->retest_at <= now);
    json_out_end_object(out);
}

void overview_get(struct call *call)
{
    struct store_page page;
    struct store_coach_rows coaches;
    struct store_student_rows students;
    struct json_out out;
    if (!call_page(call, &page)) {
        return;
    }
    enum store_status status = store_overview_coaches(call->db, homework_week_start(call->now), call->arena, &coaches);
    if (status == STORE_OK) {
        status = store_overview_students(call->db, &page, call->arena, &students);
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    json_out_array(&out, "coaches");
    for (size_t i = 0; i < coaches.count; i++) {
        coach_write(&out, &coaches.items[i]);
    }
    json_out_end_array(&out);
    json_out_array(&out, "students");
    for (size_t i = 0; i < students.count; i++) {
        student_write(&out, &students.items[i], call->now);
    }
    answer_list_end(call, &out, students.more ? students.items[students.count - 1].student_id : NULL);
}
