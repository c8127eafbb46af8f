/* Consents of a student: who agreed to what, and taking it back. A guardian speaks for a junior, a grown-up for
 * themselves, and the team writes down what it was told, or asks. */
#include "store/people/consent.h"

#include <string.h>

#include "api/frame/answer.h"
#include "api/people/consent_read.h"
#include "api/people/handlers.h"
#include "store/people/account.h"

#define MINUTE_MS 60000LL
#define NOTE_MAX 2000
#define SCOPES "must be store_pictures, share_with_club or teach_with"
#define YEAR_MS 31556952000LL

static void consent_json(struct json_out *out, const struct store_consent *consent)
{
    json_out_text(out, "id", consent->id);
    json_out_text(out, "student_id", consent->student_id);
    json_out_text(out, "scope", consent->scope);
    json_out_text(out, "by", consent->said_by);
    json_out_bool(out, "for_a_junior", consent->as_junior);
    answer_id(out, "recorded_by", consent->recorded_by);
    answer_time(out, "given_at", consent->given_at);
    answer_time(out, "expires", consent->expires);
    answer_time(out, "withdrawn_at", consent->withdrawn_at);
    answer_id(out, "withdrawn_by", consent->withdrawn_by);
    json_out_bool(out, "counts", consent->counts);
}

