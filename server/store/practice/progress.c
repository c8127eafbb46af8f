/* Reports in time. */
#include "store/practice/progress.h"

#include <stdlib.h>
#include <string.h>

#include "store/engine/query.h"

#define EACH_MAX 100

static void read_progress(struct query *query, struct arena *arena, void *item)
{
    struct store_progress *out = item;
    *out = (struct store_progress){0};
    query_get_id(query, 0, out->swing_id, sizeof out->swing_id);
    query_get_id(query, 1, out->lesson_id, sizeof out->lesson_id);
    out->at = query_get_integer(query, 2);
    out->report = query_get_integer(query, 3);
    out->packed = query_get_bytes(query, 4, arena, &out->packed_size);
}

static enum store_status read_one(struct store_db *db, enum statement statement, const char *id, struct arena *arena,
                                  struct store_progress *out)
{
    struct query query;
    query_open(&query, db, statement);
    query_text(&query, 1, id);
    return query_one(&query, arena, read_progress, out);
}

enum store_status store_progress_swing(struct store_db *db, const char *swing_id, struct arena *arena,
                                       struct store_progress *out)
{
    return read_one(db, PROGRESS_OF_SWING, swing_id, arena, out);
}

enum store_status store_progress_lesson(struct store_db *db, const char *lesson_id, struct arena *arena,
                                        struct store_progress *out)
{
    return read_one(db, PROGRESS_OF_LESSON, lesson_id, arena, out);
}

enum store_status store_progress_report(struct store_db *db, int64_t report, struct arena *arena, const char **json,
                                        size_t *size)
{
    struct query query;
    query_open(&query, db, PROGRESS_REPORT);
    query_integer(&query, 1, report);
    return query_one_bytes(&query, arena, json, size);
}

enum store_status store_measures_put(struct store_db *db, int64_t report, const char *packed, size_t size)
{
    struct query query;
    query_open(&query, db, PROGRESS_PUT);
    query_integer(&query, 1, report);
    query_bytes(&query, 2, packed, size);
    return query_run(&query);
}

static enum store_status read_kind(struct store_db *db, enum statement statement, const char *student_id, int most,
                                   struct arena *arena, struct store_progress_list *out)
{
    struct query query;
    query_open(&query, db, statement);
    query_text(&query, 1, student_id);
    query_integer(&query, 2, most);
    return query_list(&query, arena, most, read_progress, out);
}

enum store_status store_progress_all(struct store_db *db, const char *student_id, int most, struct arena *arena,
                                     struct store_progress_list *out)
{
    return read_kind(db, PROGRESS_ALL, student_id, most, arena, out);
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
    struct store_progress_list swings = {0};
    struct store_progress_list lessons = {0};
    *out = (struct store_progress_list){0};
    enum store_status status = read_kind(db, PROGRESS_SWINGS, student_id, EACH_MAX, arena, &swings);
    if (status == STORE_OK) {
        status = read_kind(db, PROGRESS_LESSONS, student_id, EACH_MAX, arena, &lessons);
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
