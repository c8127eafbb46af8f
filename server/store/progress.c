/* Reports in time. */
#include "store/progress.h"

#include <stdlib.h>
#include <string.h>

#include "store/internal.h"

#define EACH_MAX 100

enum { SWINGS, LESSONS, STATEMENTS };
static const char *const sql[STATEMENTS] = {
    [SWINGS] = "SELECT s.id, NULL, s.recorded_at, r.json FROM swing AS s CROSS JOIN report AS r "
               "ON r.number = (SELECT max(number) FROM report WHERE swing_id = s.id) "
               "WHERE s.student_id = ?1 AND s.lesson_id IS NULL ORDER BY s.id DESC LIMIT ?2",
    [LESSONS] = "SELECT NULL, l.id, l.held_at, r.json FROM lesson AS l CROSS JOIN report AS r "
                "ON r.number = (SELECT max(number) FROM report WHERE lesson_id = l.id) "
                "WHERE l.student_id = ?1 ORDER BY l.id DESC LIMIT ?2",
};
const struct store_statements store_progress_statements = {"progress", sql, STATEMENTS};

static void read_progress(struct query *query, struct arena *arena, void *item)
{
    struct store_progress *out = item;
    *out = (struct store_progress){0};
    query_get_id(query, 0, out->swing_id, sizeof out->swing_id);
    query_get_id(query, 1, out->lesson_id, sizeof out->lesson_id);
    out->at = query_get_integer(query, 2);
    out->json = query_get_bytes(query, 3, arena, &out->json_size);
}

static enum store_status read_kind(struct store_db *db, int statement, const char *student_id, struct arena *arena,
                                   struct query_items *out)
{
    struct query query;
    query_open(&query, db, ROOM_PROGRESS, statement);
    query_text(&query, 1, student_id);
    query_integer(&query, 2, EACH_MAX);
    return query_list(&query, arena, EACH_MAX, sizeof(struct store_progress), read_progress, out);
}

static int compare(const void *left, const void *right)
{
    const struct store_progress *a = left;
    const struct store_progress *b = right;
    if (a->at != b->at) {
        return a->at < b->at ? -1 : 1;
    }
    const int order = strcmp(a->lesson_id, b->lesson_id);
    return order != 0 ? order : strcmp(a->swing_id, b->swing_id);
}

enum store_status store_progress_read(struct store_db *db, const char *student_id, struct arena *arena,
                                      struct store_progress_list *out)
{
    struct query_items swings = {0};
    struct query_items lessons = {0};
    *out = (struct store_progress_list){0};
    enum store_status status = read_kind(db, SWINGS, student_id, arena, &swings);
    if (status == STORE_OK) {
        status = read_kind(db, LESSONS, student_id, arena, &lessons);
    }
    if (status != STORE_OK || swings.count + lessons.count == 0) {
        return status;
    }
    out->items = arena_alloc(arena, (swings.count + lessons.count) * sizeof *out->items);
    if (out->items == NULL) {
        return STORE_NO_MEMORY;
    }
    if (swings.count > 0) {
        memcpy(out->items, swings.items, swings.count * sizeof *out->items);
    }
    if (lessons.count > 0) {
        memcpy(out->items + swings.count, lessons.items, lessons.count * sizeof *out->items);
    }
    out->count = swings.count + lessons.count;
    qsort(out->items, out->count, sizeof *out->items, compare);
    return STORE_OK;
}
