/* Rounds on the course. */
#include "store/practice/round.h"

#include "store/engine/query.h"

static void read_round(struct query *query, struct arena *arena, void *item)
{
    struct store_round *out = item;
    *out = (struct store_round){0};
    query_get_id(query, 0, out->id, sizeof out->id);
    query_get_id(query, 1, out->student_id, sizeof out->student_id);
    query_get_id(query, 2, out->made_by, sizeof out->made_by);
    out->played_at = query_get_integer(query, 3);
    out->created = query_get_integer(query, 4);
    out->holes = (int)query_get_integer(query, 5);
    out->count = (int)query_get_integer(query, 6);
    out->shots = query_get_text(query, 7, arena);
}

enum store_status store_round_insert(struct store_db *db, const struct store_round *round)
{
    struct query query;
    query_open(&query, db, ROUND_INSERT);
    query_text(&query, 1, round->id);
    query_text(&query, 2, round->student_id);
    query_text(&query, 3, round->made_by);
    query_integer(&query, 4, round->played_at);
    query_integer(&query, 5, round->created);
    query_integer(&query, 6, round->holes);
    query_integer(&query, 7, round->count);
    query_text(&query, 8, round->shots);
    return query_run(&query);
}

enum store_status store_round_get(struct store_db *db, const char *id, struct arena *arena, struct store_round *out)
{
    struct query query;
    query_open(&query, db, ROUND_BY_ID);
    query_text(&query, 1, id);
    return query_one(&query, arena, read_round, out);
}

enum store_status store_round_list(struct store_db *db, const char *student_id, const struct store_page *page,
                                   struct arena *arena, struct store_round_list *out)
{
    struct query query;
    query_open(&query, db, ROUND_LIST);
    query_text(&query, 1, student_id);
    query_page_before(&query, 2, page);
    return query_list(&query, arena, page_limit(page), read_round, out);
}

enum store_status store_round_remove(struct store_db *db, const struct store_round *round)
{
    struct query query;
    query_open(&query, db, ROUND_FORGET);
    query_text(&query, 1, round->made_by);
    query_text(&query, 2, round->id);
    const enum store_status status = query_run(&query);
    if (status != STORE_OK) {
        return status;
    }
    query_open(&query, db, ROUND_REMOVE);
    query_text(&query, 1, round->id);
    return query_run_one(&query);
}
