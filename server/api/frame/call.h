/* One request under way (struct call), what all of them share (struct api), the row of the table that says what a
 * route may (struct api_row), and how a handler ends: with an answer, a problem, or a write that answers later. */
#ifndef LEADSIDE_API_FRAME_CALL_H
#define LEADSIDE_API_FRAME_CALL_H

#include <pthread.h>
#include <stdatomic.h>

#include "api/club/files.h"
#include "api/frame/api.h"
#include "auth/principal.h"
#include "auth/rights.h"
#include "auth/secret.h"
#include "core/practice.h"
#include "core/standard.h"
#include "http/exchange.h"
#include "store/club/audit.h"
#include "store/people/student.h"

/* One parsed house standard with the drills in use; counted, so that a change never pulls it from under a request. */
struct rules_cache {
    atomic_int users;
    struct arena *arena;
    int64_t number; /* the store's */
    unsigned edits; /* the api's count of rules_edits when it was read */
    const struct standard *standard;
    struct drill *drills;
    const char **drill_sheets; /* each drill as homework shows it: a JSON object */
    int drill_count;
};

struct reading_memory;
struct listeners;

struct api {
    struct store *store;
    struct password_pool *passwords;
    struct throttle *throttle;
    bool secure;
    uint8_t factor_key[SECRET_BYTES]; /* seals the secrets of second factors */
    struct reading_memory *reading;
    struct listeners *listeners;
    uint8_t known_key[SECRET_BYTES], body_key[SECRET_BYTES];
    struct http_server *_Atomic server; /* NULL until the listener is there */
    atomic_bool refusing;
    _Atomic int64_t write_try_ns; /* health.c: when /readyz next tries a write; 0 = at once */
    atomic_int write_tried;       /* how the last try ended: an enum store_status */
    pthread_mutex_t rules_lock;
    struct rules_cache *rules;
    atomic_uint rules_edits; /* counted by write.c after every committed write about a drill or the standard */
    struct http_route *routes;
    struct served_files *files;
    struct api_row *file_rows; /* one for each of them, and one that tells that the pose library is there */
    size_t route_count;
    struct heavy *heavy;
    struct standard_work *work; /* api/club/standard_work.h */
    const char *directory;      /* the club's folder */
};

/* Everything a handler has. principal is NULL on open routes; student_id is set on team and self routes about one
 * student, after the right was checked. */
struct call {
    struct exchange *exchange;
    struct api *api;
    const struct api_row *row;
    const struct principal *principal;
    struct arena *arena;
    struct store_db *db; /* this thread's reader; NULL only when the store is out of order */
    char student_id[UUID_TEXT];
    int64_t now;
    unsigned rules_edits;       /* for rules_borrow */
    struct throttle_try *tried; /* a password under way; NULL = none */
    bool early;                 /* judged at the gate, before its body: it can't be parked there */
};

struct store_idempotency;
typedef void (*api_handler)(struct call *call);

/* What the first {id} of a path names, so that the dispatcher can find whose it is. */
enum api_subject {
    SUBJECT_NONE,
    SUBJECT_STUDENT,
    SUBJECT_SWING,
    SUBJECT_LESSON,
    SUBJECT_NOTE,
    SUBJECT_FIX,
    SUBJECT_HOMEWORK,
    SUBJECT_INBOX,
    SUBJECT_HANDOVER,
    SUBJECT_RETEST,
    SUBJECT_ROUND,
    SUBJECT_DRILL /* the whole club's; the ids may be words */
};

struct api_row {
    enum http_method method;
    const char *path;
    const char *operation; /* operationId of docs/openapi.json */
    api_handler handler;
    unsigned roles; /* RIGHTS_... set */
    enum rights_scope scope;
    enum api_subject subject;
    size_t body_limit; /* 0 = takes no body */
    enum throttle_class throttle;
    bool keyed;           /* takes Idempotency-Key */
    bool while_temporary; /* allowed while the password is temporary */
    bool fresh;           /* the caller must have confirmed within ten minutes who that is */
    const char *consumes; /* content types of the body, ", " between; NULL = application/json */
    const char *queries;  /* names of known ?queries, space-separated; NULL = none */
};

/* Every route but the embedded pages. */
extern const struct api_row api_rows[];
extern const size_t api_rows_count;

/* dispatch.c: the handler of every route; app is the api. */
void dispatch_exchange(struct exchange *exchange, void *app);

