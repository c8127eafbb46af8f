/* Versions of the club's map of marker names. */
#include "store/lessons/markers.h"

#include "store/engine/query.h"

static enum store_status current_number(struct store_db *db, int64_t *out)
{
    struct query query;
    query_open(&query, db, MARKERS_NUMBER);
    const enum store_status status = query_number(&query, out);
    *out = *out ? *out : STORE_MARKERS_FIRST;
    return status;
}

enum store_status store_markers_insert(struct store_db *db, struct store_markers *markers, int64_t base)
{
    int64_t current = 0;
    const enum store_status status = current_number(db, &current);
    if (status != STORE_OK) {
        return status;
    }
    if (base >= 0 && base != current) {
        return STORE_STALE;
    }
    struct query query;
    query_open(&query, db, MARKERS_INSERT);
    query_integer(&query, 1, current + 1);
    query_text(&query, 2, markers->created_by);
    query_integer(&query, 3, markers->created);
    query_long_text(&query, 4, markers->json, markers->json_size);
    markers->number = current + 1;
    return query_run(&query);
}

static void read_markers(struct query *query, struct arena *arena, void *item)
{
    struct store_markers *out = item;
    *out = (struct store_markers){.number = query_get_integer(query, 0), .created = query_get_integer(query, 2)};
    query_get_id(query, 1, out->created_by, sizeof out->created_by);
    out->json = query_get_bytes(query, 3, arena, &out->json_size);
}

enum store_status store_markers_current(struct store_db *db, struct arena *arena, struct store_markers *out)
{
    struct query query;
    query_open(&query, db, MARKERS_CURRENT);
    return query_one(&query, arena, read_markers, out);
}
