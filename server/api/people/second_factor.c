/* A second factor: turned on in two steps (the secret is shown, a code of it is given back), asked for from then on,
 * turned off. */
#include "api/people/second_factor.h"

#include <sodium.h>
#include <stdio.h>
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/body.h"
#include "api/people/handlers.h"
#include "auth/qr.h"
#include "auth/second_factor.h"
#include "store/club/club.h"
#include "store/people/second_factor.h"
#include "store/people/session.h"

#define URI_TEXT 2048 /* two names of 200 bytes, percent-encoded, and the secret */

_Static_assert(STORE_SEALED == SECOND_FACTOR_SEALED, "the store keeps what auth seals");
_Static_assert(RECOVERY_HASH == STORE_HASH, "and the hashes it makes");

/* ---- proving ---- */

bool second_factor_may_try(struct call *call, const char *account_id, const char *code)
{
    const struct throttle_who who = {.name = account_id, .device = "second factor"};
    return code == NULL || call_try_begin(call, &who);
}

static enum store_status wrong(struct write *write, int refused)
{
    return write_refuse(write, refused, "wrong-code", "code", "code: this code is wrong, over, or was used before.");
}

static enum store_status take_recovery(struct store_db *db, struct write *write, const char *account_id,
                                       const char *code, int refused)
{
    uint8_t hash[RECOVERY_HASH];
    enum store_status status = STORE_NOT_FOUND;
    if (recovery_code_hash(account_id, code, hash)) {
        status = store_recovery_use(db, account_id, hash);
    }
    if (status == STORE_NOT_FOUND) {
        return wrong(write, refused);
    }
    if (status != STORE_OK) {
        return status;
    }
    struct store_audit audit = {.at = write->call.now, .action = "second_factor.recover", .object_kind = "account"};
    memcpy(audit.account_id, account_id, UUID_TEXT);
    memcpy(audit.object_id, account_id, UUID_TEXT);
    return store_audit_add(db, &audit);
}

static enum store_status take_digits(struct store_db *db, struct write *write, const struct store_second_factor *factor,
                                     const char *code, int refused)
{
    uint8_t secret[SECOND_FACTOR_SECRET];
    if (!second_factor_open(write->call.api->factor_key, factor->account_id, factor->sealed, secret)) {
        return write_refuse(write, refused, "second-factor-unreadable", "code",
                            "code: this server has lost the key of its second factors; a recovery code still works, or "
                            "the head professional takes the second factor away.");
    }
    int64_t step = second_factor_step(secret, code, write->call.now, factor->last_step);
    sodium_memzero(secret, sizeof secret);
    enum store_status status = step < 0 ? STORE_NOT_FOUND : store_second_factor_take(db, factor->account_id, step);
    return status == STORE_NOT_FOUND ? wrong(write, refused) : status;
}

enum store_status second_factor_take(struct store_db *db, struct write *write, const char *account_id, const char *code,
                                     int refused)
{
    struct store_second_factor factor;
    enum store_status status = store_second_factor_get(db, account_id, &factor);
    if (status == STORE_NOT_FOUND || (status == STORE_OK && factor.confirmed == 0)) {
        return STORE_OK;
    }
    if (status != STORE_OK) {
        return status;
    }
    if (code == NULL) {
        return write_refuse(
            write, refused, "second-factor-needed", "code",
            "code: this account asks for a code of your authenticator app as well, or a recovery code.");
    }
    return second_factor_is_digits(code) ? take_digits(db, write, &factor, code, refused)
                                         : take_recovery(db, write, account_id, code, refused);
}

/* ---- turning it on ---- */

static enum store_status start_job(struct store_db *db, struct write *write)
{
    const struct principal *principal = write->call.principal;
    enum store_status status = store_second_factor_start(db, write->data);
    if (status == STORE_CONFLICT) {
        return write_refuse(write, 409, "second-factor-on", NULL,
                            "There is a second factor already: take it away before you make another.");
    }
    answer_audit(write, "second_factor.start", "account", principal->account_id, principal->student_id);
    return status;
}

/* False: answered. */
static bool write_start(struct call *call, struct write *write, const char *secret_text)
{
    struct store_account account;
    struct store_club club;
    struct json_out out;
    char uri[URI_TEXT];
    enum store_status status = store_account_get(call->db, call->principal->account_id, call->arena, &account);
    if (status == STORE_OK) {
        status = store_club_get(call->db, call->arena, &club);
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return false;
    }
    const char *svg = NULL;
    if (second_factor_uri(club.name, account.sign_in, secret_text, uri, sizeof uri)) {
        svg = qr_svg(call->arena, uri);
    }
    write->location = "/v1/me"; /* which says whether there is one */
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    json_out_text(&out, "secret", secret_text);
    json_out_text(&out, "uri", uri);
    json_out_text(&out, "qr_svg", svg);
    json_out_end_object(&out);
    if (svg == NULL || !answer_write(write, &out, 201)) {
        answer_no_memory(call);
        return false;
    }
    return true;
}

