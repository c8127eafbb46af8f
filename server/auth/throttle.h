/* Not too much at once: token buckets by network or account, and a growing wait after wrong passwords. Thread-safe. The
 * tables have a fixed size; when one is crowded the entry that remembers least gives way, but never one that still
 * makes somebody wait: rather than that, a newcomer waits. */
#ifndef LEADSIDE_AUTH_THROTTLE_H
#define LEADSIDE_AUTH_THROTTLE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum throttle_class {
    THROTTLE_UNSET,   /* refused at start */
    THROTTLE_NONE,    /* health, static pages */
    THROTTLE_READ,    /* signed-in reads */
    THROTTLE_WRITE,   /* signed-in writes */
    THROTTLE_LISTEN,  /* listening for events: beginning to */
    THROTTLE_HEAVY,   /* exports, scoring again, trying a standard */
    THROTTLE_SIGN_IN, /* by network */
    THROTTLE_UNKNOWN, /* tokens that are nobody's, by network */
    THROTTLE_CLASS_COUNT
};

struct throttle_rate {
    double per_second; /* refill; 0 = no limit */
    double burst;      /* bucket size */
};

struct throttle_config {
    struct throttle_rate rates[THROTTLE_CLASS_COUNT];
    struct throttle_rate guesses; /* wrong passwords for one name from all unknown devices together; 0 = no limit */
    size_t slots;                 /* of each table; 0 = 8192 */
    unsigned free_failures;       /* wrong passwords before waiting starts; 0 = 3 */
    unsigned site_failures;       /* the same for a whole site (network_site); 0 = 10 */
    unsigned first_wait_ms;       /* doubled with each further one; 0 = 1000 */
    unsigned longest_wait_ms;     /* 0 = 900000 */
    unsigned forget_ms;           /* quiet time after which failures are forgotten; 0 = 3600000 */
};

struct throttle;

/* What the server uses unless told otherwise. */
struct throttle_config throttle_defaults(void);
struct throttle *throttle_new(const struct throttle_config *config) __attribute__((warn_unused_result));
void throttle_free(struct throttle *throttle);

/* Takes one from the bucket of (class, key). 0 = go on; otherwise whole seconds to wait (Retry-After). now_ms is any
 * clock that does not go back. */
unsigned throttle_take(struct throttle *throttle, enum throttle_class class, const char *key, int64_t now_ms)
    __attribute__((warn_unused_result));

/* ---- tries of a password ----
 * Wrong ones are counted by name and network, by name and site, and by name alone; so a stranger elsewhere never makes
 * the owner wait, a guesser in one place waits ever longer, and guessing from everywhere at once is held to `guesses`.
 * A device that is known (OWASP, "Slow down online guessing attacks with device cookies") is counted by itself: nobody
 * else's guesses make it wait. */

struct throttle_who {
    const char *name;   /* the account's name as it is compared, known or not */
    const char *remote; /* the address; NULL with a device */
    const char *device; /* what tells a known device from all others; NULL = unknown */
};

/* One try under way. It is counted while it is being looked at, so that tries sent at once don't all slip through. */
struct throttle_try {
    uint64_t keys[3][2];
    unsigned free[3]; /* 0: the bucket of the name */
    int count;        /* 0 = none, or ended */
};

enum throttle_result {
    THROTTLE_RIGHT,  /* what was counted against this name here is forgotten */
    THROTTLE_WRONG,  /* counts */
    THROTTLE_UNSEEN, /* nobody has looked at the password: as if it had not been tried */
};

/* 0 = look at the password, then throttle_end; otherwise seconds to wait, and there is nothing to end. A try that is
 * never ended is taken for unseen after a minute. */
unsigned throttle_begin(struct throttle *throttle, const struct throttle_who *who, int64_t now_ms,
                        struct throttle_try *out) __attribute__((warn_unused_result));
/* The second call for one try does nothing; so does one for a try that is all zero. */
void throttle_end(struct throttle *throttle, struct throttle_try *try, enum throttle_result result, int64_t now_ms);

#endif
