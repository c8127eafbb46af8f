/* Signing in and out. A name that nobody has costs the same work as a wrong password, and both wait alike. */
#include "api/people/sign_in.h"

#include <stdio.h>
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/body.h"
#include "api/people/account_json.h"
#include "api/people/handlers.h"
#include "api/people/second_factor.h"
#include "auth/known.h"
#include "store/club/event.h"
#include "store/engine/idempotency.h"
#include "store/engine/running.h"
#include "store/people/device.h"
#include "store/people/invitation.h"

#define BEARER_MS (30 * DAY_MS)
#define BEARER_IDLE_MS (14 * DAY_MS)
#define COOKIE_MS (14 * DAY_MS)
#define COOKIE_IDLE_MS (3 * DAY_MS)
#define SESSION_KEPT_MS (30 * DAY_MS) /* after it has expired */
#define ANSWER_KEPT_MS (7 * DAY_MS)

/* What tells this device from all others, where it is known: a tablet of the club's, or a browser that has signed in to
 * this account before. */
static const char *known_device(const struct call *call, const struct sign_in *sign_in, bool known_name)
{
    char name[KNOWN_NAME_TEXT];
    if (sign_in->session.device_id[0] != '\0') {
        return sign_in->session.device_id;
    }
    if (!known_name) {
        return NULL;
    }
    known_cookie_name(sign_in->account.id, call->api->secure, name);
    const char *text = exchange_cookie(call->exchange, name);
    return known_check(call->api->known_key, text, sign_in->account.id, call->now) ? text : NULL;
}

bool sign_in_origin(struct call *call, const struct sign_in *sign_in)
{
    struct exchange *exchange = call->exchange;
    if (!sign_in->cookie ||
        auth_origin_ok(exchange_header(exchange, "Origin"), exchange_header(exchange, "Sec-Fetch-Site"),
                       exchange_header(exchange, "Host"), call->api->secure)) {
        return true;
    }
    exchange_problem(exchange, 403, "foreign-origin", NULL, "A page of another site may not sign in here.");
    return false;
}

/* The tablet's own token. False: answered. No header is fine. */
static bool find_device(struct call *call, struct sign_in *sign_in)
{
    const char *text = exchange_header(call->exchange, PRINCIPAL_DEVICE_HEADER);
    uint8_t hash[TOKEN_HASH];
    struct store_device device;
    if (text == NULL) {
        return true;
    }
    enum store_status status =
        token_hash(text, hash) ? store_device_find(call->db, hash, call->arena, &device) : STORE_NOT_FOUND;
    if (status == STORE_NOT_FOUND) {
        exchange_problem(call->exchange, 401, "device-unknown", NULL, "This tablet is not, or no longer, one of ours.");
        return false;
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return false;
    }
    memcpy(sign_in->session.device_id, device.id, UUID_TEXT);
    return true;
}

/* Sign-ins are seldom and regular enough to sweep up after others: ended sessions, old events, answers nobody will ask
 * for. How long the server has been running is written down here as well, so that answers age over a restart. */
static enum store_status forget_old(struct store_db *db, int64_t now)
{
    enum store_status status = store_session_purge(db, now - SESSION_KEPT_MS, NULL);
    status = status == STORE_OK ? store_running_save(db) : status;
    status = status == STORE_OK ? store_idempotency_purge(db, now, ANSWER_KEPT_MS, NULL) : status;
    status = status == STORE_OK ? store_event_purge(db) : status;
    return status == STORE_OK ? store_invitation_purge(db, now) : status;
}

enum store_status sign_in_insert(struct store_db *db, struct write *write, const char *action)
{
    const struct sign_in *sign_in = write->data;
    enum store_status status = STORE_OK;
    if (sign_in->replaces) {
        status = store_session_revoke_token(db, sign_in->replaced_hash, write->call.now);
    }
    status = status == STORE_OK ? store_session_insert(db, &sign_in->session, sign_in->token_hash) : status;
    if (status == STORE_OK && sign_in->session.device_id[0] != '\0') {
        status = store_device_touch(db, sign_in->session.device_id, write->call.now);
    }
    if (status == STORE_OK) {
        status = forget_old(db, write->call.now);
    }
    struct store_audit *audit = &write->audit;
    audit->action = action;
    audit->object_kind = "session";
    memcpy(audit->object_id, sign_in->session.id, UUID_TEXT);
    memcpy(audit->account_id, sign_in->account.id, UUID_TEXT);
    memcpy(audit->student_id, sign_in->account.student_id, UUID_TEXT);
    return status;
}

