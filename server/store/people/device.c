/* Range tablets. */
#include "store/people/device.h"

#include "store/engine/internal.h"
#include "store/people/ledger.h"
#include "store/people/session.h"

#define COLUMNS "SELECT id, name, enrolled_by, created, last_seen, revoked, version FROM device "

enum { INSERT, FIND, GET, LIST, UPDATE, EXISTS, TOUCH, STATEMENTS };
static const char *const sql[STATEMENTS] = {
    [INSERT] = "INSERT INTO device (id, name, token_hash, enrolled_by, created, last_seen, revoked) "
               "VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
    [FIND] = COLUMNS "WHERE token_hash = ?1 AND revoked IS NULL",
    [GET] = COLUMNS "WHERE id = ?1",
    [LIST] = COLUMNS "WHERE id > ?1 ORDER BY id LIMIT ?2",
    [UPDATE] = "UPDATE device SET name = ?2, revoked = ?3, version = version + 1 WHERE id = ?1 AND version = ?4",
    [EXISTS] = "SELECT 1 FROM device WHERE id = ?1",
    [TOUCH] = "UPDATE device SET last_seen = max(last_seen, ?2) WHERE id = ?1",
};
const struct store_statements store_device_statements = {"device", sql, STATEMENTS};

static void read_device(struct query *query, struct arena *arena, void *item)
{
    struct store_device *out = item;
    *out = (struct store_device){0};
    query_get_id(query, 0, out->id, sizeof out->id);
    out->name = query_get_text(query, 1, arena);
    query_get_id(query, 2, out->enrolled_by, sizeof out->enrolled_by);
    out->created = query_get_integer(query, 3);
    out->last_seen = query_get_integer(query, 4);
    out->revoked = query_get_integer(query, 5);
    out->version = query_get_integer(query, 6);
}

static enum store_status read_one(struct query *query, struct arena *arena, struct store_device *out)
{
    enum store_status status = query_row(query);
    if (status == STORE_OK) {
        read_device(query, arena, out);
        status = query->status;
    }
    query_close(query);
    return status;
}

enum store_status store_device_insert(struct store_db *db, const struct store_device *device,
                                      const uint8_t token_hash[STORE_HASH])
{
    struct query query;
    query_open(&query, db, STATEMENTS_DEVICE, INSERT);
    query_text(&query, 1, device->id);
    query_text(&query, 2, device->name);
    query_bytes(&query, 3, token_hash, STORE_HASH);
    query_text(&query, 4, device->enrolled_by);
    query_integer(&query, 5, device->created);
    query_integer(&query, 6, device->last_seen);
    query_time(&query, 7, device->revoked);
    return query_run(&query);
}

enum store_status store_device_find(struct store_db *db, const uint8_t token_hash[STORE_HASH], struct arena *arena,
                                    struct store_device *out)
{
    struct query query;
    query_open(&query, db, STATEMENTS_DEVICE, FIND);
    query_bytes(&query, 1, token_hash, STORE_HASH);
    return read_one(&query, arena, out);
}

enum store_status store_device_get(struct store_db *db, const char *id, struct arena *arena, struct store_device *out)
{
    struct query query;
    query_open(&query, db, STATEMENTS_DEVICE, GET);
    query_text(&query, 1, id);
    return read_one(&query, arena, out);
}

enum store_status store_device_list(struct store_db *db, const struct store_page *page, struct arena *arena,
                                    struct store_device_list *out)
{
    struct query query;
    struct query_items items;
    query_open(&query, db, STATEMENTS_DEVICE, LIST);
    query_text(&query, 1, page_after(page));
    query_integer(&query, 2, page_limit(page) + 1);
    const enum store_status status =
        query_list(&query, arena, page_limit(page), sizeof(struct store_device), read_device, &items);
    *out = (struct store_device_list){items.items, items.count, items.more};
    return status;
}

enum store_status store_device_update(struct store_db *db, struct store_device *device)
{
    struct query query;
    query_open(&query, db, STATEMENTS_DEVICE, UPDATE);
    query_text(&query, 1, device->id);
    query_text(&query, 2, device->name);
    query_time(&query, 3, device->revoked);
    query_integer(&query, 4, device->version);
    enum store_status status = query_run_versioned(&query, STATEMENTS_DEVICE, EXISTS, device->id);
    if (status == STORE_OK && device->revoked) {
        status = store_session_revoke_device(db, device->id, device->revoked);
        if (status == STORE_OK) {
            status = store_ledger_add(db, STORE_ENDED_DEVICE, device->id, device->revoked);
        }
    }
    device->version += status == STORE_OK;
    return status;
}

enum store_status store_device_touch(struct store_db *db, const char *id, int64_t now)
{
    struct query query;
    query_open(&query, db, STATEMENTS_DEVICE, TOUCH);
    query_text(&query, 1, id);
    query_integer(&query, 2, now);
    return query_run_one(&query);
}
