/* What the files of this room share: the api's state, a route's row, and the way every handler ends. */
#ifndef LEADSIDE_API_INTERNAL_H
#define LEADSIDE_API_INTERNAL_H

#include <stdatomic.h>

#include "api/api.h"
#include "auth/principal.h"
#include "auth/rights.h"
#include "http/exchange.h"
#include "practice.h"
#include "standard.h"
#include "store/audit.h"
#include "store/student.h"

/* One parsed house standard with the drills in use; counted, so that a change never pulls it from under a request. */
struct api_book {
    atomic_int users;
    struct arena *arena;
    int64_t number; /* the store's */
    const struct standard *standard;
    struct drill *drills;
    int drill_count;
};

struct api {
    struct store *store;
    struct password_pool *passwords;
    struct throttle *throttle;
    bool secure;
    struct http_server *server;
    atomic_bool refusing;
    pthread_mutex_t book_lock;
    struct api_book *book;
    struct http_route *routes;
    size_t route_count;
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
};

typedef void (*api_handler)(struct call *call);

/* What the first {id} of a path names, so that the dispatcher can find whose it is. */
enum api_subject {
    SUBJECT_NONE,
    SUBJECT_STUDENT,
    SUBJECT_SWING,
    SUBJECT_LESSON,
    SUBJECT_FIX,
    SUBJECT_HOMEWORK
};

struct api_row {
    enum http_method method;
    const char *path;
    const char *operation; /* operationId of docs/openapi.json */
    api_handler handler;
    unsigned roles;          /* RIGHTS_... set */
    enum rights_scope scope;
    enum api_subject subject;
    size_t body_limit;       /* 0 = takes no body */
    enum throttle_class throttle;
    bool keyed;              /* takes Idempotency-Key */
    bool while_temporary;    /* allowed while the password is temporary */
};

/* ---- ending a call ---- */
/* json: text in the arena. etag 0 = none. location NULL = none. */
void call_reply_json(struct call *call, int status, const char *json, size_t length, int64_t etag, const char *location);
void call_problem_store(struct call *call, enum store_status status); /* the ONE switch from store to HTTP */

/* ---- writing ----
 * call_write parks the exchange, runs the idempotency look-up, job, audit and the kept answer in one savepoint, and
 * answers. The job runs on the writer thread; it fills write->status/json/etag/location/audit, or sets a refusal with
 * write_refuse and returns STORE_INVALID. */
struct write {
    struct call call;   /* a copy that lives in the arena; call.db is the writer's inside the job */
    enum store_status (*job)(struct store_db *db, struct write *write);
    void *data;         /* the handler's own, in the arena */
    int status;         /* of the answer, e.g. 201 */
    const char *json;   /* may be set before or in the job */
    size_t json_length;
    int64_t etag;
    const char *location;
    struct store_audit audit; /* action NULL = the job audits or waives by itself */
    /* refusal */
    int refused;
    const char *refused_type, *refused_path, *refused_detail;
    void (*after)(struct write *write); /* on the HTTP thread after success, before the answer; may be NULL */
};
struct write *write_new(struct call *call, enum store_status (*job)(struct store_db *, struct write *), void *data);
void call_write(struct write *write);
enum store_status write_refuse(struct write *write, int status, const char *type, const char *path, const char *detail);

/* If-Match: false and already answered (428, 412 for a malformed tag) when there is none. */
bool call_if_match(struct call *call, int64_t *version);
/* ?limit= and ?cursor=: false and already answered when malformed. */
bool call_page(struct call *call, struct store_page *page);
/* Link rel="next" when more. */
void call_link_next(struct call *call, bool more, const char *last_id);

#endif