/* The account may have been disabled, or its password changed, while the old one was being looked at. */
static bool same_password(const struct store_account *now, const struct store_account *then)
{
    return now->disabled == 0 && now->password_hash != NULL && strcmp(now->password_hash, then->password_hash) == 0;
}

static enum store_status session_job(struct store_db *db, struct write *write)
{
    struct sign_in *sign_in = write->data;
    struct store_account now;
    enum store_status status = store_account_get(db, sign_in->account.id, write->call.arena, &now);
    if (status == STORE_OK && !same_password(&now, &sign_in->account)) {
        return write_refuse(write, 401, "wrong-password", NULL, "The name or the password is wrong.");
    }
    if (status == STORE_OK) {
        status = second_factor_take(db, write, sign_in->account.id, sign_in->code, 401);
    }
    if (status == STORE_OK && sign_in->new_hash[0] != '\0') {
        status = store_account_rehash(db, sign_in->account.id, sign_in->new_hash);
    }
    return status == STORE_OK ? sign_in_insert(db, write, "session.create") : status;
}

/* The cookie of a session that this browser had before. */
static void find_replaced(const struct call *call, struct sign_in *sign_in)
{
    const char *name = call->api->secure ? PRINCIPAL_COOKIE_SECURE : PRINCIPAL_COOKIE;
    const char *token = sign_in->cookie ? exchange_cookie(call->exchange, name) : NULL;
    sign_in->replaces = token != NULL && token_hash(token, sign_in->replaced_hash);
}

static void session_after(struct write *write)
{
    const struct sign_in *sign_in = write->data;
    const struct api *api = write->call.api;
    char cookie[AUTH_COOKIE_TEXT];
    char text[KNOWN_TEXT];
    char known[KNOWN_COOKIE_TEXT];
    if (sign_in->cookie) {
        auth_cookie_format(sign_in->token, COOKIE_MS / 1000, api->secure, cookie);
        exchange_add_header(write->call.exchange, "Set-Cookie", cookie);
        known_make(api->known_key, sign_in->account.id, write->call.now, text);
        known_cookie_format(sign_in->account.id, text, api->secure, known);
        exchange_add_header(write->call.exchange, "Set-Cookie", known);
    }
}

void sign_in_session(struct call *call, struct sign_in *sign_in,
                     enum store_status (*job)(struct store_db *, struct write *))
{
    struct store_session *session = &sign_in->session;
    struct json_out out;
    uuid7_new(session->id);
    token_new(sign_in->token, sign_in->token_hash);
    find_replaced(call, sign_in);
    memcpy(session->account_id, sign_in->account.id, UUID_TEXT);
    session->kind = sign_in->cookie ? STORE_COOKIE : STORE_BEARER;
    session->created = session->last_seen = session->confirmed_at = call->now;
    session->expires = call->now + (sign_in->cookie ? COOKIE_MS : BEARER_MS);
    session->idle_ms = sign_in->cookie ? COOKIE_IDLE_MS : BEARER_IDLE_MS;
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    if (!sign_in->cookie) {
        json_out_text(&out, "token", sign_in->token);
    }
    answer_time(&out, "expires", session->expires);
    json_out_object(&out, "account");
    enum store_status status = account_json(&out, call->db, call->arena, &sign_in->account);
    json_out_end_object(&out);
    json_out_end_object(&out);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    struct write *write = write_new(call, job, sign_in);
    if (write == NULL) {
        return;
    }
    write->after = session_after;
    if (!answer_write(write, &out, 200)) {
        answer_no_memory(call);
        return;
    }
    call_write(write);
}

