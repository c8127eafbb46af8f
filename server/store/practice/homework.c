/* Homework and its ticks. */
#include "store/practice/homework.h"

#include <string.h>

#include "store/engine/internal.h"

/* ?2 = since when to count; the joins are in the order written: one student's few rows first. */
#define COLUMNS                                                                                                        \
    "SELECT h.id, h.fix_id, h.student_id, h.drill_id, h.sessions_per_week, h.minutes, h.self_check_every, "            \
    "h.retest_at, h.confirmed, h.assigned_by, h.created, coalesce(h.ended, f.ended_at), h.version, f.fault, "          \
    "f.status, d.name, "                                                                                               \
    "(SELECT count(*) FROM homework_done WHERE homework_id = h.id), "                                                  \
    "(SELECT count(*) FROM homework_done WHERE homework_id = h.id AND done_at >= ?2), "                                \
    "(SELECT max(done_at) FROM homework_done WHERE homework_id = h.id), h.word_pain, h.paused_at, h.paused_area, "     \
    "h.paused_level, h.resumed_at, h.resumed_by, h.resumed_reason, f.waits "                                           \
    "FROM homework AS h CROSS JOIN fix AS f ON f.id = h.fix_id CROSS JOIN drill AS d ON d.id = h.drill_id "

/* The newest word of pain among ticks d that the condition picks. */
#define LAST_PAIN(condition)                                                                                           \
    "(SELECT d.pain_level FROM homework AS h CROSS JOIN homework_done AS d ON d.homework_id = h.id "                   \
    "WHERE " condition " AND d.done_at <= ?4 AND d.pain_level IS NOT NULL ORDER BY d.done_at DESC, d.id DESC LIMIT 1)"

enum { INSERT, GET, LIST, LIST_CURRENT, END, PAUSE, RESUME, PAIN_BEFORE, EXISTS, DONE_INSERT, DONE_LIST, STATEMENTS };
static const char *const sql[STATEMENTS] = {
    [INSERT] = "INSERT INTO homework (id, fix_id, student_id, drill_id, sessions_per_week, minutes, self_check_every, "
               "retest_at, confirmed, assigned_by, created, word_pain) "
               "SELECT ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12 "
               "FROM fix WHERE id = ?2 AND student_id = ?3",
    [GET] = COLUMNS "WHERE h.id = ?1",
    [LIST] = COLUMNS "WHERE h.student_id = ?1 ORDER BY h.id DESC LIMIT ?3",
    [LIST_CURRENT] = COLUMNS "WHERE h.student_id = ?1 AND h.ended IS NULL AND f.status = 'open' AND f.waits = 0 "
                             "ORDER BY h.id LIMIT ?3",
    [END] = "UPDATE homework SET ended = ?2, version = version + 1 WHERE id = ?1 AND version = ?3",
    [PAUSE] = "UPDATE homework SET paused_at = ?2, paused_area = ?3, paused_level = ?4, version = version + 1 "
              "WHERE id = ?1 AND (paused_at IS NULL OR paused_level < ?4)",
    [RESUME] = "UPDATE homework SET paused_at = NULL, paused_area = NULL, paused_level = NULL, resumed_at = ?2, "
               "resumed_by = ?3, resumed_reason = ?4, word_pain = ?5, version = version + 1 "
               "WHERE id = ?1 AND version = ?6",
    [PAIN_BEFORE] = "SELECT " LAST_PAIN("h.id = ?1") ", " LAST_PAIN("h.student_id = ?2 AND d.pain_area = ?3"),
    [EXISTS] = "SELECT 1 FROM homework WHERE id = ?1",
    [DONE_INSERT] = "INSERT INTO homework_done (id, homework_id, done_at, account_id, comment, passed, passed_of, "
                    "pain_area, pain_level) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
    [DONE_LIST] = ("SELECT id, homework_id, done_at, account_id, comment, passed, passed_of, pain_area, pain_level "
                   "FROM homework_done "
                   "WHERE homework_id = ?1 AND id < ?2 ORDER BY id DESC LIMIT ?3"),
};
const struct store_statements store_homework_statements = {"homework", sql, STATEMENTS};

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
    query_open(&query, db, STATEMENTS_HOMEWORK, INSERT);
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
    query_open(&query, db, STATEMENTS_HOMEWORK, GET);
    query_text(&query, 1, id);
    query_integer(&query, 2, since);
    enum store_status status = query_row(&query);
    if (status == STORE_OK) {
        read_homework(&query, arena, out);
        status = query.status;
    }
    query_close(&query);
    return status;
}

enum store_status store_homework_list(struct store_db *db, const char *student_id, bool current, int64_t since,
                                      struct arena *arena, struct store_homework_list *out)
{
    struct query query;
    struct query_items items;
    query_open(&query, db, STATEMENTS_HOMEWORK, current ? LIST_CURRENT : LIST);
    query_text(&query, 1, student_id);
    query_integer(&query, 2, since);
    query_integer(&query, 3, STORE_PAGE_MAX);
    const enum store_status status =
        query_list(&query, arena, STORE_PAGE_MAX, sizeof(struct store_homework), read_homework, &items);
    *out = (struct store_homework_list){items.items, items.count};
    return status;
}

enum store_status store_homework_end(struct store_db *db, const char *id, int64_t version, int64_t now)
{
    struct query query;
    query_open(&query, db, STATEMENTS_HOMEWORK, END);
    query_text(&query, 1, id);
    query_time(&query, 2, now);
    query_integer(&query, 3, version);
    return query_run_versioned(&query, STATEMENTS_HOMEWORK, EXISTS, id);
}

enum store_status store_homework_pause(struct store_db *db, const char *id, int64_t now, unsigned area, int level)
{
    struct query query;
    query_open(&query, db, STATEMENTS_HOMEWORK, PAUSE);
    query_text(&query, 1, id);
    query_integer(&query, 2, now);
    query_integer(&query, 3, area);
    query_integer(&query, 4, level);
    return query_run(&query);
}

enum store_status store_homework_resume(struct store_db *db, const struct store_homework *homework)
{
    struct query query;
    query_open(&query, db, STATEMENTS_HOMEWORK, RESUME);
    query_text(&query, 1, homework->id);
    query_integer(&query, 2, homework->resumed_at);
    query_text(&query, 3, homework->resumed_by);
    query_text(&query, 4, homework->resumed_reason);
    query_integer(&query, 5, homework->word_pain);
    query_integer(&query, 6, homework->version);
    return query_run_versioned(&query, STATEMENTS_HOMEWORK, EXISTS, homework->id);
}

enum store_status store_homework_pain_before(struct store_db *db, const struct store_homework *homework, unsigned area,
                                             int64_t at, int *out)
{
    struct query query;
    *out = -1;
    query_open(&query, db, STATEMENTS_HOMEWORK, PAIN_BEFORE);
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
    query_open(&query, db, STATEMENTS_HOMEWORK, DONE_INSERT);
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
    struct query_items items;
    query_open(&query, db, STATEMENTS_HOMEWORK, DONE_LIST);
    query_text(&query, 1, homework_id);
    query_text(&query, 2, page_before(page));
    query_integer(&query, 3, page_limit(page) + 1);
    const enum store_status status =
        query_list(&query, arena, page_limit(page), sizeof(struct store_homework_done), read_done, &items);
    *out = (struct store_homework_done_list){items.items, items.count, items.more};
    return status;
}
