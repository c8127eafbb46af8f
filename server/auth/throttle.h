/* Not too much at once: token buckets by address or account, and a growing wait after wrong passwords. Thread-safe;
 * the table has a fixed size, and when it is crowded the longest unused entry gives way. */
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
    THROTTLE_HEAVY,   /* exports, scoring again, trying a standard */
    THROTTLE_SIGN_IN, /* by address */
    THROTTLE_UNKNOWN, /* tokens that are nobody's, by network */
    THROTTLE_CLASS_COUNT
};

struct throttle_rate {
    double per_second; /* refill; 0 = no limit */
    double burst;      /* bucket size */
};

struct throttle_config {
    struct throttle_rate rates[THROTTLE_CLASS_COUNT];
    size_t slots;             /* 0 = 8192 */
    unsigned free_failures;   /* wrong passwords before waiting starts; 0 = 3 */
    unsigned first_wait_ms;   /* doubled with each further one; 0 = 1000 */
    unsigned longest_wait_ms; /* 0 = 900000 */
    unsigned forget_ms;       /* quiet time after which failures are forgotten; 0 = 3600000 */
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

/* Sign-in, by account name (known or not): seconds to wait before the next try is looked at; 0 = try. */
unsigned throttle_wait(struct throttle *throttle, const char *name, int64_t now_ms) __attribute__((warn_unused_result));
void throttle_failed(struct throttle *throttle, const char *name, int64_t now_ms);
void throttle_succeeded(struct throttle *throttle, const char *name);

#endif
