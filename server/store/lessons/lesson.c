/* Lessons and the swings that belong to them. */
#include "store/lessons/lesson.h"

#include "store/engine/query.h"

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
    query_open(&query, db, LESSON_INSERT);
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
    int64_t attachable;
    query_open(&query, db, LESSON_ATTACHABLE);
    query_text(&query, 1, lesson_id);
    query_text(&query, 2, swing_id);
    const enum store_status status = query_number(&query, &attachable);
    if (status != STORE_OK || !attachable) {
        return status == STORE_OK ? STORE_CONFLICT : status;
    }
    query_open(&query, db, LESSON_ATTACH);
    query_text(&query, 1, lesson_id);
    query_text(&query, 2, swing_id);
    return query_run_one(&query);
}

enum store_status store_lesson_get(struct store_db *db, const char *id, struct arena *arena, struct store_lesson *out)
{
    struct query query;
    query_open(&query, db, LESSON_BY_ID);
    query_text(&query, 1, id);
    return query_one(&query, arena, read_lesson, out);
}

enum store_status store_lesson_list(struct store_db *db, const char *student_id, const struct store_page *page,
                                    struct arena *arena, struct store_lesson_list *out)
{
    struct query query;
    query_open(&query, db, LESSON_LIST);
    query_text(&query, 1, student_id);
    query_page_before(&query, 2, page);
    query_page_times(&query, 4, page);
    return query_list(&query, arena, page_limit(page), read_lesson, out);
}
