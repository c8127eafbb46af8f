/* Passwords: Argon2id (RFC 9106) through libsodium, in its own text form. Hashing costs tens of milliseconds, so it is
 * done by one thread of somewhat lower priority behind a bounded queue, never by an HTTP thread. */
#ifndef LEADSIDE_AUTH_PASSWORD_H
#define LEADSIDE_AUTH_PASSWORD_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define PASSWORD_HASH_TEXT 128  /* crypto_pwhash_STRBYTES, final NUL included */
#define PASSWORD_LENGTH_MIN 12  /* characters */
#define PASSWORD_LENGTH_MAX 128 /* bytes */

/* Cost of a new hash. Zero means the default: 19 MiB, 2 passes (OWASP's minimum), one lane (libsodium knows no other).
 */
struct password_cost {
    size_t memory_bytes; /* at least 8192 */
    unsigned passes;     /* at least 1 */
};

enum password_fault {
    PASSWORD_FINE,
    PASSWORD_TOO_SHORT,
    PASSWORD_TOO_LONG,
    PASSWORD_NOT_TEXT,
    PASSWORD_IS_NAME,
    PASSWORD_COMMON,
    PASSWORD_REPEATED,
    PASSWORD_RUN
};

/* Whose password it is to be. Each may be NULL. */
struct password_about {
    const char *sign_in, *name, *club;
};

/* May this become somebody's password? UTF-8 without control characters, within the lengths above, not made of these
 * names, none of the commonest, no repetition, no run along the keyboard (password_rule.c). about may be NULL. Asked
 * when a password is set, never when one is given to sign in. */
enum password_fault password_check(const char *password, const struct password_about *about);
const char *password_fault_text(enum password_fault fault); /* a sentence for a person */

/* ---- at once: for commands and the hash thread ---- */

/* False when memory is short or the password is too long. */
bool password_hash(const struct password_cost *cost, const char *password, char out[PASSWORD_HASH_TEXT])
    __attribute__((warn_unused_result));
/* False for a wrong password and for a text that is no hash; with errno ENOMEM when there was no memory to tell. */
bool password_verify(const char *hash, const char *password) __attribute__((warn_unused_result));
/* Was this made with another cost than cost? */
bool password_needs_rehash(const struct password_cost *cost, const char *hash);

/* ---- later: the hash thread ---- */

struct password_pool;

/* queue_limit 0 = 16 waiting jobs. NULL when the thread can't be had. */
struct password_pool *password_pool_new(const struct password_cost *cost, size_t queue_limit)
    __attribute__((warn_unused_result));
/* Takes no more, finishes every queued job (each gets its done call). Later calls are refused. */
void password_pool_drain(struct password_pool *pool);
/* Drains, then frees. NULL is fine. */
void password_pool_free(struct password_pool *pool);

struct password_outcome {
    bool right;        /* verify: the password fits. hash: new_hash is ready */
    bool no_memory;    /* nothing was found out, and right is false */
    bool needs_rehash; /* verify: right, but the hash's cost is out of date; new_hash is ready when not "" */
    char new_hash[PASSWORD_HASH_TEXT];
};

/* Called once by the hash thread: must not block. outcome lives until it returns. */
typedef void (*password_done)(const struct password_outcome *outcome, void *argument);

/* hash NULL = a name nobody has: the same work is done and the answer is wrong. Texts are copied. False, and done will
 * never be called, when the queue is full or draining: the caller answers 503 with Retry-After. */
bool password_verify_async(struct password_pool *pool, const char *hash, const char *password, password_done done,
                           void *argument) __attribute__((warn_unused_result));
bool password_hash_async(struct password_pool *pool, const char *password, password_done done, void *argument)
    __attribute__((warn_unused_result));

struct password_metrics {
    size_t queue_depth, queue_limit;
    uint64_t finished, refused;
    double seconds; /* spent hashing */
};
void password_pool_measure(struct password_pool *pool, struct password_metrics *out);

#endif
