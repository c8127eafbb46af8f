/* Homework and its ticks. */
#include "store/homework.h"

#include <string.h>

#include "store/internal.h"

/* ?2 = since when to count; the joins are in the order written: one student's few rows first. */
#define COLUMNS                                                                                                        \
    "SELECT h.id, h.fix_id, h.student_id, h.drill_id, h.sessions_per_week, h.minutes, h.self_check_every, "            \
    "h.retest_at, h.confirmed, h.assigned_by, h.created, h.ended, h.version, f.fault, f.status, d.name, "              \
    "(SELECT count(*) FROM homework_done WHERE homework_id = h.id), "                                                  \
    "(SELECT count(*) FROM homework_done WHERE homework_id = h.id AND done_at >= ?2), "                                \
    "(SELECT max(done_at) FROM homework_done WHERE homework_id = h.id) "                                               \
    "FROM homework AS h CROSS JOIN fix AS f ON f.id = h.fix_id CROSS JOIN drill AS d ON d.id = h.drill_id "

enum { INSERT, GET, LIST, LIST_CURRENT, END, EXISTS, DONE_INSERT, DONE_LIST, STATEMENTS };
static const char *const sql[STATEMENTS] = {
    [INSERT] = "INSERT INTO homework (id, fix_id, student_id, drill_id, sessions_per_week, minutes, self_check_every, "
               "retest_at, confirmed, assigned_by, created) SELECT ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11 "
               "FROM fix WHERE id = ?2 AND student_id = ?3",
    [GET] = COLUMNS "WHERE h.id = ?1",
    [LIST] = COLUMNS "WHERE h.student_id = ?1 ORDER BY h.id DESC LIMIT ?3",
    [LIST_CURRENT] = COLUMNS "WHERE h.student_id = ?1 AND h.ended IS NULL AND f.status = 'open' ORDER BY h.id LIMIT ?3",
    [END] = "UPDATE homework SET ended = ?2, version = version + 1 WHERE id = ?1 AND version = ?3",
    [EXISTS] = "SELECT 1 FROM homework WHERE id = ?1",
    [DONE_INSERT] =
        "INSERT INTO homework_done (id, homework_id, done_at, account_id, comment) VALUES (?1, ?2, ?3, ?4, ?5)",
    [DONE_LIST] = ("SELECT id, homework_id, done_at, account_id, comment FROM homework_done "
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
}

enum store_status store_homework_insert(struct store_db *db, const struct store_homework *homework)
{
    struct query query;
    query_open(&query, db, ROOM_HOMEWORK, INSERT);
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
    return query_run_one(&query);
}

enum store_status store_homework_get(struct store_db *db, const char *id, int64_t since, struct arena *arena,
                                     struct store_homework *out)
{
    struct query query;
    query_open(&query, db, ROOM_HOMEWORK, GET);
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
    query_open(&query, db, ROOM_HOMEWORK, current ? LIST_CURRENT : LIST);
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
    query_open(&query, db, ROOM_HOMEWORK, END);
    query_text(&query, 1, id);
    query_time(&query, 2, now);
    query_integer(&query, 3, version);
    return query_run_versioned(&query, ROOM_HOMEWORK, EXISTS, id);
}

enum store_status store_homework_done_insert(struct store_db *db, const struct store_homework_done *done)
{
    struct query query;
    query_open(&query, db, ROOM_HOMEWORK, DONE_INSERT);
    query_text(&query, 1, done->id);
    query_text(&query, 2, done->homework_id);
    query_integer(&query, 3, done->done_at);
    query_id(&query, 4, done->account_id);
    query_text(&query, 5, done->comment);
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
}

enum store_status store_homework_done_list(struct store_db *db, const char *homework_id, const struct store_page *page,
                                           struct arena *arena, struct store_homework_done_list *out)
{
    struct query query;
    struct query_items items;
    query_open(&query, db, ROOM_HOMEWORK, DONE_LIST);
    query_text(&query, 1, homework_id);
    query_text(&query, 2, page_before(page));
    query_integer(&query, 3, page_limit(page) + 1);
    const enum store_status status =
        query_list(&query, arena, page_limit(page), sizeof(struct store_homework_done), read_done, &items);
    *out = (struct store_homework_done_list){items.items, items.count, items.more};
    return status;
}
