/* The one way into every handler: who asks, may they, about whom, and not too often. A row of the table is all it
 * needs to know, so that a right is never written anywhere else. */
#include <sodium.h>
#include <stdlib.h>
#include <string.h>

#include "api/frame/call.h"
#include "api/frame/reading.h"
#include "base/network.h"
#include "store/club/inbox.h"
#include "store/engine/idempotency.h"
#include "store/lessons/lesson.h"
#include "store/lessons/note.h"
#include "store/lessons/swing.h"
#include "store/people/device.h"
#include "store/people/handover.h"
#include "store/practice/fix.h"
#include "store/practice/homework.h"
#include "store/practice/retest.h"
#include "store/practice/round.h"

static bool answer_right(struct call *call, enum rights_answer answer)
{
    switch (answer) {
    case RIGHTS_YES:
        return true;
    case RIGHTS_WHO:
        /* RFC 6750, 3.1: only whoever sent a token is told that it is not good */
        exchange_add_header(call->exchange, "WWW-Authenticate",
                            exchange_header(call->exchange, "Authorization") != NULL ? "Bearer error=\"invalid_token\""
                                                                                     : "Bearer");
        exchange_problem(call->exchange, 401, "not-signed-in", NULL, "Sign in first: no token, or one that has ended.");
        break;
    case RIGHTS_NO:
        exchange_problem(call->exchange, 403, "not-allowed", NULL, "Your role may not do this.");
        break;
    case RIGHTS_PASSWORD:
        exchange_problem(call->exchange, 403, "password-temporary", NULL,
                         "Change your password first: somebody else chose it.");
        break;
    case RIGHTS_HIDDEN:
        call_problem_store(call, STORE_NOT_FOUND);
        break;
    }
    return false;
}

#define REFUSAL_PAUSE_MS 100

static void refuse_often(struct exchange *exchange, void *argument)
{
    const unsigned *wait = argument;
    char *text = arena_printf(exchange_arena(exchange), "%u", *wait);
    exchange_add_header(exchange, "Retry-After", text == NULL ? "1" : text);
    exchange_problem(exchange, 429, "too-often", NULL, "Too many requests: wait %u s.", *wait);
}

/* One from the bucket of that class and key; false: answered, or soon. Whoever is refused hears of it after a moment: a
 * program that asks again at once would otherwise take the processors from everybody with refusals alone. */
static bool take(struct call *call, enum throttle_class class, const char *key)
{
    unsigned wait = throttle_take(call->api->throttle, class, key, clock_monotonic_ns() / 1000000);
    if (wait == 0) {
        return true;
    }
    unsigned *kept = call->early ? NULL : arena_alloc(call->arena, sizeof *kept);
    if (kept == NULL) {
        refuse_often(call->exchange, &wait);
        return false;
    }
    *kept = wait;
    /* not all at once, or those who were refused together would come back together */
    exchange_pause(call->exchange, REFUSAL_PAUSE_MS + randombytes_uniform(REFUSAL_PAUSE_MS), refuse_often, kept);
    return false;
}

/* ---- who ---- */

/* A token that is nobody's: a few from each network are told so, whoever sends many waits. A good token never comes
 * here, so a guesser doesn't lock out the neighbours. */
static bool not_guessing(struct call *call)
{
    char network[NETWORK_TEXT];
    network_of(exchange_remote(call->exchange), network);
    return take(call, THROTTLE_UNKNOWN, network);
}

/* False: answered. call->principal stays NULL when nobody is signed in. */
static bool find_principal(struct call *call)
{
    struct exchange *exchange = call->exchange;
    const char *header = exchange_header(exchange, "Authorization");
    bool by_cookie = header == NULL;
    const char *token = by_cookie
                            ? exchange_cookie(exchange, call->api->secure ? PRINCIPAL_COOKIE_SECURE : PRINCIPAL_COOKIE)
                            : auth_bearer(header);
    if (token == NULL) {
        return true;
    }
    struct principal *principal = arena_alloc(call->arena, sizeof *principal);
    if (principal == NULL) {
        call_problem_store(call, STORE_NO_MEMORY);
        return false;
    }
    enum store_status status = auth_authenticate(call->db, token, by_cookie, call->now, principal);
    if (status == STORE_NOT_FOUND) {
        return not_guessing(call);
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return false;
    }
    call->principal = principal;
    exchange_note_account(exchange, principal->account_id);
    if (principal->by_cookie && call->row->method != HTTP_GET &&
        !auth_origin_ok(exchange_header(exchange, "Origin"), exchange_header(exchange, "Sec-Fetch-Site"),
                        exchange_header(exchange, "Host"), call->api->secure)) {
        exchange_problem(exchange, 403, "foreign-origin", NULL, "A page of another site may not change anything here.");
        return false;
    }
    return true;
}

