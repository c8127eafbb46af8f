/* Homework and its ticks. */
#include "store/practice/homework.h"

#include <string.h>

#include "store/engine/query.h"

static void read_homework(struct query *query, struct arena *arena, void *item)
{
    struct store_homework *out = item;
    char status[16];
    *out = (struct store_homework){0};
    query_get_id(query, 0, out->id, sizeof out->id);
    query_get_id(query, 1, out->fix_id, sizeof out->fix_id);
    query_get_id(query, 2, out->student_id, sizeof out->student_id);
    query_get_id(query, 3, out->drill_id, sizeof out->drill_id);
    out->sessions_per_week = (int)query_get_integer(query, 4);
    out->minutes = (int)query_get_integer(query, 5);
    out->self_check_every = (int)query_get_integer(query, 6);
    out->retest_at = query_get_integer(query, 7);
    out->confirmed = query_get_text(query, 8, arena);
    query_get_id(query, 9, out->assigned_by, sizeof out->assigned_by);
    out->created = query_get_integer(query, 10);
    out->ended = query_get_integer(query, 11);
    out->version = query_get_integer(query, 12);
    out->fault = query_get_text(query, 13, arena);
    query_get_id(query, 14, status, sizeof status);
    out->fix_open = strcmp(status, "open") == 0;
    out->drill_name = query_get_text(query, 15, arena);
    out->done_count = query_get_integer(query, 16);
    out->done_since = query_get_integer(query, 17);
    out->last_done = query_get_integer(query, 18);
    out->word_pain = (unsigned)query_get_integer(query, 19);
    out->paused_at = query_get_integer(query, 20);
    out->paused_area = (unsigned)query_get_integer(query, 21);
    out->paused_level = (int)query_get_integer(query, 22);
    out->resumed_at = query_get_integer(query, 23);
    query_get_id(query, 24, out->resumed_by, sizeof out->resumed_by);
    out->resumed_reason = query_get_text(query, 25, arena);
    out->fix_waits = query_get_integer(query, 26) != 0;
}

enum store_status store_homework_insert(struct store_db *db, const struct store_homework *homework)
{
    struct query query;
    query_open(&query, db, HOMEWORK_INSERT);
    query_text(&query, 1, homework->id);
    query_text(&query, 2, homework->fix_id);
    query_text(&query, 3, homework->student_id);
    query_text(&query, 4, homework->drill_id);
    query_integer(&query, 5, homework->sessions_per_week);
    query_integer(&query, 6, homework->minutes);
    query_integer(&query, 7, homework->self_check_every);
    query_integer(&query, 8, homework->retest_at);
    query_text(&query, 9, homework->confirmed);
    query_text(&query, 10, homework->assigned_by);
    query_integer(&query, 11, homework->created);
    query_integer(&query, 12, homework->word_pain);
    return query_run_one(&query);
}

enum store_status store_homework_get(struct store_db *db, const char *id, int64_t since, struct arena *arena,
                                     struct store_homework *out)
{
    struct query query;
    query_open(&query, db, HOMEWORK_BY_ID);
    query_text(&query, 1, id);
    query_integer(&query, 2, since);
    return query_one(&query, arena, read_homework, out);
}

enum store_status store_homework_list(struct store_db *db, const char *student_id, bool current, int64_t since,
                                      const struct store_page *page, struct arena *arena,
                                      struct store_homework_list *out)
{
    struct query query;
    char least[UUID_TEXT];
    query_open(&query, db, current ? HOMEWORK_LIST_CURRENT : HOMEWORK_LIST);
    query_text(&query, 1, student_id);
    query_integer(&query, 2, since);
    query_integer(&query, 3, STORE_PAGE_MAX);
    query_page_since(&query, 4, page);
    uuid7_least(page ? page->updated_since : 0, least);
    query_text(&query, 5, least);
    return query_list(&query, arena, STORE_PAGE_MAX, read_homework, out);
}

enum store_status store_homework_end(struct store_db *db, const char *id, int64_t version, int64_t now)
{
    struct query query;
    query_open(&query, db, HOMEWORK_END);
    query_text(&query, 1, id);
    query_time(&query, 2, now);
    query_integer(&query, 3, version);
    return query_run_versioned(&query, HOMEWORK_EXISTS, id);
}

enum store_status store_homework_pause(struct store_db *db, const char *id, int64_t now, unsigned area, int level)
{
    struct query query;
    query_open(&query, db, HOMEWORK_PAUSE);
    query_text(&query, 1, id);
    query_integer(&query, 2, now);
    query_integer(&query, 3, area);
    query_integer(&query, 4, level);
    return query_run(&query);
}

