/* Second factors and recovery codes. */
#include "store/people/second_factor.h"

#include <string.h>

#include "store/engine/internal.h"

enum { GET, CLEAR, START, CONFIRM, TAKE, REMOVE, RECOVERY_ADD, RECOVERY_USE, STATEMENTS };
static const char *const sql[STATEMENTS] = {
    [GET] = "SELECT sealed, started, confirmed, last_step FROM second_factor WHERE account_id = ?1",
    [CLEAR] = "DELETE FROM second_factor WHERE account_id = ?1 AND confirmed IS NULL",
    [START] = "INSERT INTO second_factor (account_id, sealed, started) VALUES (?1, ?2, ?3)",
    [CONFIRM] = "UPDATE second_factor SET confirmed = ?2 WHERE account_id = ?1 AND confirmed IS NULL",
    [TAKE] = "UPDATE second_factor SET last_step = ?2 WHERE account_id = ?1 AND last_step < ?2",
    [REMOVE] = "DELETE FROM second_factor WHERE account_id = ?1",
    [RECOVERY_ADD] = "INSERT INTO recovery_code (account_id, code_hash) VALUES (?1, ?2)",
    [RECOVERY_USE] = "DELETE FROM recovery_code WHERE account_id = ?1 AND code_hash = ?2",
};
const struct store_statements store_second_factor_statements = {"second_factor", sql, STATEMENTS};

enum store_status store_second_factor_get(struct store_db *db, const char *account_id, struct store_second_factor *out)
{
    struct query query;
    query_open(&query, db, STATEMENTS_SECOND_FACTOR, GET);
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

static enum store_status run_about(struct store_db *db, int statement, const char *account_id)
{
    struct query query;
    query_open(&query, db, STATEMENTS_SECOND_FACTOR, statement);
    query_text(&query, 1, account_id);
    return statement == CLEAR ? query_run(&query) : query_run_one(&query);
}

enum store_status store_second_factor_start(struct store_db *db, const struct store_second_factor *factor)
{
    struct query query;
    const enum store_status status = run_about(db, CLEAR, factor->account_id);
    if (status != STORE_OK) {
        return status;
    }
    query_open(&query, db, STATEMENTS_SECOND_FACTOR, START);
    query_text(&query, 1, factor->account_id);
    query_bytes(&query, 2, factor->sealed, sizeof factor->sealed);
    query_integer(&query, 3, factor->started);
    return query_run(&query);
}

static enum store_status run_with(struct store_db *db, int statement, const char *account_id, int64_t value)
{
    struct query query;
    query_open(&query, db, STATEMENTS_SECOND_FACTOR, statement);
    query_text(&query, 1, account_id);
    query_integer(&query, 2, value);
    return query_run_one(&query);
}

enum store_status store_second_factor_confirm(struct store_db *db, const char *account_id, int64_t now)
{
    return run_with(db, CONFIRM, account_id, now);
}

enum store_status store_second_factor_take(struct store_db *db, const char *account_id, int64_t step)
{
    return run_with(db, TAKE, account_id, step);
}

enum store_status store_second_factor_remove(struct store_db *db, const char *account_id)
{
    return run_about(db, REMOVE, account_id);
}

static enum store_status run_code(struct store_db *db, int statement, const char *account_id,
                                  const uint8_t code_hash[STORE_HASH])
{
    struct query query;
    query_open(&query, db, STATEMENTS_SECOND_FACTOR, statement);
    query_text(&query, 1, account_id);
    query_bytes(&query, 2, code_hash, STORE_HASH);
    return query_run_one(&query);
}

enum store_status store_recovery_add(struct store_db *db, const char *account_id, const uint8_t code_hash[STORE_HASH])
{
    return run_code(db, RECOVERY_ADD, account_id, code_hash);
}

enum store_status store_recovery_use(struct store_db *db, const char *account_id, const uint8_t code_hash[STORE_HASH])
{
    return run_code(db, RECOVERY_USE, account_id, code_hash);
}
