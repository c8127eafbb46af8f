/* Passwords: what is taken, that hashes are Argon2id of the cost asked for, and the hash thread.
 *
 * What of RFC 9106 can't be checked here: its test vectors use 4 lanes, a secret and associated data, and libsodium
 * offers none of these (one lane always). That libsodium's Argon2id of one lane is the RFC's is checked against another
 * implementation in tests/external/check_password.py. */
#include <criterion/criterion.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "auth/password.h"

static const struct password_cost cheap = {.memory_bytes = 64 * 1024, .passes = 1};

Test(password, rules)
{
    char long_one[PASSWORD_LENGTH_MAX + 2];
    memset(long_one, 'x', sizeof long_one - 1);
    long_one[PASSWORD_LENGTH_MAX + 1] = '\0';
    cr_assert_eq(password_check("seven77", NULL), PASSWORD_TOO_SHORT);
    cr_assert_eq(password_check("eight888", NULL), PASSWORD_FINE);
    cr_assert_eq(password_check("\xc3\xa9\xc3\xa9\xc3\xa9\xc3\xa9", NULL), PASSWORD_TOO_SHORT, "characters, not bytes");
    cr_assert_eq(password_check("two wide pines", "Pat"), PASSWORD_FINE);
    cr_assert_eq(password_check("pat.greenway", "Pat.Greenway"), PASSWORD_IS_NAME);
    cr_assert_eq(password_check("eight88\n", NULL), PASSWORD_NOT_TEXT);
    cr_assert_eq(password_check("eight888\xff", NULL), PASSWORD_NOT_TEXT);
    cr_assert_eq(password_check("eight888\xc3", NULL), PASSWORD_NOT_TEXT);
    cr_assert_eq(password_check(long_one, NULL), PASSWORD_TOO_LONG);
    long_one[PASSWORD_LENGTH_MAX] = '\0';
    cr_assert_eq(password_check(long_one, NULL), PASSWORD_FINE);
}

Test(password, default_cost_is_owasps_minimum)
{
    char hash[PASSWORD_HASH_TEXT];
    cr_assert(password_hash(NULL, "two wide pines", hash));
    cr_assert_eq(strncmp(hash, "$argon2id$v=19$m=19456,t=2,p=1$", 31), 0, "%s", hash);
    cr_assert(password_verify(hash, "two wide pines"));
    cr_assert_not(password_verify(hash, "two wide pinez"));
    cr_assert_not(password_needs_rehash(NULL, hash));
}

Test(password, verifies)
{
    char hash[PASSWORD_HASH_TEXT];
    char again[PASSWORD_HASH_TEXT];
    char too_long[PASSWORD_LENGTH_MAX + 2];
    cr_assert(password_hash(&cheap, "two wide pines", hash));
    cr_assert(password_hash(&cheap, "two wide pines", again));
    cr_assert_str_neq(hash, again, "salted");
    cr_assert(password_verify(hash, "two wide pines"));
    cr_assert_not(password_verify(hash, ""));
    cr_assert_not(password_verify(hash, "two wide pines "));
    cr_assert_not(password_verify("", "two wide pines"));
    cr_assert_not(password_verify("$argon2id$nonsense", "two wide pines"));
    cr_assert(password_needs_rehash(NULL, hash), "made too cheaply");
    cr_assert_not(password_needs_rehash(&cheap, hash));
    memset(too_long, 'x', sizeof too_long - 1);
    too_long[PASSWORD_LENGTH_MAX + 1] = '\0';
    cr_assert_not(password_hash(&cheap, too_long, hash), "never cut short");
}

/* ---- the hash thread ---- */

struct answer {
    pthread_mutex_t mutex;
    pthread_cond_t done;
    int count;
    struct password_outcome last;
};

static struct answer answer = {PTHREAD_MUTEX_INITIALIZER, PTHREAD_COND_INITIALIZER, 0, {0}};

static void note(const struct password_outcome *outcome, void *argument)
{
    struct answer *to = argument;
    pthread_mutex_lock(&to->mutex);
    to->last = *outcome;
    to->count++;
    pthread_cond_broadcast(&to->done);
    pthread_mutex_unlock(&to->mutex);
}

