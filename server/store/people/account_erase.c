/* Forgetting a person who signs in: the account with everything that hangs on it. What the person did stays, under an
 * id that leads nowhere. */
#include "store/people/account.h"

#include "store/engine/internal.h"
#include "store/people/ledger.h"
#include "store/people/link.h"

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
    enum store_status status = store_link_end_maker(db, id); /* while the team's rows are there */
    for (int step = KEPT_ANSWERS; step < ERASE && status == STORE_OK; step++) {
        query_open(&query, db, STATEMENTS_ERASE, step);
        query_text(&query, 1, id);
        status = query_run(&query);
    }
    if (status != STORE_OK) {
        return status;
    }
    query_open(&query, db, STATEMENTS_ERASE, ERASE);
    query_text(&query, 1, id);
    status = query_run_one(&query);
    return status == STORE_OK ? store_ledger_add(db, STORE_ENDED_ACCOUNT, id, clock_now_ms()) : status;
}
