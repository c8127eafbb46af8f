/* See opinion.h. */
#include "store/lessons/opinion.h"

#include <string.h>

#include "store/engine/query.h"

static void read_opinion(struct query *query, struct arena *arena, void *item)
{
    struct store_opinion *out = item;
    *out = (struct store_opinion){.created = query_get_integer(query, 2),
                                  .changed_at = query_get_integer(query, 3),
                                  .version = query_get_integer(query, 4)};
    query_get_id(query, 0, out->id, sizeof out->id);
    query_get_id(query, 1, out->account_id, sizeof out->account_id);
    out->first = query_get_text(query, 5, arena);
    out->now = query_is_null(query, 6) ? out->first : query_get_text(query, 6, arena);
}

enum store_status store_opinion_list(struct store_db *db, const char *swing_id, struct arena *arena,
                                     struct store_opinion_list *out)
{
    struct query query;
    query_open_all(&query, db, OPINION_OF_SWING, swing_id);
    return query_list(&query, arena, STORE_PAGE_MAX, read_opinion, out);
}

static void read_said(struct query *query, struct arena *arena, void *item)
{
    struct store_said *out = item;
    *out = (struct store_said){.first = query_get_text(query, 3, arena)};
    query_get_id(query, 0, out->swing_id, sizeof out->swing_id);
    query_get_id(query, 1, out->student_id, sizeof out->student_id);
    query_get_id(query, 2, out->account_id, sizeof out->account_id);
}

enum store_status store_opinion_between(struct store_db *db, const struct store_page *page, struct arena *arena,
                                        struct store_said_list *out)
{
    struct query query;
    query_open(&query, db, OPINION_BETWEEN);
    query_page_times(&query, 1, page);
    query_integer(&query, 3, STORE_SAID_MAX + 1);
    return query_list(&query, arena, STORE_SAID_MAX, read_said, out);
}

enum store_status store_opinion_put(struct store_db *db, struct store_opinion *opinion)
{
    struct query query;
    enum store_status status;
    if (opinion->version == 0) {
        query_open(&query, db, OPINION_INSERT);
        query_text(&query, 1, opinion->id);
        query_text(&query, 2, opinion->swing_id);
        query_text(&query, 3, opinion->account_id);
        query_integer(&query, 4, opinion->created);
        query_text(&query, 5, opinion->first);
        status = query_run(&query);
    } else {
        query_open(&query, db, OPINION_UPDATE);
        query_text(&query, 1, opinion->swing_id);
        query_text(&query, 2, opinion->account_id);
        query_integer(&query, 3, opinion->version);
        query_text(&query, 4, opinion->now);
        query_integer(&query, 5, opinion->changed_at);
        status = query_run_one(&query);
        status = status == STORE_NOT_FOUND ? STORE_STALE : status;
    }
    opinion->version += status == STORE_OK;
    return status;
}