enum store_status store_homework_resume(struct store_db *db, const struct store_homework *homework)
{
    struct query query;
    query_open(&query, db, HOMEWORK_RESUME);
    query_text(&query, 1, homework->id);
    query_integer(&query, 2, homework->resumed_at);
    query_text(&query, 3, homework->resumed_by);
    query_text(&query, 4, homework->resumed_reason);
    query_integer(&query, 5, homework->word_pain);
    query_integer(&query, 6, homework->version);
    return query_run_versioned(&query, HOMEWORK_EXISTS, homework->id);
}

enum store_status store_homework_pain_before(struct store_db *db, const struct store_homework *homework, unsigned area,
                                             int64_t at, int *out)
{
    struct query query;
    *out = -1;
    query_open(&query, db, HOMEWORK_PAIN_BEFORE);
    query_text(&query, 1, homework->id);
    query_text(&query, 2, homework->student_id);
    query_integer(&query, 3, area);
    query_integer(&query, 4, at);
    const enum store_status status = query_row(&query);
    for (int column = 0; status == STORE_OK && column < 2; column++) {
        const int level = query_is_null(&query, column) ? -1 : (int)query_get_integer(&query, column);
        *out = level >= 0 && (*out < 0 || level < *out) ? level : *out;
    }
    query_close(&query);
    return status;
}

/* NULL unless it was said. */
static void query_said(struct query *query, int at, bool said, int value)
{
    if (said) {
        query_integer(query, at, value);
    } else {
        query_text(query, at, NULL);
    }
}

enum store_status store_homework_done_insert(struct store_db *db, const struct store_homework_done *done)
{
    struct query query;
    query_open(&query, db, HOMEWORK_DONE_INSERT);
    query_text(&query, 1, done->id);
    query_text(&query, 2, done->homework_id);
    query_integer(&query, 3, done->done_at);
    query_id(&query, 4, done->account_id);
    query_text(&query, 5, done->comment);
    query_said(&query, 6, done->passed_of > 0, done->passed);
    query_said(&query, 7, done->passed_of > 0, done->passed_of);
    query_said(&query, 8, done->pain_area != 0, (int)done->pain_area);
    query_said(&query, 9, done->pain_area != 0, done->pain_level);
    return query_run(&query);
}

static void read_done(struct query *query, struct arena *arena, void *item)
{
    struct store_homework_done *out = item;
    *out = (struct store_homework_done){0};
    query_get_id(query, 0, out->id, sizeof out->id);
    query_get_id(query, 1, out->homework_id, sizeof out->homework_id);
    out->done_at = query_get_integer(query, 2);
    query_get_id(query, 3, out->account_id, sizeof out->account_id);
    out->comment = query_get_text(query, 4, arena);
    out->passed = (int)query_get_integer(query, 5);
    out->passed_of = (int)query_get_integer(query, 6);
    out->pain_area = (unsigned)query_get_integer(query, 7);
    out->pain_level = (int)query_get_integer(query, 8);
}

enum store_status store_homework_done_list(struct store_db *db, const char *homework_id, const struct store_page *page,
                                           struct arena *arena, struct store_homework_done_list *out)
{
    struct query query;
    query_open(&query, db, HOMEWORK_DONE_LIST);
    query_text(&query, 1, homework_id);
    query_page_before(&query, 2, page);
    return query_list(&query, arena, page_limit(page), read_done, out);
}

enum store_status store_homework_done_get(struct store_db *db, const char *id, struct arena *arena,
                                          struct store_homework_done *out)
{
    struct query query;
    query_open(&query, db, HOMEWORK_DONE_BY_ID);
    query_text(&query, 1, id);
    const enum store_status status = query_row(&query);
    if (status == STORE_OK) {
        read_done(&query, arena, out);
    }
    query_close(&query);
    return status;
}

enum store_status store_homework_done_remove(struct store_db *db, const struct store_homework_done *done)
{
    struct query query;
    query_open(&query, db, HOMEWORK_DONE_FORGET);
    query_text(&query, 1, done->account_id);
    query_text(&query, 2, done->id);
    const enum store_status status = query_run(&query);
    if (status != STORE_OK) {
        return status;
    }
    query_open(&query, db, HOMEWORK_DONE_REMOVE);
    query_text(&query, 1, done->id);
    return query_run_one(&query);
}
