/* Second looks at a swing. */
#include "store/lessons/second_opinion.h"

#include "store/engine/internal.h"

#define COLUMNS "SELECT id, swing_id, account_id, created, json FROM look "

enum { INSERT, LIST, LIST_ALL, STATEMENTS };
static const char *const sql[STATEMENTS] = {
    [INSERT] = "INSERT INTO look (id, swing_id, account_id, created, json) VALUES (?1, ?2, ?3, ?4, ?5)",
    [LIST] = COLUMNS "WHERE swing_id = ?1 ORDER BY account_id LIMIT ?2",
    [LIST_ALL] = COLUMNS "WHERE id > ?1 ORDER BY id LIMIT ?2",
};
const struct store_statements store_second_opinion_statements = {"look", sql, STATEMENTS};

static void read_look(struct query *query, struct arena *arena, void *item)
{
    struct store_second_opinion *out = item;
    *out = (struct store_second_opinion){0};
    query_get_id(query, 0, out->id, sizeof out->id);
    query_get_id(query, 1, out->swing_id, sizeof out->swing_id);
    query_get_id(query, 2, out->account_id, sizeof out->account_id);
    out->created = query_get_integer(query, 3);
    out->json = query_get_text(query, 4, arena);
}

enum store_status store_second_opinion_insert(struct store_db *db, const struct store_second_opinion *look)
{
    struct query query;
    query_open(&query, db, STATEMENTS_SECOND_OPINION, INSERT);
    query_text(&query, 1, look->id);
    query_text(&query, 2, look->swing_id);
    query_text(&query, 3, look->account_id);
    query_integer(&query, 4, look->created);
    query_text(&query, 5, look->json);
    return query_run(&query);
}

static enum store_status read_list(struct store_db *db, int statement, const char *from, int limit, struct arena *arena,
                                   struct store_second_opinion_list *out)
{
    struct query query;
    struct query_items items;
    query_open(&query, db, STATEMENTS_SECOND_OPINION, statement);
    query_text(&query, 1, from);
    query_integer(&query, 2, limit + 1);
    const enum store_status status =
        query_list(&query, arena, limit, sizeof(struct store_second_opinion), read_look, &items);
    *out = (struct store_second_opinion_list){items.items, items.count, items.more};
    return status;
}

enum store_status store_second_opinion_list(struct store_db *db, const char *swing_id, struct arena *arena,
                                            struct store_second_opinion_list *out)
{
    return read_list(db, LIST, swing_id, STORE_PAGE_MAX, arena, out);
}

enum store_status store_second_opinion_list_all(struct store_db *db, const struct store_page *page, struct arena *arena,
                                                struct store_second_opinion_list *out)
{
    return read_list(db, LIST_ALL, page_after(page), page_limit(page), arena, out);
}
