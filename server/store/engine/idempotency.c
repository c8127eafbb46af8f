/* Kept answers. */
#include "store/engine/idempotency.h"

#include "store/engine/query.h"
#include "store/engine/running.h"

enum store_status store_idempotency_find(struct store_db *db, const char *principal, const char *key,
                                         struct arena *arena, struct store_idempotency *out)
{
    struct query query;
    query_open(&query, db, IDEMPOTENCY_FIND);
    query_text(&query, 1, principal);
    query_text(&query, 2, key);
    enum store_status status = query_row(&query);
    if (status == STORE_OK) {
        *out = (struct store_idempotency){0};
        query_get_id(&query, 0, out->principal, sizeof out->principal);
        out->key = query_get_text(&query, 1, arena);
        out->route = query_get_text(&query, 2, arena);
        query_get_hash(&query, 3, out->body_hash);
        out->status = (int)query_get_integer(&query, 4);
        out->response = query_get_text(&query, 5, arena);
        out->object_kind = query_get_text(&query, 6, arena);
        query_get_id(&query, 7, out->object_id, sizeof out->object_id);
        query_get_id(&query, 8, out->student_id, sizeof out->student_id);
        out->created = query_get_integer(&query, 9);
        status = query.status;
    }
    query_close(&query);
    return status;
}

enum store_status store_idempotency_insert(struct store_db *db, const struct store_idempotency *row)
{
    struct query query;
    int64_t ran = 0;
    const enum store_status status = store_running_get(db, &ran);
    if (status != STORE_OK) {
        return status;
    }
    query_open(&query, db, IDEMPOTENCY_INSERT);
    query_text(&query, 1, row->principal);
    query_text(&query, 2, row->key);
    query_text(&query, 3, row->route);
    query_bytes(&query, 4, row->body_hash, STORE_HASH);
    query_integer(&query, 5, row->status);
    query_text(&query, 6, row->response);
    query_text(&query, 7, row->object_kind);
    query_id(&query, 8, row->object_id);
    query_id(&query, 9, row->student_id);
    query_integer(&query, 10, row->created);
    query_integer(&query, 11, ran);
    return query_run(&query);
}

enum store_status store_idempotency_purge(struct store_db *db, int64_t now, int64_t kept_ms, int64_t *removed)
{
    struct query query;
    int64_t ran = 0;
    enum store_status status = store_running_get(db, &ran);
    if (status != STORE_OK) {
        return status;
    }
    query_open(&query, db, IDEMPOTENCY_PURGE);
    query_integer(&query, 1, now - kept_ms);
    query_integer(&query, 2, ran - kept_ms);
    status = query_run(&query);
    if (removed) {
        *removed = status == STORE_OK ? sqlite3_changes64(db->handle) : 0;
    }
    return status;
}
