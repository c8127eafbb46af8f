/* See reading.h. */
#include "api/frame/reading.h"

#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DAY_MS 86400000LL
#define SLOTS 16384 /* a power of two */
#define WAYS 4      /* of a hash; a reading that was pushed out only asks the writer once more */

/* Each slot holds the hash of what was noted there, or 0. */
struct reading_memory {
    unsigned char key[crypto_shorthash_KEYBYTES];
    _Atomic uint64_t slots[SLOTS];
};

struct reading_memory *reading_new(void)
{
    struct reading_memory *memory = calloc(1, sizeof *memory);
    if (memory != NULL) {
        crypto_shorthash_keygen(memory->key);
    }
    return memory;
}

void reading_free(struct reading_memory *memory)
{
    free(memory);
}

/* What is read, by the route; a route that nobody named here is the student's record. The whole club's lists are kinds
 * of their own, and concern no single student. */
static const char *kind_of(const struct api_row *row)
{
    static const struct {
        const char *operation, *kind;
    } kinds[] = {
        {"listSwings", "swing"},      {"getSwing", "swing"},         {"getSwingFile", "swing"},
        {"getSwingReport", "report"}, {"getLessonReport", "report"}, {"getProgress", "report"},
        {"listOpinions", "report"},   {"listStills", "still"},       {"getStill", "still"},
        {"listNotes", "note"},        {"getNote", "note"},           {"getFix", "fix"},
        {"getHomework", "homework"},  {"listLessons", "lesson"},     {"listFixes", "fix"},
        {"listHomework", "homework"}, {"listConsents", "consent"},   {"exportStudent", NULL},
        {"listStudents", "list"},     {"getOverview", "list"},       {"listInbox", "list"},
        {"listToday", "list"},        {"listRequests", "consent"},
    };
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        if (strcmp(kinds[i].operation, row->operation) == 0) {
            return kinds[i].kind;
        }
    }
    return row->scope == RIGHTS_TEAM ? "student" : NULL;
}

struct reading {
    struct store_audit audit;
    int64_t since;
    _Atomic uint64_t *slot;
    uint64_t hash;
};

static enum store_status reading_run(struct store_db *db, void *argument)
{
    const struct reading *reading = argument;
    return store_audit_add_reading(db, &reading->audit, reading->since);
}

static void reading_done(enum store_status status, void *argument)
{
    struct reading *reading = argument;
    if (status != STORE_OK) {
        (void)atomic_compare_exchange_strong(reading->slot, &reading->hash, 0);
    }
    free(reading);
}

static void reading_submit(const struct call *call, const char *kind, int64_t day, _Atomic uint64_t *slot,
                           uint64_t hash)
{
    struct reading *reading = calloc(1, sizeof *reading);
    if (reading == NULL) {
        atomic_store(slot, 0);
        return;
    }
    *reading = (struct reading){.since = day * DAY_MS, .slot = slot, .hash = hash};
    reading->audit = (struct store_audit){.at = call->now, .action = "student.read", .object_kind = kind};
    if (strcmp(kind, "list") == 0) {
        reading->audit.action = "student.list";
        reading->audit.object_kind = "student";
    }
    memcpy(reading->audit.account_id, call->principal->account_id, UUID_TEXT);
    memcpy(reading->audit.student_id, call->student_id, UUID_TEXT);
    if (store_submit(call->api->store, reading_run, reading_done, reading) != STORE_OK) {
        atomic_store(slot, 0);
        free(reading);
    }
}

void reading_note(const struct call *call)
{
    const struct principal *principal = call->principal;
    const bool own = call->student_id[0] != '\0' && strcmp(principal->student_id, call->student_id) == 0;
    const char *kind = call->row->method == HTTP_GET && !own ? kind_of(call->row) : NULL;
    if (kind == NULL || atomic_load(&call->api->refusing)) {
        return;
    }
    struct reading_memory *memory = call->api->reading;
    const int64_t day = call->now / DAY_MS;
    char text[2 * UUID_TEXT + 48];
    uint8_t digest[crypto_shorthash_BYTES];
    uint64_t hash;
    const int length =
        snprintf(text, sizeof text, "%s %s %s %lld", principal->account_id, call->student_id, kind, (long long)day);
    (void)crypto_shorthash(digest, (const unsigned char *)text, (unsigned long long)length, memory->key);
    memcpy(&hash, digest, sizeof hash);
    hash += hash == 0;
    _Atomic uint64_t *ways = &memory->slots[hash % (SLOTS / WAYS) * WAYS];
    for (int i = 0; i < WAYS; i++) {
        if (atomic_load(&ways[i]) == hash) {
            return;
        }
    }
    _Atomic uint64_t *slot = &ways[hash >> 32 & (WAYS - 1)];
    if (atomic_exchange(slot, hash) != hash) {
        reading_submit(call, kind, day, slot, hash);
    }
}
