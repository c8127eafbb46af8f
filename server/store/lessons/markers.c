/* Versions of the club's map of marker names. */
#include "store/lessons/markers.h"

#include "store/engine/internal.h"

enum { INSERT, CURRENT, NUMBER, STATEMENTS };
static const char *const sql[STATEMENTS] = {
    [INSERT] = "INSERT INTO marker_map (number, created_by, created, json) VALUES (?1, ?2, ?3, ?4)",
    [CURRENT] = ("SELECT number, created_by, created, json FROM marker_map "
                 "WHERE number = (SELECT max(number) FROM marker_map)"),
    [NUMBER] = "SELECT max(number) FROM marker_map",
};
const struct store_statements store_markers_statements = {"markers", sql, STATEMENTS};

static enum store_status current_number(struct store_db *db, int64_t *out)
{
    struct query query;
    query_open(&query, db, STATEMENTS_MARKERS, NUMBER);
    const enum store_status status = query_row(&query);
    *out = status == STORE_OK && !query_is_null(&query, 0) ? query_get_integer(&query, 0) : STORE_MARKERS_FIRST;
    query_close(&query);
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
    query_open(&query, db, STATEMENTS_MARKERS, INSERT);
    query_integer(&query, 1, current + 1);
    query_text(&query, 2, markers->created_by);
    query_integer(&query, 3, markers->created);
    query_long_text(&query, 4, markers->json, markers->json_size);
    markers->number = current + 1;
    return query_run(&query);
}

enum store_status store_markers_current(struct store_db *db, struct arena *arena, struct store_markers *out)
{
    struct query query;
    query_open(&query, db, STATEMENTS_MARKERS, CURRENT);
    enum store_status status = query_row(&query);
    if (status == STORE_OK) {
        *out = (struct store_markers){.number = query_get_integer(&query, 0), .created = query_get_integer(&query, 2)};
        query_get_id(&query, 1, out->created_by, sizeof out->created_by);
        out->json = query_get_bytes(&query, 3, arena, &out->json_size);
        status = query.status;
    }
    query_close(&query);
    return status;
}
