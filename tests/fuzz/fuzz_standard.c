/* The house standard: one that is read is valid, and swings are judged by it. */
#include <math.h>

#include "fuzz.h"
#include "wire/rules/standard_read.h"

static struct standard standard;

static void check_range(const struct range_rule *rule)
{
    const struct maybe *ends[] = {&rule->range.strong_low, &rule->range.ok_low, &rule->range.ok_high,
                                  &rule->range.strong_high};
    const double far = 1e7;
    fuzz_require(rule->item < MEASURE_COUNT && rule->club < CLUB_CLASS_COUNT && rule->sex < SEX_COUNT &&
                     rule->age < AGE_BAND_COUNT,
                 "what a range is for");
    for (int i = 0; i < 4; i++) {
        fuzz_require(!ends[i]->given || isfinite(ends[i]->value), "an end of a range is finite");
    }
    for (int i = -40; i <= 40; i++) {
        const double value = i == -40 ? -far : i == 40 ? far : 0.05 * i * i * i;
        for (enum sign_side side = SIDE_LOW; side <= SIDE_HIGH; side++) {
            const double severity = range_severity(&rule->range, side, value);
            fuzz_require(severity >= 0 && severity <= 1, "severity on a range is in [0, 1]");
        }
    }
}

static void read_standard(const uint8_t *data, size_t size, struct arena *arena)
{
    struct wire_error error;
    struct standard_error why;
    const uint32_t pick = fuzz_hash(data, size);
    const bool was_read = standard_read((const char *)data, size, arena, &standard, &error);
    fuzz_count("fuzz_standard", was_read);
    if (!was_read) {
        fuzz_check_error(&error);
        return;
    }
    fuzz_require(standard_validate(&standard, &why), "a standard that is read is valid");
    fuzz_require(standard.version != NULL && standard.version[0] != '\0', "a standard has a version");
    fuzz_require(standard.range_count <= RANGE_RULES_MAX && standard.cause_count <= CAUSES_MAX &&
                     standard.typical_count <= TYPICAL_MAX,
                 "the lists are within their arrays");
    for (int i = 0; i < standard.range_count; i++) {
        check_range(&standard.ranges[i]);
    }
    struct fuzz_book book = *fuzz_book();
    book.standard = &standard;
    for (int i = 0; i < FUZZ_SWINGS; i++) {
        fuzz_score(fuzz_swings()[i], 1, &book, pick, arena);
    }
    fuzz_score(fuzz_swings()[0], 5, &book, pick >> 7U, arena);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct arena *arena = arena_new(FUZZ_ARENA_LIMIT);
    fuzz_require(arena != NULL, "memory");
    read_standard(data, size, arena);
    arena_free(arena);
    return 0;
}

size_t LLVMFuzzerCustomMutator(uint8_t *data, size_t size, size_t max_size, unsigned seed)
{
    const size_t length = fuzz_json_mutate(data, size, max_size, seed);
    return length > 0 ? length : LLVMFuzzerMutate(data, size, max_size);
}
