/* Stills. */
#include "store/lessons/still.h"

#include <string.h>

#include "store/engine/internal.h"

#define COLUMNS "id, swing_id, view, checkpoint, media_type, width, height, put_by, created, picture_hash, picture_size"
#define ONE "WHERE swing_id = ?1 AND view = ?2 AND checkpoint = ?3"

enum { PUT, GET, FIND, LIST, REMOVE, STATEMENTS };
static const char *const sql[STATEMENTS] = {
    [PUT] = "INSERT INTO still (" COLUMNS ", picture) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12) "
            "ON CONFLICT (swing_id, view, checkpoint) DO UPDATE SET id = excluded.id, media_type = "
            "excluded.media_type, width = excluded.width, height = excluded.height, put_by = excluded.put_by, created "
            "= excluded.created, picture_hash = excluded.picture_hash, picture_size = excluded.picture_size, picture = "
            "excluded.picture",
    [GET] = "SELECT " COLUMNS " FROM still " ONE,
    [FIND] = "SELECT id FROM still " ONE,
    [LIST] = "SELECT " COLUMNS " FROM still WHERE swing_id = ?1 ORDER BY view, checkpoint LIMIT ?2",
    [REMOVE] = "DELETE FROM still WHERE id = ?1",
};
const struct store_statements store_still_statements = {"still", sql, STATEMENTS};

static void read_still(struct query *query, struct arena *arena, void *item)
{
    struct store_still *out = item;
    (void)arena;
    *out = (struct store_still){0};
    query_get_id(query, 0, out->id, sizeof out->id);
    query_get_id(query, 1, out->swing_id, sizeof out->swing_id);
    query_get_id(query, 2, out->view, sizeof out->view);
    query_get_id(query, 3, out->checkpoint, sizeof out->checkpoint);
    query_get_id(query, 4, out->media_type, sizeof out->media_type);
    out->width = (int)query_get_integer(query, 5);
    out->height = (int)query_get_integer(query, 6);
    query_get_id(query, 7, out->put_by, sizeof out->put_by);
    out->created = query_get_integer(query, 8);
    query_get_hash(query, 9, out->picture_hash);
    out->picture_size = (size_t)query_get_integer(query, 10);
}

struct store_blob store_still_blob(const struct store_still *still)
{
    struct store_blob blob = {.kind = STORE_BLOB_PICTURE, .size = still->picture_size};
    memcpy(blob.id, still->id, sizeof blob.id);
    memcpy(blob.hash, still->picture_hash, sizeof blob.hash);
    return blob;
}

enum store_status store_still_put(struct store_db *db, const struct store_still *still)
{
    struct query query;
    query_open(&query, db, STATEMENTS_STILL, PUT);
    query_text(&query, 1, still->id);
    query_text(&query, 2, still->swing_id);
    query_text(&query, 3, still->view);
    query_text(&query, 4, still->checkpoint);
    query_text(&query, 5, still->media_type);
    query_integer(&query, 6, still->width);
    query_integer(&query, 7, still->height);
    query_text(&query, 8, still->put_by);
    query_integer(&query, 9, still->created);
    query_bytes(&query, 10, still->picture_hash, STORE_HASH);
    query_integer(&query, 11, (int64_t)still->picture_size);
    query_bytes(&query, 12, still->picture, still->picture_size);
    return query_run(&query);
}

static void open_one(struct query *query, struct store_db *db, int statement, const char *swing_id, const char *view,
                     const char *checkpoint)
{
    query_open(query, db, STATEMENTS_STILL, statement);
    query_text(query, 1, swing_id);
    query_text(query, 2, view);
    query_text(query, 3, checkpoint);
}

enum store_status store_still_get(struct store_db *db, const char *swing_id, const char *view, const char *checkpoint,
                                  struct arena *arena, struct store_still *out)
{
    struct query query;
    open_one(&query, db, GET, swing_id, view, checkpoint);
    enum store_status status = query_row(&query);
    if (status == STORE_OK) {
        read_still(&query, arena, out);
        status = query.status;
    }
    query_close(&query);
    return status;
}

enum store_status store_still_list(struct store_db *db, const char *swing_id, struct arena *arena,
                                   struct store_still_list *out)
{
    struct query query;
    struct query_items items;
    query_open(&query, db, STATEMENTS_STILL, LIST);
    query_text(&query, 1, swing_id);
    query_integer(&query, 2, STORE_PAGE_MAX + 1);
    const enum store_status status =
        query_list(&query, arena, STORE_PAGE_MAX, sizeof(struct store_still), read_still, &items);
    *out = (struct store_still_list){items.items, items.count};
    return status;
}

enum store_status store_still_remove(struct store_db *db, const char *swing_id, const char *view,
                                     const char *checkpoint, char id[UUID_TEXT])
{
    struct query query;
    open_one(&query, db, FIND, swing_id, view, checkpoint);
    enum store_status status = query_row(&query);
    if (status == STORE_OK) {
        query_get_id(&query, 0, id, UUID_TEXT);
        status = query.status;
    }
    query_close(&query);
    if (status != STORE_OK) {
        return status;
    }
    query_open(&query, db, STATEMENTS_STILL, REMOVE);
    query_text(&query, 1, id);
    return query_run_one(&query);
}