void consents_list(struct call *call)
{
    struct store_consent_list list;
    struct json_out out;
    bool pictures;
    enum store_status status = store_consent_list(call->db, call->student_id, call->arena, &list);
    if (status == STORE_OK) {
        status = store_consent_pictures(call->db, call->student_id, &pictures);
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    json_out_array(&out, "consents");
    for (size_t i = 0; i < list.count; i++) {
        json_out_object(&out, NULL);
        consent_json(&out, &list.items[i]);
        json_out_end_object(&out);
    }
    json_out_end_array(&out);
    json_out_bool(&out, "pictures", pictures);
    json_out_end_object(&out);
    answer_json(call, &out, 0);
}

/* ---- what a consent must be ---- */

bool consent_given(struct tree *tree, const char *key, int64_t at, int64_t now)
{
    if (at > now + MINUTE_MS) {
        return tree_refuse(tree, key, "lies in the future");
    }
    return at >= now - CONSENT_YEARS_MAX * YEAR_MS ||
           tree_refuse(tree, key, "is more than %d years ago", CONSENT_YEARS_MAX);
}

const char *consent_detail(struct arena *arena, const char *scope)
{
    return arena_printf(arena, "{\"scope\":\"%s\"}", scope);
}

/* One of the scopes as it stands in the program; NULL = no such. */
static const char *scope_named(const char *name)
{
    for (size_t i = 0; name != NULL && i < STORE_CONSENT_SCOPES; i++) {
        if (strcmp(store_consent_scopes[i], name) == 0) {
            return store_consent_scopes[i];
        }
    }
    return NULL;
}

/* A junior's word is the guardian's to give and to take back. False: answered. */
static bool may_speak(struct call *call, const struct store_student *student)
{
    if (call->principal->role != STORE_STUDENT || !student->junior) {
        return true;
    }
    exchange_problem(call->exchange, 403, "not-allowed", NULL,
                     "A guardian decides this for a junior. Tell your guardian or your coach: they can take it back.");
    return false;
}

/* ---- giving ---- */

/* What the family took back themselves, in this stage of the student's life, nobody else says yes to. STORE_OK also
 * when it was; *theirs tells. */
static enum store_status family_took_back(struct store_db *db, struct arena *arena, const struct store_consent *consent,
                                          bool *theirs)
{
    struct store_consent_list list;
    struct store_account account;
    enum store_status status = store_consent_list(db, consent->student_id, arena, &list);
    const struct store_consent *newest = NULL;
    *theirs = false;
    for (size_t i = 0; status == STORE_OK && newest == NULL && i < list.count; i++) {
        newest = strcmp(list.items[i].scope, consent->scope) == 0 ? &list.items[i] : NULL;
    }
    if (newest == NULL || newest->withdrawn_at == 0 || newest->as_junior != consent->as_junior) {
        return status;
    }
    status = store_account_get(db, newest->withdrawn_by, arena, &account);
    *theirs = status == STORE_OK && account.disabled == 0 &&
              (account.role == STORE_GUARDIAN || account.role == STORE_STUDENT);
    return status == STORE_NOT_FOUND ? STORE_OK : status;
}

static enum store_status give_job(struct store_db *db, struct write *write)
{
    const struct store_consent *consent = write->data;
    const enum store_role role = write->call.principal->role;
    if (role == STORE_HEAD || role == STORE_COACH) {
        bool theirs;
        const enum store_status status = family_took_back(db, write->call.arena, consent, &theirs);
        if (status != STORE_OK) {
            return status;
        }
        if (theirs) {
            return write_refuse(write, 409, "consent-withdrawn", "scope",
                                "The family took this back themselves: only they can say yes again.");
        }
    }
    answer_audit(write, "consent.give", "consent", consent->id, consent->student_id);
    write->audit.detail = consent_detail(write->call.arena, consent->scope);
    return store_consent_insert(db, consent);
}

static void read_times(struct body *body, const struct store_student *student, struct store_consent *consent)
{
    const int64_t now = body->call->now;
    consent->given_at = now;
    if (!tree_time(&body->in, "given_at", false, &consent->given_at) ||
        !tree_time(&body->in, "expires", false, &consent->expires) ||
        !consent_given(&body->in, "given_at", consent->given_at, now)) {
        return;
    }
    if (!student->junior && consent->given_at < student->adult_from) {
        tree_refuse(&body->in, "given_at",
                    "lies before the student was 18: what counts now is the student's own word since");
    } else if (consent->expires != 0 && consent->expires <= now) {
        tree_refuse(&body->in, "expires", "must be later than now");
    } else if (consent->expires > now + CONSENT_YEARS_MAX * YEAR_MS) {
        tree_refuse(&body->in, "expires", "must be within %d years", CONSENT_YEARS_MAX);
    }
}

static bool give_read(struct call *call, const struct store_student *student, struct store_consent *consent)
{
    static const char *const keys[] = {"scope", "by", "given_at", "expires", NULL};
    const bool family = call->principal->role == STORE_STUDENT || call->principal->role == STORE_GUARDIAN;
    const char *scope = NULL;
    struct body body;
    if (!body_begin(&body, call, keys, false)) {
        return false;
    }
    tree_text(&body.in, "scope", true, 40, &scope);
    consent->scope = scope_named(scope);
    if (!body.in.failed && consent->scope == NULL) {
        tree_refuse(&body.in, "scope", SCOPES);
    }
    tree_name(&body.in, "by", !family, 200, &consent->said_by);
    if (!body.in.failed) {
        read_times(&body, student, consent);
    }
    return body_end(&body);
}

/* Who speaks for themselves needs not say who. */
static enum store_status name_said(struct call *call, struct store_consent *consent)
{
    struct store_account account;
    if (consent->said_by != NULL) {
        return STORE_OK;
    }
    const enum store_status status = store_account_get(call->db, call->principal->account_id, call->arena, &account);
    consent->said_by = status == STORE_OK ? account.name : NULL;
    return status;
}

void consents_give(struct call *call)
{
    struct store_student student;
    struct json_out out;
    struct store_consent *consent = arena_alloc(call->arena, sizeof *consent);
    enum store_status status =
        consent == NULL ? STORE_NO_MEMORY : store_student_get(call->db, call->student_id, call->arena, &student);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    *consent = (struct store_consent){.as_junior = student.junior, .counts = true};
    if (!may_speak(call, &student) || !give_read(call, &student, consent)) {
        return;
    }
    status = name_said(call, consent);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    uuid7_new(consent->id);
    memcpy(consent->student_id, call->student_id, UUID_TEXT);
    memcpy(consent->recorded_by, call->principal->account_id, UUID_TEXT);
    consent->as_junior = student.junior;
    struct write *write = write_new(call, give_job, consent);
    if (write == NULL) {
        return;
    }
    write->location = arena_printf(call->arena, "/v1/students/%s/consents", call->student_id);
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    consent_json(&out, consent);
    json_out_end_object(&out);
    if (!answer_write(write, &out, 201)) {
        answer_no_memory(call);
        return;
    }
    call_write(write);
}

/* ---- asking ---- */

static void request_json(struct json_out *out, const struct store_request *request)
{
    json_out_object(out, NULL);
    json_out_text(out, "id", request->id);
    json_out_text(out, "student_id", request->student_id);
    json_out_text(out, "scope", request->scope);
    json_out_text(out, "note", request->note);
    json_out_text(out, "asked_by", request->asked_by);
    json_out_text(out, "asked_by_name", request->asked_by_name);
    answer_time(out, "asked_at", request->asked_at);
    answer_time(out, "answered_at", request->answered_at);
    if (request->answer == 0) {
        json_out_null(out, "agreed");
    } else {
        json_out_bool(out, "agreed", request->answer > 0);
    }
    json_out_end_object(out);
}

void requests_list(struct call *call)
{
    struct store_request_list list;
    struct json_out out;
    const enum store_status status = store_consent_requests(call->db, call->student_id, call->arena, &list);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    json_out_array(&out, "requests");
    for (size_t i = 0; i < list.count; i++) {
        request_json(&out, &list.items[i]);
    }
    json_out_end_array(&out);
    json_out_end_object(&out);
    answer_json(call, &out, 0);
}

static enum store_status ask_job(struct store_db *db, struct write *write)
{
    struct store_request *request = write->data;
    struct store_account account;
    struct json_out out;
    enum store_status status = store_account_get(db, request->asked_by, write->call.arena, &account);
    status = status == STORE_OK ? store_consent_ask(db, request) : status;
    if (status == STORE_CONFLICT) {
        return write_refuse(write, 409, "consent-asked", "scope", "This is asked for already, and not yet answered.");
    }
    if (status != STORE_OK) {
        return status;
    }
    request->asked_by_name = account.name;
    answer_audit(write, "consent.ask", "consent_request", request->id, request->student_id);
    write->audit.detail = consent_detail(write->call.arena, request->scope);
    json_out_start(&out, write->call.arena);
    request_json(&out, request);
    return answer_write(write, &out, 201) ? STORE_OK : STORE_NO_MEMORY;
}

void requests_create(struct call *call)
{
    static const char *const keys[] = {"scope", "note", NULL};
    struct store_request *request = arena_alloc(call->arena, sizeof *request);
    const char *scope = NULL;
    struct body body;
    if (request == NULL) {
        answer_no_memory(call);
        return;
    }
    if (!body_begin(&body, call, keys, false)) {
        return;
    }
    tree_text(&body.in, "scope", true, 40, &scope);
    request->scope = scope_named(scope);
    if (!body.in.failed && request->scope == NULL) {
        tree_refuse(&body.in, "scope", SCOPES);
    }
    tree_text(&body.in, "note", false, NOTE_MAX, &request->note);
    if (!body_end(&body)) {
        return;
    }
    uuid7_new(request->id);
    memcpy(request->student_id, call->student_id, UUID_TEXT);
    memcpy(request->asked_by, call->principal->account_id, UUID_TEXT);
    request->asked_at = call->now;
    struct write *write = write_new(call, ask_job, request);
    if (write != NULL) {
        write->location = arena_printf(call->arena, "/v1/students/%s/requests", call->student_id);
        call_write(write);
    }
}

/* ---- taking back ---- */

struct withdrawal {
    const char *scope;
};

/* A grown-up of whom nothing is on record may say no all the same: a row that was never given. */
static enum store_status refusal_keep(struct store_db *db, const struct write *write, const char *scope,
                                      char id[UUID_TEXT])
{
    struct store_consent_list list;
    struct store_student student;
    struct store_consent refusal = {.scope = scope, .withdrawn_at = write->call.now};
    enum store_status status = store_student_get(db, write->call.student_id, write->call.arena, &student);
    if (status == STORE_OK) {
        status = store_consent_list(db, write->call.student_id, write->call.arena, &list);
    }
    for (size_t i = 0; status == STORE_OK && i < list.count; i++) {
        status = strcmp(list.items[i].scope, scope) == 0 ? STORE_NOT_FOUND : STORE_OK;
    }
    if (status != STORE_OK || student.junior) {
        return status != STORE_OK ? status : STORE_NOT_FOUND;
    }
    uuid7_new(refusal.id);
    memcpy(id, refusal.id, UUID_TEXT);
    memcpy(refusal.student_id, write->call.student_id, UUID_TEXT);
    memcpy(refusal.recorded_by, write->call.principal->account_id, UUID_TEXT);
    memcpy(refusal.withdrawn_by, write->call.principal->account_id, UUID_TEXT);
    return store_consent_insert(db, &refusal);
}

static enum store_status withdraw_job(struct store_db *db, struct write *write)
{
    const char *scope = ((const struct withdrawal *)write->data)->scope;
    char id[UUID_TEXT] = "";
    enum store_status status = store_consent_withdraw(db, write->call.student_id, scope,
                                                      write->call.principal->account_id, write->call.now, id);
    if (status == STORE_NOT_FOUND) {
        status = refusal_keep(db, write, scope, id);
    }
    answer_audit(write, "consent.withdraw", "consent", id, write->call.student_id);
    write->audit.detail = consent_detail(write->call.arena, scope);
    return status;
}

void consents_withdraw(struct call *call)
{
    struct withdrawal *withdrawal = arena_alloc(call->arena, sizeof *withdrawal);
    struct store_student student;
    enum store_status status =
        withdrawal == NULL ? STORE_NO_MEMORY : store_student_get(call->db, call->student_id, call->arena, &student);
    if (status == STORE_OK) {
        withdrawal->scope = scope_named(exchange_capture(call->exchange, 1));
        status = withdrawal->scope == NULL ? STORE_NOT_FOUND : STORE_OK;
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    if (!may_speak(call, &student)) {
        return;
    }
    struct write *write = write_new(call, withdraw_job, withdrawal);
    if (write != NULL) {
        write->status = 204;
        call_write(write);
    }
}
