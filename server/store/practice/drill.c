/* The club's drills. */
#include "store/practice/drill.h"

#include "store/engine/query.h"

static void read_drill(struct query *query, struct arena *arena, void *item)
{
    struct store_drill *out = item;
    *out = (struct store_drill){0};
    query_get_id(query, 0, out->id, sizeof out->id);
    out->name = query_get_text(query, 1, arena);
    out->json = query_get_text(query, 2, arena);
    out->built_in = query_get_integer(query, 3) != 0;
    out->created = query_get_integer(query, 4);
    out->retired = query_get_integer(query, 5);
    out->version = query_get_integer(query, 6);
}

static void bind_new(struct query *query, const struct store_drill *drill)
{
    query_text(query, 1, drill->id);
    query_text(query, 2, drill->name);
    query_text(query, 3, drill->json);
    query_integer(query, 4, drill->built_in);
    query_integer(query, 5, drill->created);
    query_time(query, 6, drill->retired);
}

enum store_status store_drill_insert(struct store_db *db, const struct store_drill *drill)
{
    struct query query;
    query_open(&query, db, DRILL_INSERT);
    bind_new(&query, drill);
    return query_run(&query);
}

enum store_status store_drill_add_missing(struct store_db *db, const struct store_drill *drill)
{
    struct query query;
    query_open(&query, db, DRILL_ADD_MISSING);
    bind_new(&query, drill);
    return query_run_one(&query);
}

enum store_status store_drill_get(struct store_db *db, const char *id, struct arena *arena, struct store_drill *out)
{
    struct query query;
    query_open(&query, db, DRILL_BY_ID);
    query_text(&query, 1, id);
    return query_one(&query, arena, read_drill, out);
}

enum store_status store_drill_list(struct store_db *db, bool with_retired, const struct store_page *page,
                                   struct arena *arena, struct store_drill_list *out)
{
    struct query query;
    query_open(&query, db, with_retired ? DRILL_LIST : DRILL_LIST_IN_USE);
    query_page_after(&query, 1, page);
    return query_list(&query, arena, page_limit(page), read_drill, out);
}

enum store_status store_drill_renew(struct store_db *db, const struct store_drill *drill)
{
    struct query query;
    query_open(&query, db, DRILL_RENEW);
    query_text(&query, 1, drill->id);
    query_text(&query, 2, drill->name);
    query_text(&query, 3, drill->json);
    return query_run_one(&query);
}

enum store_status store_drill_update(struct store_db *db, struct store_drill *drill)
{
    struct query query;
    query_open(&query, db, DRILL_UPDATE);
    query_text(&query, 1, drill->id);
    query_text(&query, 2, drill->name);
    query_text(&query, 3, drill->json);
    query_time(&query, 4, drill->retired);
    query_integer(&query, 5, drill->version);
    const enum store_status status = query_run_versioned(&query, DRILL_EXISTS, drill->id);
    drill->version += status == STORE_OK;
    return status;
}