/* A page that has been open for a while may speak for somebody who is no longer signed in: another tab of its browser
 * has signed in as somebody else. It says for whom it speaks, and nothing is done in another one's name. */
static bool speaks_for_caller(struct call *call)
{
    const char *account = exchange_header(call->exchange, PRINCIPAL_ACCOUNT_HEADER);
    if (account == NULL || strcmp(account, call->principal->account_id) == 0) {
        return true;
    }
    exchange_problem(call->exchange, 409, "other-account", NULL,
                     "This was meant for another account than the one that is signed in. Nothing was done.");
    return false;
}

struct touch {
    char session_id[UUID_TEXT];
    char device_id[UUID_TEXT]; /* "" = not on a club's tablet */
    int64_t now;
};

static enum store_status touch_run(struct store_db *db, void *argument)
{
    const struct touch *touch = argument;
    store_audit_waive(db);
    enum store_status status = store_session_touch(db, touch->session_id, touch->now);
    return status == STORE_OK && touch->device_id[0] != '\0' ? store_device_touch(db, touch->device_id, touch->now)
                                                             : status;
}

static void touch_done(enum store_status status, void *argument)
{
    (void)status; /* the next request tries again */
    free(argument);
}

/* Not waited for. A page that is left open listens again by itself whenever its line was cut: that is nobody using it.
 */
static void touch_session(const struct call *call)
{
    const bool used = call->row->throttle != THROTTLE_LISTEN;
    struct touch *touch =
        used && call->principal->touch && !atomic_load(&call->api->refusing) ? malloc(sizeof *touch) : NULL;
    if (touch == NULL) {
        return;
    }
    memcpy(touch->session_id, call->principal->session_id, UUID_TEXT);
    memcpy(touch->device_id, call->principal->device_id, UUID_TEXT);
    touch->now = call->now;
    if (store_submit(call->api->store, touch_run, touch_done, touch) != STORE_OK) {
        free(touch);
    }
}

/* ---- about whom ---- */

static enum store_status find_student(struct call *call, const char *id)
{
    struct store_student student;
    enum store_status status = store_student_get(call->db, id, call->arena, &student);
    memcpy(call->student_id, id, UUID_TEXT);
    return status;
}

/* Whose the row is that an address names, into call->student_id; addressee: for whom alone it is, where it is so. */
static enum store_status find_owner(struct call *call, const char *id, char addressee[UUID_TEXT])
{
    struct store_lesson lesson;
    struct store_note note;
    struct store_fix fix;
    struct store_homework homework;
    struct store_handover handover;
    struct store_retest retest;
    struct store_round round;
    const char *owner = call->student_id;
    enum store_status status = STORE_NOT_FOUND;
    switch (call->row->subject) {
    case SUBJECT_NONE:
    case SUBJECT_DRILL:
    case SUBJECT_STUDENT:
        break;
    case SUBJECT_SWING:
        status = store_swing_student(call->db, id, call->student_id);
        break;
    case SUBJECT_LESSON:
        status = store_lesson_get(call->db, id, call->arena, &lesson);
        owner = lesson.student_id;
        break;
    case SUBJECT_NOTE:
        status = store_note_get(call->db, id, call->arena, &note);
        owner = note.student_id;
        break;
    case SUBJECT_FIX:
        status = store_fix_get(call->db, id, call->arena, &fix);
        owner = fix.student_id;
        break;
    case SUBJECT_INBOX:
        status = store_inbox_whose(call->db, id, call->student_id, addressee);
        break;
    case SUBJECT_HANDOVER:
        status = store_handover_get(call->db, id, call->arena, &handover);
        owner = handover.student_id;
        if (status == STORE_OK) {
            memcpy(addressee, handover.to_id, UUID_TEXT);
        }
        break;
    case SUBJECT_RETEST:
        status = store_retest_get(call->db, id, call->arena, &retest);
        owner = retest.student_id;
        break;
    case SUBJECT_ROUND:
        status = store_round_get(call->db, id, call->arena, &round);
        owner = round.student_id;
        break;
    case SUBJECT_HOMEWORK:
        status = store_homework_get(call->db, id, 0, call->arena, &homework);
        owner = homework.student_id;
        break;
    }
    if (status == STORE_OK && owner != call->student_id) {
        memcpy(call->student_id, owner, UUID_TEXT);
    }
    return status;
}

