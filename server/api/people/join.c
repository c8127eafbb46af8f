/* Invitations, one-time links into an account: made by the head or a coach of the student, opened once with a password
 * of one's own choosing. The token is shown to who makes the invitation, and its hash alone is kept. */
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/body.h"
#include "api/people/family.h"
#include "api/people/handlers.h"
#include "api/people/own_password.h"
#include "api/people/second_factor.h"
#include "api/people/sign_in.h"
#include "store/people/invitation.h"

#define INVITATION_MS (7 * DAY_MS)

struct new_invitation {
    struct store_account account;
    struct store_invitation invitation;
    char token[TOKEN_TEXT];
    uint8_t hash[TOKEN_HASH];
};

/* A guardian's invitation concerns the student whom that account stands for, when there is one alone. */
static enum store_status invite_audit(struct store_db *db, struct write *write, const struct store_account *account)
{
    struct store_id_list juniors = {0};
    enum store_status status = STORE_OK;
    if (account->role == STORE_GUARDIAN) {
        status = store_guardian_students(db, account->id, write->call.arena, &juniors);
    }
    answer_audit(write, "account.link", "account", account->id,
                 status == STORE_OK && juniors.count == 1 ? juniors.items[0] : account->student_id);
    return status;
}

/* Looked at here, where nobody can take a student off the team in between. */
static enum store_status invite_job(struct store_db *db, struct write *write)
{
    struct new_invitation *made = write->data;
    struct store_account *account = &made->account;
    enum store_status status = store_account_get(db, made->invitation.account_id, write->call.arena, account);
    if (status == STORE_OK) {
        status = family_reach(db, made->invitation.made_by, account, write->call.arena);
    }
    if (status == STORE_OK && account->disabled != 0) {
        return write_refuse(write, 409, "account-disabled", NULL, "This account is out of use.");
    }
    if (status == STORE_OK) {
        status = store_invitation_make(db, &made->invitation, made->hash);
    }
    return status == STORE_OK ? invite_audit(db, write, account) : status;
}

void join_invite(struct call *call)
{
    static const char *const keys[] = {NULL};
    const char *id = exchange_capture(call->exchange, 0);
    struct new_invitation *made = arena_alloc(call->arena, sizeof *made);
    struct body body;
    struct json_out out;
    if (made == NULL || !uuid_valid(id)) {
        call_problem_store(call, made == NULL ? STORE_NO_MEMORY : STORE_NOT_FOUND);
        return;
    }
    if (!body_begin(&body, call, keys, true) || !body_end(&body)) {
        return;
    }
    struct store_invitation *invitation = &made->invitation;
    memcpy(invitation->account_id, id, sizeof invitation->account_id);
    memcpy(invitation->made_by, call->principal->account_id, sizeof invitation->made_by);
    invitation->created = call->now;
    invitation->expires = call->now + INVITATION_MS;
    token_new(made->token, made->hash);
    struct write *write = write_new(call, invite_job, made);
    if (write == NULL) {
        return;
    }
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    write->location = arena_printf(call->arena, "/#join=%s", made->token);
    json_out_text(&out, "url_path", write->location);
    answer_time(&out, "expires", invitation->expires);
    json_out_end_object(&out);
    if (!answer_write(write, &out, 201)) {
        answer_no_memory(call);
        return;
    }
    call_write(write);
}

/* ---- opening ---- */

#define OVER "This link is over: it was used, replaced or has expired. Ask for a new one."

/* Uses the invitation up, unless what it rested on is gone. */
static enum store_status invitation_take(struct store_db *db, struct write *write, struct store_invitation *invitation)
{
    const struct sign_in *joining = write->data;
    struct store_account account;
    enum store_status status = store_invitation_find(db, joining->invitation_hash, write->call.now, invitation);
    status = status == STORE_OK ? store_account_get(db, invitation->account_id, write->call.arena, &account) : status;
    status = status == STORE_OK ? family_reach(db, invitation->made_by, &account, write->call.arena) : status;
    return status == STORE_OK ? store_invitation_use(db, joining->invitation_hash, write->call.now) : status;
}

static enum store_status join_job(struct store_db *db, struct write *write)
{
    const struct sign_in *joining = write->data;
    const char *account_id = joining->account.id;
    struct store_invitation invitation;
    enum store_status status = invitation_take(db, write, &invitation);
    if (status == STORE_NOT_FOUND) {
        return write_refuse(write, 410, "link-over", NULL, OVER);
    }
    if (status == STORE_OK) {
        status = second_factor_take(db, write, account_id, joining->code, 401);
    }
    if (status == STORE_OK) {
        status = store_account_set_password(db, account_id, joining->new_hash, false);
    }
    if (status == STORE_OK) {
        status = store_session_revoke_all(db, account_id, NULL, write->call.now);
    }
    if (status == STORE_OK) {
        write->audit.detail = arena_printf(write->call.arena, "{\"made_by\":\"%s\"}", invitation.made_by);
        status = write->audit.detail == NULL ? STORE_NO_MEMORY : sign_in_insert(db, write, "account.join");
    }
    return status;
}

static void join_hashed(struct call *call, bool right, const char *new_hash, void *data)
{
    struct sign_in *joining = data;
    if (!right || call->db == NULL) {
        call_problem_store(call, right ? STORE_ERROR : STORE_NO_MEMORY);
        return;
    }
    if (!second_factor_may_try(call, joining->account.id, joining->code)) {
        return;
    }
    memcpy(joining->new_hash, new_hash, sizeof joining->new_hash);
    joining->account.password_temporary = false;
    sign_in_session(call, joining, join_job);
}

/* The account behind the token. False: answered. */
static bool account_find(struct call *call, struct sign_in *joining, const char *token)
{
    struct store_invitation invitation;
    enum store_status status = STORE_NOT_FOUND;
    if (token_hash(token, joining->invitation_hash)) {
        status = store_invitation_find(call->db, joining->invitation_hash, call->now, &invitation);
    }
    if (status == STORE_OK) {
        status = store_account_get(call->db, invitation.account_id, call->arena, &joining->account);
    }
    if (status == STORE_NOT_FOUND) {
        exchange_problem(call->exchange, 410, "link-over", NULL, OVER);
    } else if (status != STORE_OK) {
        call_problem_store(call, status);
    }
    return status == STORE_OK;
}

void join_create(struct call *call)
{
    static const char *const keys[] = {"token", "password", "code", "cookie", NULL};
    struct sign_in *joining = arena_alloc(call->arena, sizeof *joining);
    const char *token = NULL;
    const char *password = NULL;
    struct body body;
    if (joining == NULL || call->db == NULL) {
        call_problem_store(call, STORE_ERROR);
        return;
    }
    if (!body_begin(&body, call, keys, false)) {
        return;
    }
    tree_text(&body.in, "token", true, 200, &token);
    tree_text(&body.in, "password", true, PASSWORD_LENGTH_MAX, &password);
    tree_text(&body.in, "code", false, SECOND_FACTOR_CODE_MAX, &joining->code);
    tree_boolean(&body.in, "cookie", false, &joining->cookie);
    if (!body_end(&body) || !sign_in_origin(call, joining) || !account_find(call, joining, token)) {
        return;
    }
    /* only now, for whether a password is someone's sign-in name is nobody else's to learn */
    const enum password_fault fault = own_password_check(call, password, &joining->account);
    if (fault != PASSWORD_FINE) {
        exchange_problem(call->exchange, 422, "invalid", "password", "password: %s", password_fault_text(fault));
        return;
    }
    call_hash(call, password, join_hashed, joining);
}
