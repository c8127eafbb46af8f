/* Proving again who uses a session: before what gives much away or takes it. Wrong tries wait as wrong sign-ins do. */
#include <stdio.h>
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/body.h"
#include "api/people/handlers.h"
#include "api/people/second_factor.h"
#include "store/people/session.h"

struct confirmation {
    struct store_account account;
    const char *password, *code;
};

/* The password may have been changed, or the account put out of use, while this one was being looked at. */
static enum store_status confirm_job(struct store_db *db, struct write *write)
{
    const struct confirmation *confirming = write->data;
    const struct principal *principal = write->call.principal;
    const char *then = confirming->account.password_hash;
    struct store_account now;
    enum store_status status = store_account_get(db, principal->account_id, write->call.arena, &now);
    if (status == STORE_OK &&
        (now.disabled != 0 || now.password_hash == NULL || then == NULL || strcmp(now.password_hash, then) != 0)) {
        return write_refuse(write, 422, "wrong-password", "password", "password: this is not your password.");
    }
    if (status == STORE_OK) {
        status = second_factor_take(db, write, principal->account_id, confirming->code, 422);
    }
    if (status == STORE_OK) {
        status = store_session_confirm(db, principal->session_id, write->call.now);
    }
    answer_audit(write, "session.confirm", "session", principal->session_id, principal->student_id);
    return status;
}

static void verified(struct call *call, bool right, const char *new_hash, void *data)
{
    struct confirmation *confirming = data;
    (void)new_hash;
    call_try_end(call, right ? THROTTLE_RIGHT : THROTTLE_WRONG);
    if (!right) {
        exchange_problem(call->exchange, 422, "wrong-password", "password", "password: this is not your password.");
        return;
    }
    if (!second_factor_may_try(call, confirming->account.id, confirming->code)) {
        return;
    }
    struct write *write = write_new(call, confirm_job, confirming);
    if (write != NULL) {
        write->status = 204;
        call_write(write);
    }
}

void me_confirm(struct call *call)
{
    static const char *const keys[] = {"password", "code", NULL};
    struct confirmation *confirming = arena_alloc(call->arena, sizeof *confirming);
    struct body body;
    if (confirming == NULL) {
        answer_no_memory(call);
        return;
    }
    if (!body_begin(&body, call, keys, false)) {
        return;
    }
    tree_text(&body.in, "password", true, PASSWORD_LENGTH_MAX, &confirming->password);
    tree_text(&body.in, "code", false, SECOND_FACTOR_CODE_MAX, &confirming->code);
    if (!body_end(&body)) {
        return;
    }
    enum store_status status =
        store_account_get(call->db, call->principal->account_id, call->arena, &confirming->account);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    if (call_try_own(call)) {
        call_verify(call, confirming->account.password_hash, confirming->password, verified, confirming);
    }
}