static void await(int count)
{
    pthread_mutex_lock(&answer.mutex);
    while (answer.count < count) {
        pthread_cond_wait(&answer.done, &answer.mutex);
    }
    pthread_mutex_unlock(&answer.mutex);
}

Test(password_pool, answers)
{
    char hash[PASSWORD_HASH_TEXT];
    char old[PASSWORD_HASH_TEXT];
    const struct password_cost cheaper = {.memory_bytes = 8192, .passes = 1};
    struct password_pool *pool = password_pool_new(&cheap, 0);
    cr_assert(password_hash(&cheap, "two wide pines", hash));
    cr_assert(password_hash(&cheaper, "two wide pines", old));
    cr_assert(password_verify_async(pool, hash, "two wide pines", note, &answer));
    await(1);
    cr_assert(answer.last.right);
    cr_assert_not(answer.last.needs_rehash);
    cr_assert(password_verify_async(pool, hash, "wrong wide pines", note, &answer));
    await(2);
    cr_assert_not(answer.last.right);
    cr_assert(password_verify_async(pool, NULL, "two wide pines", note, &answer));
    await(3);
    cr_assert_not(answer.last.right);
    cr_assert(password_verify_async(pool, old, "two wide pines", note, &answer));
    await(4);
    cr_assert(answer.last.right && answer.last.needs_rehash);
    cr_assert(password_verify(answer.last.new_hash, "two wide pines"));
    cr_assert_not(password_needs_rehash(&cheap, answer.last.new_hash));
    cr_assert(password_hash_async(pool, "three tall oaks", note, &answer));
    await(5);
    cr_assert(answer.last.right && password_verify(answer.last.new_hash, "three tall oaks"));
    password_pool_free(pool);
}

static double seconds_of(struct password_pool *pool, const char *hash, int count)
{
    struct timespec from;
    struct timespec to;
    clock_gettime(CLOCK_MONOTONIC, &from);
    for (int i = 0; i < count; i++) {
        int before = answer.count;
        cr_assert(password_verify_async(pool, hash, "wrong wide pines", note, &answer));
        await(before + 1);
    }
    clock_gettime(CLOCK_MONOTONIC, &to);
    return (double)(to.tv_sec - from.tv_sec) + (double)(to.tv_nsec - from.tv_nsec) / 1e9;
}

/* A name nobody has costs the same: within a third, the best of five times twenty. */
Test(password_pool, unknown_names_cost_the_same)
{
    char hash[PASSWORD_HASH_TEXT];
    const struct password_cost cost = {.memory_bytes = 1 << 20, .passes = 2};
    struct password_pool *pool = password_pool_new(&cost, 0);
    cr_assert(password_hash(&cost, "two wide pines", hash));
    double known = 1e9;
    double unknown = 1e9;
    for (int i = 0; i < 5; i++) {
        double a = seconds_of(pool, hash, 20);
        double b = seconds_of(pool, NULL, 20);
        known = a < known ? a : known;
        unknown = b < unknown ? b : unknown;
    }
    cr_assert(unknown > known * 0.67 && unknown < known * 1.5, "known %f s, unknown %f s", known, unknown);
    password_pool_free(pool);
}

Test(password_pool, refuses_what_does_not_fit_and_finishes_the_rest)
{
    const struct password_cost slow = {.memory_bytes = 8 << 20, .passes = 2};
    struct password_pool *pool = password_pool_new(&slow, 4);
    struct password_metrics metrics;
    int taken = 0;
    for (int i = 0; i < 20; i++) {
        taken += password_verify_async(pool, NULL, "two wide pines", note, &answer);
    }
    cr_assert_geq(taken, 4);
    cr_assert_leq(taken, 10, "%d", taken);
    password_pool_drain(pool);
    cr_assert_eq(answer.count, taken, "every job that was taken is answered");
    cr_assert_not(password_verify_async(pool, NULL, "two wide pines", note, &answer), "nothing after draining");
    password_pool_measure(pool, &metrics);
    cr_assert_eq(metrics.finished, (uint64_t)taken);
    cr_assert_eq(metrics.refused, (uint64_t)(20 - taken + 1));
    cr_assert_eq(metrics.queue_depth, 0);
    cr_assert_eq(metrics.queue_limit, 4);
    password_pool_free(pool);
}