static void verified(struct call *call, bool right, const char *new_hash, void *data)
{
    struct sign_in *sign_in = data;
    call_try_end(call, right ? THROTTLE_RIGHT : THROTTLE_WRONG);
    if (!right) {
        exchange_problem(call->exchange, 401, "wrong-password", NULL, "The name or the password is wrong.");
        return;
    }
    if (call->db == NULL) {
        call_problem_store(call, STORE_ERROR);
        return;
    }
    bool staff = sign_in->account.role == STORE_HEAD || sign_in->account.role == STORE_COACH;
    if (sign_in->session.device_id[0] != '\0' && !staff) {
        exchange_problem(call->exchange, 403, "tablet-for-coaches", NULL,
                         "A club's tablet carries a coach's session only: sign in on a device of your own.");
        return;
    }
    if (!second_factor_may_try(call, sign_in->account.id, sign_in->code)) {
        return;
    }
    memcpy(sign_in->new_hash, new_hash, sizeof sign_in->new_hash);
    sign_in_session(call, sign_in, session_job);
}

/* False: answered. */
static bool read_sign_in(struct call *call, struct sign_in *sign_in, const char **password)
{
    static const char *const keys[] = {"sign_in", "password", "code", "cookie", NULL};
    struct body body;
    const char *name = NULL;
    if (!body_begin(&body, call, keys, false)) {
        return false;
    }
    tree_text(&body.in, "sign_in", true, SIGN_IN_NAME_MAX, &name);
    tree_text(&body.in, "password", true, PASSWORD_LENGTH_MAX, password);
    tree_text(&body.in, "code", false, SECOND_FACTOR_CODE_MAX, &sign_in->code);
    tree_boolean(&body.in, "cookie", false, &sign_in->cookie);
    if (!body.in.failed && !sign_in_name_key(name, sign_in->key)) {
        tree_refuse(&body.in, "sign_in", "must not begin or end with a space");
    }
    return body_end(&body);
}

void sign_in_create(struct call *call)
{
    struct sign_in *sign_in = arena_alloc(call->arena, sizeof *sign_in);
    const char *password = NULL;
    if (sign_in == NULL || call->db == NULL) {
        call_problem_store(call, STORE_ERROR);
        return;
    }
    if (!read_sign_in(call, sign_in, &password) || !sign_in_origin(call, sign_in)) {
        return;
    }
    if (!find_device(call, sign_in)) {
        return;
    }
    enum store_status status = store_account_by_sign_in(call->db, sign_in->key, call->arena, &sign_in->account);
    if (status != STORE_OK && status != STORE_NOT_FOUND) {
        call_problem_store(call, status);
        return;
    }
    if (status == STORE_OK) {
        exchange_note_account(call->exchange, sign_in->account.id);
    }
    bool known = status == STORE_OK && sign_in->account.disabled == 0;
    const struct throttle_who who = {.name = sign_in->key,
                                     .remote = exchange_remote(call->exchange),
                                     .device = known_device(call, sign_in, status == STORE_OK)};
    if (call_try_begin(call, &who)) {
        call_verify(call, known ? sign_in->account.password_hash : NULL, password, verified, sign_in);
    }
}

static enum store_status end_job(struct store_db *db, struct write *write)
{
    const struct principal *principal = write->call.principal;
    answer_audit(write, "session.end", "session", principal->session_id, principal->student_id);
    return store_session_revoke(db, principal->account_id, principal->session_id, write->call.now);
}

static void end_after(struct write *write)
{
    char cookie[AUTH_COOKIE_TEXT];
    if (write->call.principal->by_cookie) {
        auth_cookie_format(NULL, 0, write->call.api->secure, cookie);
        exchange_add_header(write->call.exchange, "Set-Cookie", cookie);
    }
}

void sign_out_create(struct call *call)
{
    static const char *const keys[] = {NULL};
    struct body body;
    if (!body_begin(&body, call, keys, true) || !body_end(&body)) {
        return;
    }
    struct write *write = write_new(call, end_job, NULL);
    if (write != NULL) {
        write->status = 204;
        write->after = end_after;
        call_write(write);
    }
}
