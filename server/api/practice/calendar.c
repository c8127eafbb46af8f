/* The calendar feed of practice days: an address that a phone's calendar reads by itself, so the token in it is all the
 * right there is. It tells drills, minutes and the drill's own cautions; nothing about the student, nothing from notes.
 */
#include <stdio.h>
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/body.h"
#include "api/people/family.h"
#include "api/practice/handlers.h"
#include "api/practice/homework_write.h"
#include "auth/token.h"
#include "store/practice/calendar.h"
#include "wire/report/calendar.h"
#include "wire/report/words.h"

#define PAST_DAYS 60    /* how far back the feed still shows practice days */
#define LENGTH_DAYS 400 /* and how far they reach at most */

struct new_feed {
    struct store_calendar calendar;
    char token[TOKEN_TEXT];
    uint8_t hash[TOKEN_HASH];
};

static enum store_status create_job(struct store_db *db, struct write *write)
{
    const struct new_feed *feed = write->data;
    answer_audit(write, "calendar.create", "calendar", feed->calendar.account_id, feed->calendar.student_id);
    return store_calendar_make(db, &feed->calendar, feed->hash);
}

void calendar_create(struct call *call)
{
    static const char *const keys[] = {"student", NULL};
    struct new_feed *feed = arena_alloc(call->arena, sizeof *feed);
    const char *student = NULL;
    struct body body;
    struct json_out out;
    if (feed == NULL) {
        answer_no_memory(call);
        return;
    }
    if (!body_begin(&body, call, keys, true)) {
        return;
    }
    tree_text(&body.in, "student", false, UUID_TEXT, &student);
    if (!body_end(&body) || !family_choose(call, student)) {
        return;
    }
    memcpy(feed->calendar.student_id, call->student_id, UUID_TEXT);
    memcpy(feed->calendar.account_id, call->principal->account_id, UUID_TEXT);
    feed->calendar.created = call->now;
    token_new(feed->token, feed->hash);
    struct write *write = write_new(call, create_job, feed);
    if (write == NULL) {
        return;
    }
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    write->location = arena_printf(call->arena, "/calendar/%s.ics", feed->token);
    json_out_text(&out, "url_path", write->location);
    json_out_end_object(&out);
    if (!answer_write(write, &out, 201)) {
        answer_no_memory(call);
        return;
    }
    call_write(write);
}

static enum store_status remove_job(struct store_db *db, struct write *write)
{
    const struct store_calendar *calendar = write->data;
    answer_audit(write, "calendar.remove", "calendar", calendar->account_id, calendar->student_id);
    return store_calendar_remove(db, calendar->account_id, calendar->student_id);
}

void calendar_remove(struct call *call)
{
    struct store_calendar *calendar = arena_alloc(call->arena, sizeof *calendar);
    if (calendar == NULL) {
        answer_no_memory(call);
        return;
    }
    if (!family_choose(call, exchange_query(call->exchange, "student"))) {
        return;
    }
    memcpy(calendar->student_id, call->student_id, UUID_TEXT);
    memcpy(calendar->account_id, call->principal->account_id, UUID_TEXT);
    struct write *write = write_new(call, remove_job, calendar);
    if (write != NULL) {
        write->status = 204;
        call_write(write);
    }
}

/* ---- the feed ---- */

/* From the day it was given to the day of looking again: what comes after it is the coach's to say. */
static void days_write(struct calendar_out *out, const struct call *call, const struct speaker *say,
                       const struct store_homework *homework, const struct drill *drill)
{
    const int64_t oldest = call->now / DAY_MS - PAST_DAYS;
    int64_t first = homework->created / DAY_MS;
    first = first < oldest ? oldest : first;
    int64_t last = homework->retest_at / DAY_MS;
    last = last > first + LENGTH_DAYS ? first + LENGTH_DAYS : last;
    const char *name = words_drill(say, drill->id, "name", drill->name);
    const char *care = words_drill(say, drill->id, "cautions", drill->cautions);
    const char *dose = words_say(say, "calendar.dose", "n", arena_printf(call->arena, "%d", homework->minutes), NULL);
    const char *told =
        dose == NULL || care == NULL || *care == '\0' ? dose : arena_printf(call->arena, "%s\n%s", dose, care);
    const bool whole = name != NULL && care != NULL && told != NULL;
    for (int64_t day = first; day <= last && whole; day++) {
        if (!calendar_practice_day(homework->sessions_per_week, (int)((day + 3) % 7))) {
            continue;
        }
        const char *uid = arena_printf(call->arena, "%lld-%s@leadside", (long long)day, homework->id);
        out->text.failed = out->text.failed || uid == NULL;
        if (uid != NULL) {
            calendar_event_add(out, &(struct calendar_event){uid, day, homework->created, name, told});
        }
    }
    out->text.failed = out->text.failed || !whole;
}

