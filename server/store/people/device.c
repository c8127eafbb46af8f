/* Range tablets. */
#include "store/people/device.h"

#include "store/engine/ledger.h"
#include "store/engine/query.h"
#include "store/people/session.h"

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

enum store_status store_device_insert(struct store_db *db, const struct store_device *device,
                                      const uint8_t token_hash[STORE_HASH])
{
    struct query query;
    query_open(&query, db, DEVICE_INSERT);
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
    query_open(&query, db, DEVICE_FIND);
    query_bytes(&query, 1, token_hash, STORE_HASH);
    return query_one(&query, arena, read_device, out);
}

enum store_status store_device_get(struct store_db *db, const char *id, struct arena *arena, struct store_device *out)
{
    struct query query;
    query_open(&query, db, DEVICE_BY_ID);
    query_text(&query, 1, id);
    return query_one(&query, arena, read_device, out);
}

enum store_status store_device_list(struct store_db *db, const struct store_page *page, struct arena *arena,
                                    struct store_device_list *out)
{
    struct query query;
    query_open(&query, db, DEVICE_LIST);
    query_page_after(&query, 1, page);
    return query_list(&query, arena, page_limit(page), read_device, out);
}

enum store_status store_device_update(struct store_db *db, struct store_device *device)
{
    struct query query;
    query_open(&query, db, DEVICE_UPDATE);
    query_text(&query, 1, device->id);
    query_text(&query, 2, device->name);
    query_time(&query, 3, device->revoked);
    query_integer(&query, 4, device->version);
    enum store_status status = query_run_versioned(&query, DEVICE_EXISTS, device->id);
    if (status == STORE_OK && device->revoked) {
        status = store_session_revoke_device(db, device->id, device->revoked);
        if (status == STORE_OK) {
            status = store_ledger_add(db, STORE_ENDED_DEVICE, device->id, device->revoked);
        }
    }
    device->version += status == STORE_OK;
    return status;
}

enum store_status store_device_revoke(struct store_db *db, const char *id, int64_t at)
{
    struct query query;
    query_open(&query, db, DEVICE_REVOKE);
    query_text(&query, 1, id);
    query_integer(&query, 2, at);
    const enum store_status status = query_run(&query);
    return status == STORE_OK ? store_session_revoke_device(db, id, at) : status;
}

enum store_status store_device_enrolled(struct store_db *db, const char *account_id, struct arena *arena,
                                        struct store_id_list *out)
{
    struct query query;
    query_open_all(&query, db, DEVICE_ENROLLED_BY, account_id);
    return query_list(&query, arena, STORE_PAGE_MAX, query_read_id, out);
}

enum store_status store_device_touch(struct store_db *db, const char *id, int64_t now)
{
    struct query query;
    query_open(&query, db, DEVICE_TOUCH);
    query_text(&query, 1, id);
    query_integer(&query, 2, now);
    return query_run_one(&query);
}
