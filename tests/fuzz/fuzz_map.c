/* A club's map of marker names: what is read names points, is written within a reading and comes back the same, and is
 * applied to a file's markers. */
#include <math.h>
#include <string.h>

#include "fuzz.h"
#include "wire/markers/map.h"

#define FRAMES 3

static struct marker_map map;
static struct marker_map again;

static void check_map(const struct marker_map *one)
{
    for (int p = 0; p < POINT_COUNT; p++) {
        fuzz_require(one->alternatives[p] >= 0 && one->alternatives[p] <= MARKER_ALTERNATIVES_MAX, "alternatives");
        for (int i = 0; i < one->alternatives[p]; i++) {
            const struct marker_choice *choice = &one->choices[p][i];
            fuzz_require(choice->count >= 1 && choice->count <= MARKER_MIDDLE_MAX, "markers of one point");
            for (int k = 0; k < choice->count; k++) {
                fuzz_require(choice->names[k] != NULL && choice->names[k][0] != '\0', "a marker is named");
            }
        }
    }
}

/* Stored beside a file, the map is read again when the file is: nothing of it may change. */
static void check_kept(struct arena *arena)
{
    struct swing_reading back;
    struct wire_error error;
    size_t length = 0;
    const struct swing_reading reading = {.hand_given = true, .map = &map};
    const char *text = swing_reading_write(&reading, arena, &length);
    fuzz_require(text != NULL, "a reading with a map is written");
    fuzz_require(swing_reading_read(text, length, arena, &back, &error), error.what);
    fuzz_require(back.map != NULL, "the map is kept");
    again = *back.map;
    check_map(&again);
    for (int p = 0; p < POINT_COUNT; p++) {
        fuzz_require(again.alternatives[p] == map.alternatives[p], "the map is kept whole");
        for (int i = 0; i < map.alternatives[p]; i++) {
            fuzz_require(again.choices[p][i].count == map.choices[p][i].count, "a choice is kept whole");
            for (int k = 0; k < map.choices[p][i].count; k++) {
                fuzz_require(strcmp(again.choices[p][i].names[k], map.choices[p][i].names[k]) == 0, "a name is kept");
            }
        }
    }
}

static void check_applied(struct arena *arena, enum hand hand)
{
    static const char *names[] = {"C7", "S:LSHO", "RSHO", "lwri", "R_WRI", "Club-head", "LFHD", "RFHD", "#9", "?"};
    enum { MARKERS = sizeof names / sizeof *names };
    static struct vec3 at[MARKERS * FRAMES];
    static bool seen[MARKERS * FRAMES];
    const struct marker_file file = {
        .rate_hz = 100, .frames = FRAMES, .markers = MARKERS, .names = names, .at = at, .seen = seen};
    struct motion_record record;
    struct marker_match match;
    struct wire_error error = {"", ""};
    for (int i = 0; i < MARKERS * FRAMES; i++) {
        at[i] = vec_make(0.01 * i, 1, 0);
        seen[i] = i % 7 != 0;
    }
    if (!marker_map_apply(&map, &file, hand, arena, &record, &match, &error)) {
        fuzz_check_error(&error);
        return;
    }
    fuzz_require(record.count == FRAMES, "every frame is kept");
    fuzz_require(match.unmapped_count >= 0 && match.unmapped_count < MARKERS, "a marker is used or not");
    for (int p = 0; p < POINT_COUNT; p++) {
        fuzz_require(match.found[p] == (record.at[p] != NULL), "a point that is found is there");
        const bool shown = match.found[p] && (record.seen[p] == NULL || record.seen[p][1]);
        fuzz_require(!shown || fabs(record.at[p][1].y - 1) < 1e-9, "a middle lies between its markers");
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct wire_error error;
    struct arena *arena = arena_new(FUZZ_ARENA_LIMIT);
    fuzz_require(arena != NULL, "memory");
    const bool was_read = marker_map_read((const char *)data, size, arena, &map, &error);
    fuzz_count("fuzz_map", was_read);
    if (was_read) {
        check_map(&map);
        check_kept(arena);
        check_applied(arena, (fuzz_hash(data, size) & 1U) != 0 ? HAND_LEFT : HAND_RIGHT);
    } else {
        fuzz_check_error(&error);
    }
    arena_free(arena);
    return 0;
}

size_t LLVMFuzzerCustomMutator(uint8_t *data, size_t size, size_t max_size, unsigned seed)
{
    const size_t length = fuzz_json_mutate(data, size, max_size, seed);
    return length > 0 ? length : LLVMFuzzerMutate(data, size, max_size);
}
