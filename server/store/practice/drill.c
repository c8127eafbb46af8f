/* The club's drills. */
#include "store/practice/drill.h"

#include "store/engine/internal.h"

#define COLUMNS "SELECT id, name, json, built_in, created, retired, version FROM drill "

enum { INSERT, GET, LIST, LIST_IN_USE, RENEW, UPDATE, EXISTS, STATEMENTS };
static const char *const sql[STATEMENTS] = {
    [INSERT] = "INSERT INTO drill (id, name, json, built_in, created, retired) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
    [GET] = COLUMNS "WHERE id = ?1",
    [LIST] = COLUMNS "WHERE id > ?1 ORDER BY id LIMIT ?2",
    [LIST_IN_USE] = COLUMNS "WHERE id > ?1 AND retired IS NULL ORDER BY id LIMIT ?2",
    [RENEW] = ("UPDATE drill SET name = ?2, json = ?3 WHERE id = ?1 AND built_in = 1 AND version = 1 "
               "AND (json <> ?3 OR name <> ?2)"),
    [UPDATE] =
        "UPDATE drill SET name = ?2, json = ?3, retired = ?4, version = version + 1 WHERE id = ?1 AND version = ?5",
    [EXISTS] = "SELECT 1 FROM drill WHERE id = ?1",
};
const struct store_statements store_drill_statements = {"drill", sql, STATEMENTS};

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

enum store_status store_drill_insert(struct store_db *db, const struct store_drill *drill)
{
    struct query query;
    query_open(&query, db, STATEMENTS_DRILL, INSERT);
    query_text(&query, 1, drill->id);
    query_text(&query, 2, drill->name);
    query_text(&query, 3, drill->json);
    query_integer(&query, 4, drill->built_in);
    query_integer(&query, 5, drill->created);
    query_time(&query, 6, drill->retired);
    return query_run(&query);
}

enum store_status store_drill_get(struct store_db *db, const char *id, struct arena *arena, struct store_drill *out)
{
    struct query query;
    query_open(&query, db, STATEMENTS_DRILL, GET);
    query_text(&query, 1, id);
    enum store_status status = query_row(&query);
    if (status == STORE_OK) {
        read_drill(&query, arena, out);
        status = query.status;
    }
    query_close(&query);
    return status;
}

enum store_status store_drill_list(struct store_db *db, bool with_retired, const struct store_page *page,
                                   struct arena *arena, struct store_drill_list *out)
{
    struct query query;
    struct query_items items;
    query_open(&query, db, STATEMENTS_DRILL, with_retired ? LIST : LIST_IN_USE);
    query_text(&query, 1, page_after(page));
    query_integer(&query, 2, page_limit(page) + 1);
    const enum store_status status =
        query_list(&query, arena, page_limit(page), sizeof(struct store_drill), read_drill, &items);
    *out = (struct store_drill_list){items.items, items.count, items.more};
    return status;
}

enum store_status store_drill_renew(struct store_db *db, const struct store_drill *drill)
{
    struct query query;
    query_open(&query, db, STATEMENTS_DRILL, RENEW);
    query_text(&query, 1, drill->id);
    query_text(&query, 2, drill->name);
    query_text(&query, 3, drill->json);
    return query_run_one(&query);
}

enum store_status store_drill_update(struct store_db *db, struct store_drill *drill)
{
    struct query query;
    query_open(&query, db, STATEMENTS_DRILL, UPDATE);
    query_text(&query, 1, drill->id);
    query_text(&query, 2, drill->name);
    query_text(&query, 3, drill->json);
    query_time(&query, 4, drill->retired);
    query_integer(&query, 5, drill->version);
    const enum store_status status = query_run_versioned(&query, STATEMENTS_DRILL, EXISTS, drill->id);
    drill->version += status == STORE_OK;
    return status;
}
