/* Token buckets and sign-in delays in fixed tables. A key is found by its hash within a small group of slots; each
 * group has its own lock, so threads seldom meet. The hash is keyed at random, so nobody can aim at a group. */
#include "auth/throttle.h"

#include <pthread.h>
#include <sodium.h>
#include <stdlib.h>
#include <string.h>

#include "base/network.h"

#define GROUP 8
#define DEFAULT_SLOTS 8192
#define FLIGHT_MS 60000 /* a try that nobody has ended by then never will be */
#define LONGEST_TEXT 3600

/* What the keys of the tries' table are made of, beside the name. */
enum kind { BY_DEVICE, BY_NETWORK, BY_SITE, BY_NAME };

struct slot {
    uint64_t key[2]; /* 128 bits of hash: two names never share one */
    bool used;
    int64_t seen_ms;
    struct throttle_rate rate; /* bucket; per_second 0 = this is a count of failures */
    double level;              /* bucket: what is left */
    unsigned failures;         /* wrong passwords in a row */
    unsigned flying;           /* tries under way */
    int64_t flown_ms;          /* when the last of them began */
    int64_t allowed_ms;        /* the next try is looked at from then on */
};

struct group {
    pthread_mutex_t mutex;
    struct slot slots[GROUP];
};

struct table {
    size_t count;
    struct group *groups;
};

struct throttle {
    struct throttle_config config;
    unsigned char secret[crypto_shorthash_siphashx24_KEYBYTES];
    struct table rates, tries;
};

struct throttle_config throttle_defaults(void)
{
    return (struct throttle_config){.rates = {[THROTTLE_READ] = {200, 600},
                                              [THROTTLE_WRITE] = {20, 100},
                                              [THROTTLE_LISTEN] = {1, 30},
                                              [THROTTLE_HEAVY] = {1, 10},
                                              [THROTTLE_SIGN_IN] = {1, 30},
                                              [THROTTLE_UNKNOWN] = {2, 60}},
                                    /* with the burst, never more than 100 in an hour (OWASP ASVS 4.0.3, 2.2.1) */
                                    .guesses = {50.0 / 3600, 50},
                                    .slots = DEFAULT_SLOTS,
                                    .free_failures = 3,
                                    .site_failures = 10,
                                    .first_wait_ms = 1000,
                                    .longest_wait_ms = 900000,
                                    .forget_ms = 3600000};
}

/* ---- tables ---- */

static bool table_make(struct table *table, size_t slots)
{
    table->groups = calloc((slots + GROUP - 1) / GROUP, sizeof *table->groups);
    if (table->groups == NULL) {
        return false;
    }
    table->count = (slots + GROUP - 1) / GROUP;
    for (size_t i = 0; i < table->count; i++) {
        pthread_mutex_init(&table->groups[i].mutex, NULL);
    }
    return true;
}

static void table_free(struct table *table)
{
    for (size_t i = 0; i < table->count; i++) {
        pthread_mutex_destroy(&table->groups[i].mutex);
    }
    free(table->groups);
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
    own->site_failures = own->site_failures == 0 ? defaults.site_failures : own->site_failures;
    own->first_wait_ms = own->first_wait_ms == 0 ? defaults.first_wait_ms : own->first_wait_ms;
    own->longest_wait_ms = own->longest_wait_ms == 0 ? defaults.longest_wait_ms : own->longest_wait_ms;
    own->forget_ms = own->forget_ms == 0 ? defaults.forget_ms : own->forget_ms;
    randombytes_buf(throttle->secret, sizeof throttle->secret);
    if (!table_make(&throttle->rates, own->slots) || !table_make(&throttle->tries, own->slots)) {
        throttle_free(throttle);
        return NULL;
    }
    return throttle;
}

void throttle_free(struct throttle *throttle)
{
    if (throttle == NULL) {
        return;
    }
    table_free(&throttle->rates);
    table_free(&throttle->tries);
    free(throttle);
}

