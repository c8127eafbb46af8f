/* Second factors and recovery codes. */
#include "store/people/second_factor.h"

#include <string.h>

#include "store/engine/query.h"

enum store_status store_second_factor_get(struct store_db *db, const char *account_id, struct store_second_factor *out)
{
    struct query query;
    query_open(&query, db, SECOND_FACTOR_GET);
    query_text(&query, 1, account_id);
    enum store_status status = query_row(&query);
    if (status == STORE_OK) {
        *out = (struct store_second_factor){.started = query_get_integer(&query, 1),
                                            .confirmed = query_get_integer(&query, 2),
                                            .last_step = query_get_integer(&query, 3)};
        memcpy(out->account_id, account_id, UUID_TEXT);
        status = query_copy_bytes(&query, 0, out->sealed, sizeof out->sealed) ? query.status : STORE_CORRUPT;
    }
    query_close(&query);
    return status;
}

static enum store_status run_about(struct store_db *db, enum statement statement, const char *account_id)
{
    struct query query;
    query_open(&query, db, statement);
    query_text(&query, 1, account_id);
    return statement == SECOND_FACTOR_CLEAR ? query_run(&query) : query_run_one(&query);
}

enum store_status store_second_factor_start(struct store_db *db, const struct store_second_factor *factor)
{
    struct query query;
    const enum store_status status = run_about(db, SECOND_FACTOR_CLEAR, factor->account_id);
    if (status != STORE_OK) {
        return status;
    }
    query_open(&query, db, SECOND_FACTOR_START);
    query_text(&query, 1, factor->account_id);
    query_bytes(&query, 2, factor->sealed, sizeof factor->sealed);
    query_integer(&query, 3, factor->started);
    return query_run(&query);
}

static enum store_status run_with(struct store_db *db, enum statement statement, const char *account_id, int64_t value)
{
    struct query query;
    query_open(&query, db, statement);
    query_text(&query, 1, account_id);
    query_integer(&query, 2, value);
    return query_run_one(&query);
}

enum store_status store_second_factor_confirm(struct store_db *db, const char *account_id, int64_t now)
{
    return run_with(db, SECOND_FACTOR_CONFIRM, account_id, now);
}

enum store_status store_second_factor_take(struct store_db *db, const char *account_id, int64_t step)
{
    return run_with(db, SECOND_FACTOR_TAKE, account_id, step);
}

enum store_status store_second_factor_remove(struct store_db *db, const char *account_id)
{
    return run_about(db, SECOND_FACTOR_REMOVE, account_id);
}

static enum store_status run_code(struct store_db *db, enum statement statement, const char *account_id,
                                  const uint8_t code_hash[STORE_HASH])
{
    struct query query;
    query_open(&query, db, statement);
    query_text(&query, 1, account_id);
    query_bytes(&query, 2, code_hash, STORE_HASH);
    return query_run_one(&query);
}

enum store_status store_recovery_add(struct store_db *db, const char *account_id, const uint8_t code_hash[STORE_HASH])
{
    return run_code(db, SECOND_FACTOR_RECOVERY_ADD, account_id, code_hash);
}

enum store_status store_recovery_use(struct store_db *db, const char *account_id, const uint8_t code_hash[STORE_HASH])
{
    return run_code(db, SECOND_FACTOR_RECOVERY_USE, account_id, code_hash);
}
