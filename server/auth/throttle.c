/* Token buckets and sign-in delays in one fixed table. A key is found by its hash within a small group of slots; each
 * group has its own lock, so threads seldom meet. The hash is keyed at random, so nobody can aim at a group. */
#include <pthread.h>
#include <sodium.h>
#include <stdlib.h>
#include <string.h>

#include "auth/throttle.h"

#define GROUP 8
#define DEFAULT_SLOTS 8192
#define FAILURES THROTTLE_CLASS_COUNT /* the class of a failure count */

struct slot {
    uint64_t key[2]; /* 128 bits of hash: two names never share one */
    bool used;
    int64_t seen_ms;
    double level;       /* bucket: what is left */
    unsigned failures;  /* sign-in: wrong passwords in a row */
    int64_t allowed_ms; /* sign-in: the next try is looked at from then on */
};

struct group {
    pthread_mutex_t mutex;
    struct slot slots[GROUP];
};

struct throttle {
    struct throttle_config config;
    unsigned char secret[crypto_shorthash_siphashx24_KEYBYTES];
    size_t count;
    struct group *groups;
};

struct throttle_config throttle_defaults(void)
{
    return (struct throttle_config){.rates = {[THROTTLE_READ] = {200, 600},
                                              [THROTTLE_WRITE] = {20, 100},
                                              [THROTTLE_HEAVY] = {1, 10},
                                              [THROTTLE_SIGN_IN] = {1, 30},
                                              [THROTTLE_UNKNOWN] = {2, 60}},
                                    .slots = DEFAULT_SLOTS,
                                    .free_failures = 3,
                                    .first_wait_ms = 1000,
                                    .longest_wait_ms = 900000,
                                    .forget_ms = 3600000};
}

struct throttle *throttle_new(const struct throttle_config *config)
{
    struct throttle_config defaults = throttle_defaults();
    struct throttle *throttle = calloc(1, sizeof *throttle);
    if (throttle == NULL || sodium_init() < 0) {
        free(throttle);
        return NULL;
    }
    throttle->config = config == NULL ? defaults : *config;
    struct throttle_config *own = &throttle->config;
    own->slots = own->slots == 0 ? defaults.slots : own->slots;
    own->free_failures = own->free_failures == 0 ? defaults.free_failures : own->free_failures;
    own->first_wait_ms = own->first_wait_ms == 0 ? defaults.first_wait_ms : own->first_wait_ms;
    own->longest_wait_ms = own->longest_wait_ms == 0 ? defaults.longest_wait_ms : own->longest_wait_ms;
    own->forget_ms = own->forget_ms == 0 ? defaults.forget_ms : own->forget_ms;
    randombytes_buf(throttle->secret, sizeof throttle->secret);
    throttle->count = (own->slots + GROUP - 1) / GROUP;
    throttle->groups = calloc(throttle->count, sizeof *throttle->groups);
    if (throttle->groups == NULL) {
        free(throttle);
        return NULL;
    }
    for (size_t i = 0; i < throttle->count; i++) {
        pthread_mutex_init(&throttle->groups[i].mutex, NULL);
    }
    return throttle;
}

void throttle_free(struct throttle *throttle)
{
    if (throttle == NULL) {
        return;
    }
    for (size_t i = 0; i < throttle->count; i++) {
        pthread_mutex_destroy(&throttle->groups[i].mutex);
    }
    free(throttle->groups);
    free(throttle);
}

/* Locks the key's group. */
static struct group *lock_group(struct throttle *throttle, int class, const char *text, uint64_t key[2])
{
    crypto_shorthash_siphashx24((unsigned char *)key, (const unsigned char *)text, strlen(text), throttle->secret);
    key[0] += (uint64_t) class * 0x9e3779b97f4a7c15U;
    struct group *group = &throttle->groups[key[0] % throttle->count];
    pthread_mutex_lock(&group->mutex);
    return group;
}

static struct slot *find(struct group *group, const uint64_t key[2])
{
    for (int i = 0; i < GROUP; i++) {
        struct slot *slot = &group->slots[i];
        if (slot->used && slot->key[0] == key[0] && slot->key[1] == key[1]) {
            return slot;
        }
    }
    return NULL;
}

/* The key's slot, or a fresh one in place of the longest unseen. */
static struct slot *claim(struct group *group, const uint64_t key[2], double level, int64_t now_ms)
{
    struct slot *slot = find(group, key);
    if (slot != NULL) {
        return slot;
    }
    slot = &group->slots[0];
    for (int i = 0; i < GROUP && slot->used; i++) {
        if (!group->slots[i].used || group->slots[i].seen_ms < slot->seen_ms) {
            slot = &group->slots[i];
        }
    }
    *slot = (struct slot){.key = {key[0], key[1]}, .used = true, .seen_ms = now_ms, .level = level};
    return slot;
}

unsigned throttle_take(struct throttle *throttle, enum throttle_class class, const char *key, int64_t now_ms)
{
    const struct throttle_rate *rate = &throttle->config.rates[class];
    if (rate->per_second <= 0) {
        return 0;
    }
    uint64_t hash[2];
    unsigned wait = 0;
    struct group *group = lock_group(throttle, (int)class, key, hash);
    struct slot *slot = claim(group, hash, rate->burst, now_ms);
    if (now_ms > slot->seen_ms) {
        slot->level += (double)(now_ms - slot->seen_ms) / 1000 * rate->per_second;
        slot->level = slot->level > rate->burst ? rate->burst : slot->level;
        slot->seen_ms = now_ms;
    }
    if (slot->level >= 1) {
        slot->level -= 1;
    } else {
        double seconds = (1 - slot->level) / rate->per_second;
        wait = seconds > 3600 ? 3600 : (unsigned)(seconds + 0.999);
        wait = wait == 0 ? 1 : wait;
    }
    pthread_mutex_unlock(&group->mutex);
    return wait;
}

unsigned throttle_wait(struct throttle *throttle, const char *name, int64_t now_ms)
{
    uint64_t hash[2];
    unsigned wait = 0;
    struct group *group = lock_group(throttle, FAILURES, name, hash);
    const struct slot *slot = find(group, hash);
    if (slot != NULL && slot->allowed_ms > now_ms) {
        wait = (unsigned)((slot->allowed_ms - now_ms + 999) / 1000);
    }
    pthread_mutex_unlock(&group->mutex);
    return wait;
}

void throttle_failed(struct throttle *throttle, const char *name, int64_t now_ms)
{
    const struct throttle_config *config = &throttle->config;
    uint64_t hash[2];
    struct group *group = lock_group(throttle, FAILURES, name, hash);
    struct slot *slot = claim(group, hash, 0, now_ms);
    if (now_ms - slot->seen_ms > (int64_t)config->forget_ms) {
        slot->failures = 0;
    }
    slot->seen_ms = now_ms;
    slot->failures++;
    if (slot->failures > config->free_failures) {
        unsigned doublings = slot->failures - config->free_failures - 1;
        int64_t wait = (int64_t)config->first_wait_ms << (doublings > 20 ? 20 : doublings);
        slot->allowed_ms = now_ms + (wait > (int64_t)config->longest_wait_ms ? (int64_t)config->longest_wait_ms : wait);
    }
    pthread_mutex_unlock(&group->mutex);
}

void throttle_succeeded(struct throttle *throttle, const char *name)
{
    uint64_t hash[2];
    struct group *group = lock_group(throttle, FAILURES, name, hash);
    struct slot *slot = find(group, hash);
    if (slot != NULL) {
        *slot = (struct slot){0};
    }
    pthread_mutex_unlock(&group->mutex);
}
