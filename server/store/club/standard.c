/* Versions of the house standard. */
#include "store/club/standard.h"

#include "store/engine/internal.h"

enum { INSERT, CURRENT, NUMBER, GET, LIST, STATEMENTS };
static const char *const sql[STATEMENTS] = {
    [INSERT] = "INSERT INTO standard (number, label, created_by, created, json) VALUES (?1, ?2, ?3, ?4, ?5)",
    [CURRENT] = "SELECT number, label, created_by, created, json FROM standard "
                "WHERE number = (SELECT max(number) FROM standard)",
    [NUMBER] = "SELECT max(number) FROM standard",
    [GET] = "SELECT number, label, created_by, created, json FROM standard WHERE number = ?1",
    [LIST] = "SELECT number, label, created_by, created, NULL FROM standard WHERE number < ?1 "
             "ORDER BY number DESC LIMIT ?2",
};
const struct store_statements store_standard_statements = {"standard", sql, STATEMENTS};

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

static enum store_status read_one(struct query *query, struct arena *arena, struct store_standard *out)
{
    enum store_status status = query_row(query);
    if (status == STORE_OK) {
        read_standard(query, arena, out);
        status = query->status;
    }
    query_close(query);
    return status;
}

enum store_status store_standard_current_number(struct store_db *db, int64_t *out)
{
    struct query query;
    query_open(&query, db, STATEMENTS_STANDARD, NUMBER);
    enum store_status status = query_row(&query);
    *out = status == STORE_OK ? query_get_integer(&query, 0) : 0;
    query_close(&query);
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
    query_open(&query, db, STATEMENTS_STANDARD, INSERT);
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
    query_open(&query, db, STATEMENTS_STANDARD, CURRENT);
    return read_one(&query, arena, out);
}

enum store_status store_standard_get(struct store_db *db, int64_t number, struct arena *arena,
                                     struct store_standard *out)
{
    struct query query;
    query_open(&query, db, STATEMENTS_STANDARD, GET);
    query_integer(&query, 1, number);
    return read_one(&query, arena, out);
}

enum store_status store_standard_list(struct store_db *db, int64_t before, int limit, struct arena *arena,
                                      struct store_standard_list *out)
{
    const struct store_page page = {.limit = limit};
    struct query query;
    struct query_items items;
    query_open(&query, db, STATEMENTS_STANDARD, LIST);
    query_integer(&query, 1, before > 0 ? before : INT64_MAX);
    query_integer(&query, 2, page_limit(&page) + 1);
    const enum store_status status =
        query_list(&query, arena, page_limit(&page), sizeof(struct store_standard), read_standard, &items);
    *out = (struct store_standard_list){items.items, items.count, items.more};
    return status;
}