/* addressed: what is for this caller alone may be about a student of another's; then the caller counts as of the team.
 */
static enum store_status find_subject(struct call *call, bool *addressed)
{
    const char *id = exchange_capture(call->exchange, 0);
    char addressee[UUID_TEXT] = "";
    if (id == NULL || !uuid_valid(id)) {
        return STORE_NOT_FOUND;
    }
    if (call->row->subject == SUBJECT_STUDENT && call->principal->role == STORE_HEAD) {
        return find_student(call, id);
    }
    if (call->row->subject ==
        SUBJECT_STUDENT) { /* a membership proves that the student is there; a head's needs none */
        memcpy(call->student_id, id, UUID_TEXT);
        return STORE_OK;
    }
    enum store_status status = find_owner(call, id, addressee);
    *addressed = strcmp(addressee, call->principal->account_id) == 0;
    return status;
}

/* Role, then password, then the membership. False: answered. */
static bool allowed(struct call *call)
{
    const struct api_row *row = call->row;
    enum rights_scope role_only = row->scope == RIGHTS_TEAM ? RIGHTS_CLUB : row->scope;
    enum rights_answer answer =
        rights_check(row->roles, role_only, call->principal, RIGHTS_STRANGER, row->while_temporary);
    if (answer != RIGHTS_YES) {
        return answer_right(call, answer);
    }
    if (row->scope == RIGHTS_SELF) {
        memcpy(call->student_id, call->principal->student_id, UUID_TEXT);
    }
    if (row->scope != RIGHTS_TEAM) {
        return true;
    }
    enum rights_membership membership = RIGHTS_STRANGER;
    bool addressed = false;
    enum store_status status = find_subject(call, &addressed);
    if (status == STORE_OK) {
        status = rights_find_membership(call->db, call->principal, call->student_id, &membership);
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return false;
    }
    membership = addressed && call->principal->role == STORE_COACH ? RIGHTS_ON_TEAM : membership;
    return answer_right(call, rights_check(row->roles, row->scope, call->principal, membership, row->while_temporary));
}

/* ---- the rest ---- */

static bool not_too_often(struct call *call)
{
    char network[NETWORK_TEXT];
    const char *key = call->principal == NULL ? network : call->principal->account_id;
    if (call->row->throttle == THROTTLE_NONE) {
        return true;
    }
    network_of(exchange_remote(call->exchange), network);
    return take(call, call->row->throttle, key);
}

static bool key_fits(struct call *call)
{
    if (!call->row->keyed) {
        return true;
    }
    const char *key = exchange_header(call->exchange, "Idempotency-Key");
    size_t length = key == NULL ? 0 : strlen(key);
    bool fits = length > 0 && length <= STORE_KEY_MAX;
    for (size_t i = 0; i < length && fits; i++) {
        fits = key[i] > 0x20 && key[i] < 0x7f;
    }
    if (!fits) {
        exchange_problem(call->exchange, 400, "key-missing", NULL,
                         "Idempotency-Key must be there: 1 to %d letters, digits and signs of your own choosing, new "
                         "for each thing made.",
                         STORE_KEY_MAX);
    }
    return fits;
}

