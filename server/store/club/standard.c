/* Versions of the house standard. */
#include "store/club/standard.h"

#include "store/engine/query.h"

static void read_standard(struct query *query, struct arena *arena, void *item)
{
    struct store_standard *out = item;
    *out = (struct store_standard){0};
    out->number = query_get_integer(query, 0);
    out->label = query_get_text(query, 1, arena);
    query_get_id(query, 2, out->created_by, sizeof out->created_by);
    out->created = query_get_integer(query, 3);
    out->json = query_get_text(query, 4, arena);
}

enum store_status store_standard_current_number(struct store_db *db, int64_t *out)
{
    struct query query;
    query_open(&query, db, STANDARD_NUMBER);
    const enum store_status status = query_number(&query, out);
    return status == STORE_OK && *out == 0 ? STORE_NOT_FOUND : status;
}

enum store_status store_standard_insert(struct store_db *db, struct store_standard *standard, int64_t base)
{
    int64_t current = 0;
    const enum store_status status = store_standard_current_number(db, &current);
    if (status != STORE_OK && status != STORE_NOT_FOUND) {
        return status;
    }
    if (base >= 0 && base != current) {
        return STORE_STALE;
    }
    struct query query;
    query_open(&query, db, STANDARD_INSERT);
    query_integer(&query, 1, current + 1);
    query_text(&query, 2, standard->label);
    query_id(&query, 3, standard->created_by);
    query_integer(&query, 4, standard->created);
    query_text(&query, 5, standard->json);
    standard->number = current + 1;
    return query_run(&query);
}

enum store_status store_standard_current(struct store_db *db, struct arena *arena, struct store_standard *out)
{
    struct query query;
    query_open(&query, db, STANDARD_CURRENT);
    return query_one(&query, arena, read_standard, out);
}
