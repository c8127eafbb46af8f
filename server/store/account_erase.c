/* Forgetting a person who signs in: the account with everything that hangs on it. What the person did stays, under an
 * id that leads nowhere. */
#include "store/account.h"

#include "store/internal.h"
#include "store/ledger.h"

enum { KEPT_ANSWERS, ANSWERS_ABOUT, DETAILS, ERASE, STATEMENTS };
static const char *const sql[STATEMENTS] = {
    [KEPT_ANSWERS] = "DELETE FROM idempotency WHERE principal = ?1",
    [ANSWERS_ABOUT] = "/* whole: kept answers are few, seven days' */ DELETE FROM idempotency WHERE object_id = ?1",
    [DETAILS] = "UPDATE audit SET detail = NULL WHERE object_id = ?1 AND detail IS NOT NULL",
    /* sessions, links, calendar feeds, team and guardian rows go with it */
    [ERASE] = "DELETE FROM account WHERE id = ?1",
};
const struct store_statements store_erase_statements = {"erase", sql, STATEMENTS};

enum store_status store_account_erase(struct store_db *db, const char *id)
{
    struct query query;
    for (int step = KEPT_ANSWERS; step < ERASE; step++) {
        query_open(&query, db, ROOM_ERASE, step);
        query_text(&query, 1, id);
        const enum store_status status = query_run(&query);
        if (status != STORE_OK) {
            return status;
        }
    }
    query_open(&query, db, ROOM_ERASE, ERASE);
    query_text(&query, 1, id);
    const enum store_status status = query_run_one(&query);
    return status == STORE_OK ? store_ledger_add(db, STORE_ENDED_ACCOUNT, id, clock_now_ms()) : status;
}
