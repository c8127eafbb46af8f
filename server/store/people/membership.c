/* See tie.h. */
#include "store/people/membership.h"

static void open_tie(struct query *query, struct store_db *db, enum store_room room, int statement,
                     const char *account_id, const char *student_id)
{
    query_open(query, db, room, statement);
    query_text(query, 1, account_id);
    query_text(query, 2, student_id);
}

enum store_status membership_add(struct store_db *db, enum store_room room, int statement, const char *account_id,
                                 const char *student_id, int64_t now)
{
    struct query query;
    open_tie(&query, db, room, statement, account_id, student_id);
    query_integer(&query, 3, now);
    return query_run(&query);
}

enum store_status membership_remove(struct store_db *db, enum store_room room, int statement, const char *account_id,
                                    const char *student_id)
{
    struct query query;
    open_tie(&query, db, room, statement, account_id, student_id);
    return query_run(&query);
}

enum store_status membership_may(struct store_db *db, enum store_room room, int statement, const char *account_id,
                                 const char *student_id)
{
    struct query query;
    open_tie(&query, db, room, statement, account_id, student_id);
    const enum store_status status = query_row(&query);
    query_close(&query);
    return status;
}

static void read_id(struct query *query, struct arena *arena, void *item)
{
    (void)arena;
    query_get_id(query, 0, item, UUID_TEXT);
}

enum store_status membership_list(struct store_db *db, enum store_room room, int statement, const char *id,
                                  struct arena *arena, struct store_id_list *out)
{
    struct query query;
    struct query_items items;
    query_open(&query, db, room, statement);
    query_text(&query, 1, id);
    query_integer(&query, 2, STORE_PAGE_MAX);
    const enum store_status status = query_list(&query, arena, STORE_PAGE_MAX, UUID_TEXT, read_id, &items);
    *out = (struct store_id_list){items.items, items.count};
    return status;
}
