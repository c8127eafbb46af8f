/* Answers kept for repeated requests: a tablet may resend, and nothing is doubled. */
#ifndef LEADSIDE_STORE_ENGINE_IDEMPOTENCY_H
#define LEADSIDE_STORE_ENGINE_IDEMPOTENCY_H

#include "store/engine/store.h"

#define STORE_KEY_MAX 128

struct store_idempotency {
    char principal[UUID_TEXT]; /* the account */
    const char *key;           /* 1...STORE_KEY_MAX bytes */
    const char *route;         /* "POST /v1/students/{id}/swings" */
    /* keyed, and not to be made again from a copy of the file */
    uint8_t body_hash[STORE_HASH];
    int status;              /* HTTP */
    const char *response;    /* the body that was sent */
    const char *object_kind; /* "swing", "student", "lesson", "fix", "drill", "account", "homework_done", ...; NULL =
                                nothing made */
    char object_id[STORE_SLUG];
    char student_id[UUID_TEXT]; /* whose data the answer holds: it goes when the student is erased; "" = nobody's */
    int64_t created;            /* by the wall clock; the store adds how long the server had been running */
};

/* STORE_OK: seen before. Compare route and body_hash: other ones are 422. */
enum store_status store_idempotency_find(struct store_db *db, const char *principal, const char *key,
                                         struct arena *arena, struct store_idempotency *out) STORE_CHECKED;
/* In the job that makes the object. STORE_CONFLICT: the key came in meanwhile; look again. */
enum store_status store_idempotency_insert(struct store_db *db, const struct store_idempotency *row) STORE_CHECKED;
/* Forgets answers that are older than kept_ms both by the wall clock (now) and by the time the server has been running
 * since: a wall clock that is wrong for a while loses none. At most 500 at a time. removed may be NULL. */
enum store_status store_idempotency_purge(struct store_db *db, int64_t now, int64_t kept_ms,
                                          int64_t *removed) STORE_CHECKED;

#endif
