/* Forgetting a person who signs in: the account with everything that hangs on it. What the person did stays, under an
 * id that leads nowhere. */
#include "store/people/account.h"

#include "store/engine/ledger.h"
#include "store/engine/query.h"
#include "store/people/invitation.h"

enum store_status store_account_erase(struct store_db *db, const char *id)
{
    struct query query;
    enum store_status status = store_invitation_end_maker(db, id); /* while the team's rows are there */
    for (enum statement step = ACCOUNT_ERASE_KEPT_ANSWERS; step < ACCOUNT_ERASE_ROW && status == STORE_OK; step++) {
        query_open(&query, db, step);
        query_text(&query, 1, id);
        status = query_run(&query);
    }
    if (status != STORE_OK) {
        return status;
    }
    query_open(&query, db, ACCOUNT_ERASE_ROW);
    query_text(&query, 1, id);
    status = query_run_one(&query);
    return status == STORE_OK ? store_ledger_add(db, STORE_ENDED_ACCOUNT, id, clock_now_ms()) : status;
}
