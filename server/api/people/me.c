/* What belongs to the caller's own account: who am I, the password, the sessions. */
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/body.h"
#include "api/people/account_json.h"
#include "api/people/handlers.h"
#include "api/people/own_password.h"
#include "store/people/session.h"

/* The faults that the house standard calls contested: a page says so wherever it names one. */
static bool contested_write(struct json_out *out, struct call *call)
{
    const struct rules_cache *rules = rules_borrow(call->api, call->db, call->rules_edits);
    if (rules == NULL) {
        return false;
    }
    json_out_array(out, "contested");
    for (int i = 0; i < FAULT_COUNT; i++) {
        if (rules->standard->faults[i].defined && rules->standard->faults[i].evidence == EVIDENCE_CONTESTED) {
            json_out_text(out, NULL, fault_name((enum fault_id)i));
        }
    }
    json_out_end_array(out);
    rules_return(call->api, rules);
    return true;
}

void me_get(struct call *call)
{
    struct store_account account;
    struct json_out out;
    enum store_status status = store_account_get(call->db, call->principal->account_id, call->arena, &account);
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    if (status == STORE_OK) {
        status = account_json(&out, call->db, call->arena, &account);
    }
    answer_id(&out, "session_id", call->principal->session_id);
    answer_id(&out, "device_id", call->principal->device_id);
    answer_time(&out, "expires", call->principal->expires);
    if (status == STORE_OK && !contested_write(&out, call)) {
        status = STORE_ERROR;
    }
    json_out_end_object(&out);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    answer_json_moving(call, &out, account.version);
}

/* ---- the password ---- */

struct password_change {
    const char *fresh;
    const char *old_hash; /* what the old password was looked at against */
    char hash[PASSWORD_HASH_TEXT];
};

/* Hashing takes a while: the session may have ended meanwhile, or the password been changed by somebody else. */
static enum store_status change_still(struct store_db *db, struct write *write)
{
    const struct password_change *change = write->data;
    const struct principal *principal = write->call.principal;
    struct store_account now;
    enum store_status status = store_session_standing(db, principal->session_id, write->call.now);
    if (status == STORE_NOT_FOUND) {
        return write_refuse(write, 401, "not-signed-in", NULL, "This session has ended: sign in anew.");
    }
    status = status == STORE_OK ? store_account_get(db, principal->account_id, write->call.arena, &now) : status;
    if (status == STORE_OK && (now.password_hash == NULL || strcmp(now.password_hash, change->old_hash) != 0)) {
        return write_refuse(write, 422, "wrong-password", "old", "old: this is no longer your password.");
    }
    return status;
}

static enum store_status change_job(struct store_db *db, struct write *write)
{
    const struct password_change *change = write->data;
    const struct principal *principal = write->call.principal;
    enum store_status status = change_still(db, write);
    if (status != STORE_OK) {
        return status;
    }
    status = store_account_set_password(db, principal->account_id, change->hash, false);
    if (status == STORE_OK) {
        status = store_session_revoke_all(db, principal->account_id, principal->session_id, write->call.now);
    }
    answer_audit(write, "account.password", "account", principal->account_id, principal->student_id);
    return status;
}

static void change_hashed(struct call *call, bool right, const char *new_hash, void *data)
{
    struct password_change *change = data;
    if (!right) {
        answer_no_memory(call);
        return;
    }
    memcpy(change->hash, new_hash, sizeof change->hash);
    struct write *write = write_new(call, change_job, change);
    if (write != NULL) {
        write->status = 204;
        call_write(write);
    }
}

static void change_verified(struct call *call, bool right, const char *new_hash, void *data)
{
    struct password_change *change = data;
    (void)new_hash;
    call_try_end(call, right ? THROTTLE_RIGHT : THROTTLE_WRONG);
    if (!right) {
        exchange_problem(call->exchange, 422, "wrong-password", "old", "old: this is not your password.");
        return;
    }
    call_hash(call, change->fresh, change_hashed, change);
}

/* False: answered. */
static bool change_read(struct call *call, struct password_change *change, const struct store_account *account,
                        const char **old)
{
    static const char *const keys[] = {"old", "new", NULL};
    struct body body;
    if (!body_begin(&body, call, keys, false)) {
        return false;
    }
    tree_text(&body.in, "old", true, PASSWORD_LENGTH_MAX, old);
    tree_text(&body.in, "new", true, PASSWORD_LENGTH_MAX, &change->fresh);
    if (!body.in.failed) {
        enum password_fault fault = own_password_check(call, change->fresh, account);
        if (fault != PASSWORD_FINE) {
            tree_refuse(&body.in, "new", "%s", password_fault_text(fault));
        } else if (strcmp(*old, change->fresh) == 0) {
            tree_refuse(&body.in, "new", "must not be the old password");
        }
    }
    return body_end(&body);
}

void me_password(struct call *call)
{
    struct password_change *change = arena_alloc(call->arena, sizeof *change);
    struct store_account account;
    const char *old = NULL;
    enum store_status status = store_account_get(call->db, call->principal->account_id, call->arena, &account);
    if (change == NULL || status != STORE_OK) {
        call_problem_store(call, change == NULL ? STORE_NO_MEMORY : status);
        return;
    }
    if (!change_read(call, change, &account, &old)) {
        return;
    }
    change->old_hash = account.password_hash;
    if (call_try_own(call)) {
        call_verify(call, account.password_hash, old, change_verified, change);
    }
}

/* ---- sessions ---- */

void me_sessions(struct call *call)
{
    struct store_session_list list;
    struct json_out out;
    enum store_status status = store_session_list(call->db, call->principal->account_id, call->now, call->arena, &list);
    if (!answer_list_begin(call, &out, status, "sessions")) {
        return;
    }
    for (size_t i = 0; i < list.count; i++) {
        const struct store_session *session = &list.items[i];
        json_out_object(&out, NULL);
        json_out_text(&out, "id", session->id);
        json_out_text(&out, "kind", session->kind == STORE_COOKIE ? "cookie" : "bearer");
        answer_id(&out, "device_id", session->device_id);
        json_out_bool(&out, "current", strcmp(session->id, call->principal->session_id) == 0);
        answer_time(&out, "created", session->created);
        answer_time(&out, "last_seen", session->last_seen);
        answer_time(&out, "expires", session->expires);
        json_out_end_object(&out);
    }
    answer_list_end(call, &out, NULL);
}

static enum store_status end_job(struct store_db *db, struct write *write)
{
    const struct principal *principal = write->call.principal;
    const char *id = write->data;
    answer_audit(write, "session.end", "session", id, principal->student_id);
    return store_session_revoke(db, principal->account_id, id, write->call.now);
}

void me_session_end(struct call *call)
{
    const char *id = exchange_capture(call->exchange, 0);
    if (!uuid_valid(id)) {
        call_problem_store(call, STORE_NOT_FOUND);
        return;
    }
    struct write *write = write_new(call, end_job, (void *)id);
    if (write != NULL) {
        write->status = 204;
        call_write(write);
    }
}
