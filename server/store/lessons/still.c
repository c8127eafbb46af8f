/* Stills. */
#include "store/lessons/still.h"

#include <string.h>

#include "store/engine/query.h"

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
    query_open(&query, db, STILL_PUT);
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

static void open_one(struct query *query, struct store_db *db, enum statement statement, const char *swing_id,
                     const char *view, const char *checkpoint)
{
    query_open(query, db, statement);
    query_text(query, 1, swing_id);
    query_text(query, 2, view);
    query_text(query, 3, checkpoint);
}

enum store_status store_still_get(struct store_db *db, const char *swing_id, const char *view, const char *checkpoint,
                                  struct arena *arena, struct store_still *out)
{
    struct query query;
    open_one(&query, db, STILL_GET, swing_id, view, checkpoint);
    return query_one(&query, arena, read_still, out);
}

enum store_status store_still_list(struct store_db *db, const char *swing_id, struct arena *arena,
                                   struct store_still_list *out)
{
    struct query query;
    query_open_all(&query, db, STILL_LIST, swing_id);
    return query_list(&query, arena, STORE_PAGE_MAX, read_still, out);
}

enum store_status store_still_remove(struct store_db *db, const char *swing_id, const char *view,
                                     const char *checkpoint, char id[UUID_TEXT])
{
    struct query query;
    open_one(&query, db, STILL_FIND, swing_id, view, checkpoint);
    const enum store_status status = query_one(&query, NULL, query_read_id, id);
    if (status != STORE_OK) {
        return status;
    }
    query_open(&query, db, STILL_REMOVE);
    query_text(&query, 1, id);
    return query_run_one(&query);
}
