/* See running.h. */
#include "store/engine/running.h"

#include "store/engine/query.h"

enum store_status store_running_get(struct store_db *db, int64_t *ms)
{
    if (db->running_from_ns == 0) { /* what this process adds counts from here */
        struct query query;
        query_open(&query, db, RUNNING_GET);
        const enum store_status status = query_number(&query, &db->running_base_ms);
        if (status != STORE_OK) {
            return status == STORE_NOT_FOUND ? STORE_CORRUPT : status;
        }
        db->running_from_ns = clock_monotonic_ns();
    }
    *ms = db->running_base_ms + (clock_monotonic_ns() - db->running_from_ns) / 1000000;
    return STORE_OK;
}

enum store_status store_running_save(struct store_db *db)
{
    struct query query;
    int64_t ms = 0;
    enum store_status status = store_running_get(db, &ms);
    if (status != STORE_OK) {
        return status;
    }
    query_open(&query, db, RUNNING_SAVE);
    query_integer(&query, 1, ms);
    return query_run(&query);
}
