/* Erasing an account: the person's name, sign-in name, password, sessions, links and feeds are gone; what they did
 * stays under an id. A student's account may go alone, and then the record stays. */
#include <string.h>

#include "api/frame/answer.h"
#include "api/people/handlers.h"
#include "store/people/account.h"

static enum store_status erase_job(struct store_db *db, struct write *write)
{
    const char *id = write->data;
    struct store_account account;
    int64_t heads = 0;
    enum store_status status = store_account_get(db, id, write->call.arena, &account);
    status = status == STORE_OK ? store_account_erase(db, id) : status;
    status = status == STORE_OK ? store_account_count_heads(db, &heads) : status;
    if (status == STORE_OK && heads == 0) {
        return write_refuse(write, 409, "last-head", NULL, "The last head professional must stay.");
    }
    if (status == STORE_OK) {
        answer_audit(write, "account.erase", "account", id, account.student_id);
    }
    return status;
}

void accounts_erase(struct call *call)
{
    const char *id = exchange_capture(call->exchange, 0);
    if (!uuid_valid(id)) {
        call_problem_store(call, STORE_NOT_FOUND);
        return;
    }
    if (strcmp(id, call->principal->account_id) == 0) {
        exchange_problem(call->exchange, 409, "oneself", NULL,
                         "Nobody erases the account he is signed in with: another head professional does it.");
        return;
    }
    char *copy = arena_strdup(call->arena, id);
    struct write *write = copy == NULL ? NULL : write_new(call, erase_job, copy);
    if (write == NULL) {
        answer_no_memory(call);
        return;
    }
    write->status = 204;
    call_write(write);
}
