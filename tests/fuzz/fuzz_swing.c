/* The swing document, from bytes to both reports. What was in the memory before must not show. */
#include <string.h>

#include "fuzz.h"

static struct swing_document fresh;
static struct swing_document stale; /* holds the leavings of earlier inputs and a filling */

static void read_swing(const uint8_t *data, size_t size, struct arena *arena)
{
    struct wire_error error;
    const uint32_t pick = fuzz_hash(data, size);
    memset(&fresh, 0, sizeof fresh);
    const bool was_read = swing_read((const char *)data, size, arena, &fresh, &error);
    fuzz_count("fuzz_swing", was_read);
    if (!was_read) {
        fuzz_check_error(&error);
        return;
    }
    fuzz_check_swing(&fresh.swing);
    int64_t ms;
    fuzz_require(time_parse(fresh.recorded_at, &ms) && ms == fresh.recorded_at_ms,
                 "the time is written as it was read");
    const char *once = fuzz_score(&fresh, 1, fuzz_book(), pick, arena);
    memset(&stale, (int)(pick & 255U), sizeof stale);
    fuzz_require(swing_read((const char *)data, size, arena, &stale, &error), "a document is read twice alike");
    fuzz_require(strcmp(once, fuzz_score(&stale, 1, fuzz_book(), pick, arena)) == 0,
                 "a report does not depend on what was in memory");
    fuzz_score(&fresh, 3 + (int)(pick % 3), fuzz_book(), pick, arena);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct arena *arena = arena_new(FUZZ_ARENA_LIMIT);
    fuzz_require(arena != NULL, "memory");
    read_swing(data, size, arena);
    arena_free(arena);
    return 0;
}

size_t LLVMFuzzerCustomMutator(uint8_t *data, size_t size, size_t max_size, unsigned seed)
{
    const size_t length = fuzz_json_mutate(data, size, max_size, seed);
    return length > 0 ? length : LLVMFuzzerMutate(data, size, max_size);
}