static bool known_query(const char *names, const char *name)
{
    size_t length = strlen(name);
    while (names != NULL && *names != '\0') {
        size_t size = strcspn(names, " ");
        if (size == length && memcmp(names, name, size) == 0) {
            return true;
        }
        names += size + (names[size] == ' ');
    }
    return false;
}

static bool queries_fit(struct call *call)
{
    for (int i = 0; exchange_query_name(call->exchange, i) != NULL; i++) {
        const char *name = exchange_query_name(call->exchange, i);
        if (!known_query(call->row->queries, name)) {
            exchange_problem(call->exchange, 400, "unknown-query", name, "This address knows no ?%.60s=.", name);
            return false;
        }
    }
    return true;
}

/* A route that gives much away, or takes it, asks for more than a session that was left open. */
static bool fresh_enough(struct call *call)
{
    if (!call->row->fresh || auth_is_fresh(call->principal, call->now)) {
        return true;
    }
    exchange_problem(call->exchange, 403, "confirm-needed", NULL,
                     "Say your password again first (POST /v1/me/confirm): this needs a proof of the last 10 minutes.");
    return false;
}

/* Everything between a route and its handler; false: answered, it gets no further. */
static bool judge(struct call *call)
{
    const bool open = call->row->scope == RIGHTS_OPEN;
    if (!open && (!find_principal(call) || (call->principal == NULL && !answer_right(call, RIGHTS_WHO)) ||
                  !speaks_for_caller(call))) {
        return false;
    }
    if (!not_too_often(call) || (!open && !allowed(call)) || !queries_fit(call) || !key_fits(call) ||
        !fresh_enough(call)) {
        return false;
    }
    if (call->row->method != HTTP_GET && atomic_load(&call->api->refusing)) {
        call_problem_store(call, STORE_CLOSED);
        return false;
    }
    if (call->principal != NULL) {
        if (!exchange_claim(call->exchange, call->principal->account_id)) {
            return false;
        }
        touch_session(call);
        reading_note(call);
    }
    return true;
}

/* What changes from one moment to the next. */
static void call_refresh(struct call *call)
{
    call->db = store_reader(call->api->store);
    call->now = clock_now_ms();
    call->rules_edits = atomic_load(&call->api->rules_edits);
}

/* NULL: answered. */
static struct call *call_new(struct exchange *exchange, struct api *api)
{
    struct arena *arena = exchange_arena(exchange);
    struct call *call = arena_alloc(arena, sizeof *call);
    if (call == NULL) {
        call_problem_store(&(struct call){.exchange = exchange, .api = api}, STORE_NO_MEMORY);
        return NULL;
    }
    *call = (struct call){.exchange = exchange, .api = api, .row = exchange_route(exchange), .arena = arena};
    call_refresh(call);
    return call;
}

/* Who asks, whether they may, and what they get to see: all of one moment. A job runs on the writer's connection and is
 * not bound by it. False: answered. */
static bool moment_begin(struct call *call)
{
    enum store_status status = call->db == NULL ? STORE_ERROR : store_read_begin(call->db);
    if (status != STORE_OK) {
        call_problem_store(call, status);
    }
    return status == STORE_OK;
}

bool api_gate(struct exchange *exchange, void *app)
{
    struct call *call = call_new(exchange, app);
    if (call == NULL) {
        return false;
    }
    call->early = true;
    if (!moment_begin(call)) {
        return false;
    }
    const bool welcome = judge(call);
    store_read_end(call->db);
    exchange_keep(exchange, welcome ? call : NULL);
    return welcome;
}

void dispatch_exchange(struct exchange *exchange, void *app)
{
    struct call *call = exchange_kept(exchange);
    const bool judged = call != NULL; /* before its body came */
    if (judged) {
        call_refresh(call);
    } else {
        call = call_new(exchange, app);
    }
    if (call == NULL) {
        return;
    }
    if (call->row->scope == RIGHTS_OPEN) {
        if (judged || judge(call)) {
            call->row->handler(call);
        }
        return;
    }
    if (!moment_begin(call)) {
        return;
    }
    struct store_db *db = call->db; /* a parked call may live on by itself from here */
    if (judged || judge(call)) {
        call->row->handler(call);
    }
    store_read_end(db);
}
