/* Lessons and the swings that belong to them. */
#include "store/lessons/lesson.h"

#include "store/engine/internal.h"

#define COLUMNS                                                                                                        \
    "SELECT l.id, l.student_id, l.coach, l.held_at, l.created, l.note, l.version, "                                    \
    "(SELECT count(*) FROM swing WHERE lesson_id = l.id) FROM lesson AS l "

enum { INSERT, ATTACH, ATTACHABLE, GET, LIST, STATEMENTS };
static const char *const sql[STATEMENTS] = {
    [INSERT] = "INSERT INTO lesson (id, student_id, coach, held_at, created, note) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
    [ATTACH] = "UPDATE swing SET lesson_id = ?1 WHERE id = ?2",
    [ATTACHABLE] = "SELECT s.lesson_id IS NULL OR s.lesson_id = ?1 FROM swing AS s CROSS JOIN lesson AS l ON l.id = ?1 "
                   "WHERE s.id = ?2 AND s.student_id = l.student_id",
    [GET] = COLUMNS "WHERE l.id = ?1",
    [LIST] = COLUMNS "WHERE l.student_id = ?1 AND l.id < ?2 ORDER BY l.id DESC LIMIT ?3",
};
const struct store_statements store_lesson_statements = {"lesson", sql, STATEMENTS};

static void read_lesson(struct query *query, struct arena *arena, void *item)
{
    struct store_lesson *out = item;
    *out = (struct store_lesson){0};
    query_get_id(query, 0, out->id, sizeof out->id);
    query_get_id(query, 1, out->student_id, sizeof out->student_id);
    query_get_id(query, 2, out->coach, sizeof out->coach);
    out->held_at = query_get_integer(query, 3);
    out->created = query_get_integer(query, 4);
    out->note = query_get_text(query, 5, arena);
    out->version = query_get_integer(query, 6);
    out->swings = query_get_integer(query, 7);
}

enum store_status store_lesson_insert(struct store_db *db, const struct store_lesson *lesson)
{
    struct query query;
    query_open(&query, db, STATEMENTS_LESSON, INSERT);
    query_text(&query, 1, lesson->id);
    query_text(&query, 2, lesson->student_id);
    query_text(&query, 3, lesson->coach);
    query_integer(&query, 4, lesson->held_at);
    query_integer(&query, 5, lesson->created);
    query_text(&query, 6, lesson->note);
    return query_run(&query);
}

enum store_status store_lesson_attach(struct store_db *db, const char *lesson_id, const char *swing_id)
{
    struct query query;
    query_open(&query, db, STATEMENTS_LESSON, ATTACHABLE);
    query_text(&query, 1, lesson_id);
    query_text(&query, 2, swing_id);
    enum store_status status = query_row(&query);
    if (status == STORE_OK && query_get_integer(&query, 0) == 0) {
        status = STORE_CONFLICT;
    }
    query_close(&query);
    if (status != STORE_OK) {
        return status;
    }
    query_open(&query, db, STATEMENTS_LESSON, ATTACH);
    query_text(&query, 1, lesson_id);
    query_text(&query, 2, swing_id);
    return query_run_one(&query);
}

enum store_status store_lesson_get(struct store_db *db, const char *id, struct arena *arena, struct store_lesson *out)
{
    struct query query;
    query_open(&query, db, STATEMENTS_LESSON, GET);
    query_text(&query, 1, id);
    enum store_status status = query_row(&query);
    if (status == STORE_OK) {
        read_lesson(&query, arena, out);
        status = query.status;
    }
    query_close(&query);
    return status;
}

enum store_status store_lesson_list(struct store_db *db, const char *student_id, const struct store_page *page,
                                    struct arena *arena, struct store_lesson_list *out)
{
    struct query query;
    struct query_items items;
    query_open(&query, db, STATEMENTS_LESSON, LIST);
    query_text(&query, 1, student_id);
    query_text(&query, 2, page_before(page));
    query_integer(&query, 3, page_limit(page) + 1);
    const enum store_status status =
        query_list(&query, arena, page_limit(page), sizeof(struct store_lesson), read_lesson, &items);
    *out = (struct store_lesson_list){items.items, items.count, items.more};
    return status;
}