static enum store_status feed_make(struct call *call, const uint8_t hash[TOKEN_HASH], const struct speaker *say,
                                   struct calendar_out *out)
{
    struct store_calendar calendar;
    struct store_homework_list list;
    struct store_student student;
    enum store_status status = store_calendar_find(call->db, hash, &calendar);
    if (status == STORE_OK) {
        status = store_student_get(call->db, calendar.student_id, call->arena, &student);
    }
    if (status == STORE_OK) {
        status = store_homework_list(call->db, calendar.student_id, true, 0, NULL, call->arena, &list);
    }
    const struct rules_cache *rules = status == STORE_OK ? rules_borrow(call->api, call->db, call->rules_edits) : NULL;
    if (status != STORE_OK || rules == NULL) {
        return status != STORE_OK ? status : STORE_ERROR;
    }
    calendar_start(out, call->arena, words_say(say, "calendar.name", NULL));
    for (size_t i = 0; i < list.count; i++) {
        struct drill drill;
        out->text.failed = out->text.failed || homework_drill_find(call, list.items[i].drill_id, rules, &drill) == NULL;
        const bool stands_still = list.items[i].paused_at != 0 ||
                                  (!out->text.failed && homework_unworded(&list.items[i], &drill, student.pain) != 0);
        if (!out->text.failed && !stands_still) {
            days_write(out, call, say, &list.items[i], &drill);
        }
    }
    rules_return(call->api, rules);
    return STORE_OK;
}

/* The token of "TOKEN.ics"; false: answered. */
static bool feed_token(struct call *call, uint8_t hash[TOKEN_HASH])
{
    const char *name = exchange_capture(call->exchange, 0);
    const size_t length = strlen(name);
    char *token =
        length > 4 && strcmp(name + length - 4, ".ics") == 0 ? arena_strndup(call->arena, name, length - 4) : NULL;
    if (token == NULL || !token_hash(token, hash)) {
        call_problem_store(call, STORE_NOT_FOUND);
        return false;
    }
    return true;
}

void calendar_get(struct call *call)
{
    uint8_t hash[TOKEN_HASH];
    struct calendar_out out;
    size_t length = 0;
    const struct speaker say = {call->arena, words_language(exchange_header(call->exchange, "Accept-Language"))};
    if (call->db == NULL || !feed_token(call, hash)) {
        if (call->db == NULL) {
            call_problem_store(call, STORE_ERROR);
        }
        return;
    }
    enum store_status status = store_read_begin(call->db); /* of an open route */
    if (status == STORE_OK) {
        status = feed_make(call, hash, &say, &out);
        store_read_end(call->db);
    }
    const char *text = status == STORE_OK ? calendar_finish(&out, &length) : NULL;
    if (text == NULL) {
        call_problem_store(call, status == STORE_OK ? STORE_NO_MEMORY : status);
        return;
    }
    exchange_add_header(call->exchange, "Cache-Control", "no-store, private");
    exchange_add_header(call->exchange, "Content-Language", words_tag(say.language));
    exchange_add_header(call->exchange, "Vary", "Accept-Language");
    exchange_add_header(call->exchange, "Content-Disposition", "inline; filename=\"practice.ics\"");
    exchange_reply(call->exchange, 200, "text/calendar; charset=utf-8", text, length);
}