void second_factor_start(struct call *call)
{
    static const char *const keys[] = {NULL};
    struct store_second_factor *factor = arena_alloc(call->arena, sizeof *factor);
    uint8_t secret[SECOND_FACTOR_SECRET];
    char secret_text[SECOND_FACTOR_TEXT];
    struct body body;
    if (!body_begin(&body, call, keys, true) || !body_end(&body)) {
        return;
    }
    struct write *write = factor == NULL ? NULL : write_new(call, start_job, factor);
    if (write == NULL) {
        if (factor == NULL) {
            answer_no_memory(call);
        }
        return;
    }
    *factor = (struct store_second_factor){.started = call->now};
    memcpy(factor->account_id, call->principal->account_id, UUID_TEXT);
    second_factor_new(secret);
    second_factor_seal(call->api->factor_key, factor->account_id, secret, factor->sealed);
    bool spelled = second_factor_text(secret, secret_text);
    sodium_memzero(secret, sizeof secret);
    if (!spelled) {
        answer_no_memory(call);
        return;
    }
    if (write_start(call, write, secret_text)) {
        call_write(write);
    }
}

struct first_code {
    const char *code;
    char recovery[RECOVERY_CODES][RECOVERY_CODE_TEXT];
    uint8_t hashes[RECOVERY_CODES][RECOVERY_HASH];
};

/* The pending one's secret gave this code: it counts from now on. Every other session of the account ends. */
static enum store_status confirm_job(struct store_db *db, struct write *write)
{
    const struct first_code *confirming = write->data;
    const struct principal *principal = write->call.principal;
    struct store_second_factor factor;
    enum store_status status = store_second_factor_get(db, principal->account_id, &factor);
    if (status == STORE_NOT_FOUND || (status == STORE_OK && factor.confirmed != 0)) {
        return write_refuse(write, 409, "second-factor-not-started", NULL,
                            "There is no second factor waiting for its first code: start it anew.");
    }
    if (status == STORE_OK) {
        status = take_digits(db, write, &factor, confirming->code, 422);
    }
    if (status == STORE_OK) {
        status = store_second_factor_confirm(db, principal->account_id, write->call.now);
    }
    for (int i = 0; status == STORE_OK && i < RECOVERY_CODES; i++) {
        status = store_recovery_add(db, principal->account_id, confirming->hashes[i]);
    }
    if (status == STORE_OK) {
        status = store_session_revoke_all(db, principal->account_id, principal->session_id, write->call.now);
    }
    answer_audit(write, "second_factor.on", "account", principal->account_id, principal->student_id);
    return status;
}

static bool write_codes(struct call *call, struct write *write, struct first_code *confirming)
{
    struct json_out out;
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    json_out_array(&out, "recovery_codes");
    for (int i = 0; i < RECOVERY_CODES; i++) {
        recovery_code_new(confirming->recovery[i]);
        if (!recovery_code_hash(call->principal->account_id, confirming->recovery[i], confirming->hashes[i])) {
            return false;
        }
        json_out_text(&out, NULL, confirming->recovery[i]);
    }
    json_out_end_array(&out);
    json_out_end_object(&out);
    return answer_write(write, &out, 200);
}

void second_factor_confirm(struct call *call)
{
    static const char *const keys[] = {"code", NULL};
    struct first_code *confirming = arena_alloc(call->arena, sizeof *confirming);
    struct body body;
    if (confirming == NULL) {
        answer_no_memory(call);
        return;
    }
    if (!body_begin(&body, call, keys, false)) {
        return;
    }
    tree_text(&body.in, "code", true, SECOND_FACTOR_CODE_MAX, &confirming->code);
    if (!body_end(&body) || !second_factor_may_try(call, call->principal->account_id, confirming->code)) {
        return;
    }
    struct write *write = write_new(call, confirm_job, confirming);
    if (write == NULL) {
        return;
    }
    if (!write_codes(call, write, confirming)) {
        answer_no_memory(call);
        return;
    }
    call_write(write);
}

/* ---- turning it off ---- */

static enum store_status remove_job(struct store_db *db, struct write *write)
{
    const struct principal *principal = write->call.principal;
    answer_audit(write, "second_factor.off", "account", principal->account_id, principal->student_id);
    return store_second_factor_remove(db, principal->account_id);
}

void second_factor_remove(struct call *call)
{
    struct write *write = write_new(call, remove_job, NULL);
    if (write != NULL) {
        write->status = 204;
        call_write(write);
    }
}