/* ---- the rules (rules_cache.c) ----
 * The current standard and drills, parsed. Read anew when one of them was changed. NULL when the store is out of order.
 * What is borrowed is not changed and not freed until it is returned, on any thread. rules_edits: the api's count
 * before db's read transaction began (call->rules_edits), lest what was read at an older moment be taken for the
 * newest. */
const struct rules_cache *rules_borrow(struct api *api, struct store_db *db, unsigned rules_edits);
void rules_return(struct api *api, const struct rules_cache *rules);
/* A drill that is in use; NULL when there is none (or no id). */
const struct drill *rules_drill(const struct rules_cache *rules, const char *id);

/* ---- ending a call ---- */
/* json: text in the arena. etag 0 = none. location NULL = none. */
void call_reply_json(struct call *call, int status, const char *json, size_t length, int64_t etag,
                     const char *location);
/* 200 with what moves without an edit as well: the ETag tells apart all of it (precondition.h). */
void call_reply_moving(struct call *call, const char *json, size_t length, int64_t version);
void call_problem_store(struct call *call, enum store_status status); /* the ONE switch from store to HTTP */

/* ---- writing ----
 * call_write parks the exchange, runs the idempotency look-up, job, audit and the kept answer in one savepoint, and
 * answers. The job runs on the writer thread; it fills write->status/json/etag/location/audit, or sets a refusal with
 * write_refuse and returns STORE_INVALID. */
struct write {
    struct call call; /* a copy that lives in the arena; call.db is the writer's inside the job */
    enum store_status (*job)(struct store_db *db, struct write *write);
    void *data;       /* the handler's own, in the arena */
    int status;       /* of the answer, e.g. 201 */
    const char *json; /* may be set before or in the job */
    size_t json_length;
    int64_t etag;
    const char *location;
    const char *kept_json; /* kept for a repeated request instead of json (json holds a secret); NULL = json itself */
    const uint8_t *body_hash;      /* SHA-256 of the body where the handler has it already; may be NULL */
    struct store_idempotency *key; /* what Idempotency-Key stands for; write.c's own */
    /* Makes the answer of a repeated request out of the kept text in json; NULL = the kept text is the answer. */
    enum store_status (*restore)(struct store_db *db, struct write *write);
    struct store_audit audit; /* action NULL = the job audits or waives by itself */
    /* refusal */
    int refused;
    const char *refused_type, *refused_path, *refused_detail;
    const char *refused_more; /* further members of the refusal, as JSON text; NULL = none */
    bool replayed;            /* the answer is one kept earlier: the job did not run */
    enum store_status outcome;
    void (*after)(struct write *write); /* on the HTTP thread after success, before the answer; may be NULL */
    void (*reply)(struct write *write); /* the same, and gives the answer itself, or hands over; may be NULL */
};
struct write *write_new(struct call *call, enum store_status (*job)(struct store_db *, struct write *), void *data);
void call_write(struct write *write);
enum store_status write_refuse(struct write *write, int status, const char *type, const char *path, const char *detail);

/* A number from 1 to 999 999 999 as it stands in an address; 0 when it is none. */
int64_t call_number(const char *text);
/* ?limit=, ?after= (the last id of the page before) and what narrows the list: false and already answered when
 * malformed. */
bool call_page(struct call *call, struct store_page *page);
/* What narrows a list alone, for one that comes whole. */
bool call_narrow(struct call *call, struct store_page *page);
/* Link rel="next". */
void call_link_next(struct call *call, const char *last_id);

/* ---- passwords, off the HTTP threads (hashing.c) ----
 * Both park the exchange; then runs on its HTTP thread. A full queue is answered 429 with Retry-After, short memory
 * 503; then is not called for either. text_hash NULL = nobody's: equal work. new_hash is "" unless one was made. */
typedef void (*hashing_then)(struct call *call, bool right, const char *new_hash, void *data);
void call_verify(struct call *call, const char *text_hash, const char *password, hashing_then then, void *data);
void call_hash(struct call *call, const char *password, hashing_then then, void *data);
/* Before call_verify, where guesses are to be counted. False: answered (429 with Retry-After). The handler ends the try
 * as soon as it knows whether it was right; one that only the job of a write can judge is ended by its answer (a
 * refusal: wrong); what was never looked at ends by itself, uncounted. */
bool call_try_begin(struct call *call, const struct throttle_who *who);
/* The caller's own password said again: counted by itself, so that a stolen session can't keep the owner from signing
 * in. False: answered. */
bool call_try_own(struct call *call);
void call_try_end(struct call *call, enum throttle_result result); /* none begun, or ended: nothing */

#endif