static struct group *lock_group(struct table *table, const uint64_t key[2])
{
    struct group *group = &table->groups[key[0] % table->count];
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

/* ---- a slot as it is now ---- */

/* Fills the bucket, or forgets failures long past and tries that were never ended. */
static void refresh(const struct throttle *throttle, struct slot *slot, int64_t now_ms)
{
    if (slot->rate.per_second > 0) {
        if (now_ms > slot->seen_ms) {
            slot->level += (double)(now_ms - slot->seen_ms) / 1000 * slot->rate.per_second;
            slot->level = slot->level > slot->rate.burst ? slot->rate.burst : slot->level;
            slot->seen_ms = now_ms;
        }
        return;
    }
    if (now_ms - slot->seen_ms > (int64_t)throttle->config.forget_ms) {
        slot->failures = 0;
    }
    if (now_ms - slot->flown_ms > FLIGHT_MS) {
        slot->flying = 0;
    }
}

/* Milliseconds that this slot makes somebody wait; 0 = none. */
static int64_t makes_wait(const struct slot *slot, int64_t now_ms)
{
    if (slot->rate.per_second > 0) {
        return slot->level >= 1 ? 0 : 1 + (int64_t)((1 - slot->level) / slot->rate.per_second * 1000);
    }
    if (slot->allowed_ms > now_ms) {
        return slot->allowed_ms - now_ms;
    }
    return slot->flying > 0 ? 1000 : 0;
}

static double remembers(const struct slot *slot)
{
    return slot->rate.per_second > 0 ? slot->rate.burst - slot->level : slot->failures;
}

static unsigned seconds(int64_t ms)
{
    return ms <= 0 ? 0 : ms / 1000 >= LONGEST_TEXT ? LONGEST_TEXT : (unsigned)((ms + 999) / 1000);
}

/* The key's slot, refreshed, or a fresh one in place of the one that remembers least, and of those the longest unseen.
 * NULL when every slot makes somebody wait: *wait_ms tells for how long at least. */
static struct slot *claim(const struct throttle *throttle, struct group *group, const uint64_t key[2],
                          struct throttle_rate rate, int64_t now_ms, int64_t *wait_ms)
{
    struct slot *best = find(group, key);
    if (best != NULL) {
        refresh(throttle, best, now_ms);
        return best;
    }
    *wait_ms = INT64_MAX;
    for (int i = 0; i < GROUP; i++) {
        struct slot *slot = &group->slots[i];
        if (!slot->used) {
            best = slot;
            break;
        }
        refresh(throttle, slot, now_ms);
        const int64_t wait = makes_wait(slot, now_ms);
        if (wait > 0) {
            *wait_ms = wait < *wait_ms ? wait : *wait_ms;
        } else if (best == NULL || remembers(slot) < remembers(best) ||
                   (remembers(slot) <= remembers(best) && slot->seen_ms < best->seen_ms)) {
            best = slot;
        }
    }
    if (best != NULL) {
        *best =
            (struct slot){.key = {key[0], key[1]}, .used = true, .seen_ms = now_ms, .rate = rate, .level = rate.burst};
    }
    return best;
}

/* ---- how often ---- */

/* 0 = one was taken; otherwise milliseconds to wait. */
static int64_t bucket_take(struct throttle *throttle, struct table *table, const uint64_t key[2],
                           struct throttle_rate rate, int64_t now_ms)
{
    int64_t wait = 0;
    struct group *group = lock_group(table, key);
    struct slot *slot = claim(throttle, group, key, rate, now_ms, &wait);
    if (slot != NULL) {
        wait = makes_wait(slot, now_ms);
        slot->level -= wait == 0 ? 1 : 0;
    }
    pthread_mutex_unlock(&group->mutex);
    return wait;
}

unsigned throttle_take(struct throttle *throttle, enum throttle_class class, const char *key, int64_t now_ms)
{
    const struct throttle_rate rate = throttle->config.rates[class];
    uint64_t hash[2];
    if (rate.per_second <= 0) {
        return 0;
    }
    crypto_shorthash_siphashx24((unsigned char *)hash, (const unsigned char *)key, strlen(key), throttle->secret);
    hash[0] += (uint64_t) class * 0x9e3779b97f4a7c15U;
    return seconds(bucket_take(throttle, &throttle->rates, hash, rate, now_ms));
}

/* ---- tries ---- */

static void add_key(const struct throttle *throttle, struct throttle_try *try, enum kind kind, const char *name,
                    const char *where)
{
    unsigned char text[1 + 256 + 1 + 256];
    size_t length = 0;
    text[length++] = (unsigned char)kind;
    const char *const parts[] = {name, where};
    for (int i = 0; i < 2; i++) {
        size_t size = strnlen(parts[i], 255);
        memcpy(text + length, parts[i], size);
        length += size;
        text[length++] = '\0';
    }
    const int n = try->count++;
    crypto_shorthash_siphashx24((unsigned char *)try->keys[n], text, length, throttle->secret);
    try->free[n] = kind == BY_NAME   ? 0
                   : kind == BY_SITE ? throttle->config.site_failures
                                     : throttle->config.free_failures;
}

/* As many may be looked at together as would be free of waiting one after another. */
static int64_t fly(struct throttle *throttle, const uint64_t key[2], unsigned free, int64_t now_ms)
{
    int64_t wait = 0;
    struct group *group = lock_group(&throttle->tries, key);
    struct slot *slot = claim(throttle, group, key, (struct throttle_rate){0}, now_ms, &wait);
    if (slot != NULL) {
        wait = slot->allowed_ms > now_ms                                  ? slot->allowed_ms - now_ms
               : slot->flying > 0 && slot->failures + slot->flying > free ? 1000
                                                                          : 0;
    }
    if (slot != NULL && wait == 0) {
        slot->flying++;
        slot->flown_ms = now_ms;
    }
    pthread_mutex_unlock(&group->mutex);
    return wait;
}

static void land(struct throttle *throttle, const uint64_t key[2], unsigned free, enum throttle_result result,
                 int64_t now_ms)
{
    const struct throttle_config *config = &throttle->config;
    int64_t ignored;
    struct group *group = lock_group(&throttle->tries, key);
    struct slot *slot = claim(throttle, group, key, (struct throttle_rate){0}, now_ms, &ignored);
    if (slot != NULL) {
        slot->flying -= slot->flying > 0;
        if (result == THROTTLE_RIGHT) {
            slot->failures = 0;
            slot->allowed_ms = 0;
        }
        if (result == THROTTLE_WRONG) {
            slot->seen_ms = now_ms;
            slot->failures++;
        }
        if (result == THROTTLE_WRONG && slot->failures > free) {
            const unsigned doublings = slot->failures - free - 1;
            const int64_t wait = (int64_t)config->first_wait_ms << (doublings > 20 ? 20 : doublings);
            const int64_t longest = (int64_t)config->longest_wait_ms;
            slot->allowed_ms = now_ms + (wait > longest ? longest : wait);
        }
    }
    pthread_mutex_unlock(&group->mutex);
}

static void bucket_return(struct throttle *throttle, const uint64_t key[2], int64_t now_ms)
{
    struct group *group = lock_group(&throttle->tries, key);
    struct slot *slot = find(group, key);
    if (slot != NULL) {
        refresh(throttle, slot, now_ms);
        slot->level = slot->level + 1 > slot->rate.burst ? slot->rate.burst : slot->level + 1;
    }
    pthread_mutex_unlock(&group->mutex);
}

unsigned throttle_begin(struct throttle *throttle, const struct throttle_who *who, int64_t now_ms,
                        struct throttle_try *out)
{
    struct throttle_try try = {0};
    int64_t wait = 0;
    if (who->device != NULL) {
        add_key(throttle, &try, BY_DEVICE, who->name, who->device);
    } else {
        char network[NETWORK_TEXT];
        char site[NETWORK_TEXT];
        network_of(who->remote == NULL ? "" : who->remote, network);
        network_site(who->remote == NULL ? "" : who->remote, site);
        add_key(throttle, &try, BY_NETWORK, who->name, network);
        add_key(throttle, &try, BY_SITE, who->name, site);
        if (throttle->config.guesses.per_second > 0) {
            add_key(throttle, &try, BY_NAME, who->name, "");
        }
    }
    *out = (struct throttle_try){0};
    for (int i = 0; i < try.count && wait == 0; i++) {
        wait = try.free[i] > 0 ? fly(throttle, try.keys[i], try.free[i], now_ms)
                               : bucket_take(throttle, &throttle->tries, try.keys[i], throttle->config.guesses, now_ms);
        if (wait > 0) {
            try.count = i;
            throttle_end(throttle, &try, THROTTLE_UNSEEN, now_ms);
        }
    }
    if (wait == 0) {
        *out = try;
    }
    return seconds(wait);
}

void throttle_end(struct throttle *throttle, struct throttle_try *try, enum throttle_result result, int64_t now_ms)
{
    for (int i = 0; i < try->count; i++) {
        if (try->free[i] > 0) {
            land(throttle, try->keys[i], try->free[i], result, now_ms);
        } else if (result != THROTTLE_WRONG) {
            bucket_return(throttle, try->keys[i], now_ms);
        }
    }
    try->count = 0;
}
