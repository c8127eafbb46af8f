/* The drill file: what is read is written as the store keeps it and read back alike, suggested, dosed and shown. */
#include <jansson.h>
#include <string.h>

#include "fuzz.h"
#include "wire/rules/drill_read.h"
#include "wire/rules/drill_write.h"

static void check_drill(const struct drill *drill)
{
    bool for_something = false;
    fuzz_require(drill->id != NULL && drill->name != NULL && drill->how_to != NULL && drill->feel != NULL &&
                     drill->cautions != NULL,
                 "a drill's texts are there");
    fuzz_require(drill->minutes >= 1 && drill->minutes <= 60, "a drill's minutes");
    fuzz_require(drill->level >= LEVEL_NO_CLUB && drill->level <= LEVEL_COURSE, "a drill's level");
    fuzz_require(drill->place != 0 && drill->place < 1U << PLACE_BITS && drill->kit < 1U << KIT_BITS &&
                     drill->loads < 1U << AREA_BITS && drill->contraindicated < 1U << AREA_BITS,
                 "a drill's bits");
    for (int i = 0; i < FAULT_COUNT; i++) {
        for_something = for_something || drill->faults[i];
    }
    fuzz_require(for_something, "a drill is for a fault");
    const struct dose dose = practice_dose(drill, -1);
    fuzz_require(dose.sessions_per_week > 0 && dose.minutes > 0 && dose.retest_days > 0, "a dose");
}

static void check_written(const struct drill *drill, struct arena *arena)
{
    struct json_out out;
    struct drill again;
    struct wire_error error;
    size_t length = 0;
    json_out_start(&out, arena);
    json_out_object(&out, NULL);
    drill_write(&out, drill);
    json_out_end_object(&out);
    const char *text = json_out_finish(&out, &length);
    fuzz_require(text != NULL, "a drill is written");
    json_t *value = json_loadb(text, length, JSON_REJECT_DUPLICATES, NULL);
    fuzz_require(value != NULL, "a written drill is JSON");
    struct tree tree = {.value = value, .arena = arena, .error = &error};
    fuzz_require(drill_read_one(&tree, false, &again), "a written drill is read");
    json_decref(value);
    fuzz_require(strcmp(drill->name, again.name) == 0 && strcmp(drill->how_to, again.how_to) == 0 &&
                     strcmp(drill->feel, again.feel) == 0 && strcmp(drill->cautions, again.cautions) == 0,
                 "a written drill keeps its texts");
    fuzz_require(memcmp(drill->faults, again.faults, sizeof again.faults) == 0 && drill->kit == again.kit &&
                     drill->place == again.place && drill->loads == again.loads &&
                     drill->contraindicated == again.contraindicated && drill->ball == again.ball &&
                     drill->balance == again.balance && drill->adult_only == again.adult_only &&
                     drill->minutes == again.minutes && drill->level == again.level && drill->pass.n == again.pass.n &&
                     drill->pass.of == again.pass.of && drill->ask_count == again.ask_count,
                 "a written drill keeps its rest");
}

static void check_suggested(const struct drill *drills, int count, uint32_t pick)
{
    struct practice_pick picks[4];
    struct practice_wish wish = {.kit = pick >> 3U & 1023U,
                                 .pain = pick >> 13U & 511U,
                                 .junior = (pick & 1U) != 0,
                                 .unsteady = (pick & 2U) != 0};
    for (int fault = 0; fault < FAULT_COUNT; fault++) {
        wish.fault = (enum fault_id)fault;
        const int got = practice_suggest(drills, count, &wish, picks, 4);
        fuzz_require(got >= 0 && got <= 4 && got <= count, "how many drills are suggested");
        for (int i = 0; i < got; i++) {
            const struct drill *drill = &drills[picks[i].index];
            fuzz_require(drill->faults[fault] && !practice_contraindicated(drill, wish.pain) &&
                             !(wish.junior && drill->adult_only),
                         "a suggested drill fits");
            fuzz_require(picks[i].needs_confirmation == practice_needs_word(drill, wish.pain, wish.unsteady) &&
                             picks[i].needs_confirmation == picks[0].needs_confirmation,
                         "what needs a word says so, and is only offered when nothing else is");
        }
    }
}

static void read_drills(const uint8_t *data, size_t size, struct arena *arena)
{
    struct wire_error error;
    struct drill *drills = NULL;
    int count = -1;
    const uint32_t pick = fuzz_hash(data, size);
    const bool was_read = drills_read((const char *)data, size, arena, &drills, &count, &error);
    fuzz_count("fuzz_drills", was_read);
    if (!was_read) {
        fuzz_check_error(&error);
        return;
    }
    fuzz_require(drills != NULL && count >= 0 && count <= DRILLS_MAX, "a list of drills");
    for (int i = 0; i < count; i++) {
        check_drill(&drills[i]);
        check_written(&drills[i], arena);
    }
    check_suggested(drills, count, pick);
    struct fuzz_book book = {fuzz_book()->standard, drills, count};
    fuzz_score(fuzz_swings()[pick % FUZZ_SWINGS], 1, &book, pick, arena);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct arena *arena = arena_new(FUZZ_ARENA_LIMIT);
    fuzz_require(arena != NULL, "memory");
    read_drills(data, size, arena);
    arena_free(arena);
    return 0;
}

size_t LLVMFuzzerCustomMutator(uint8_t *data, size_t size, size_t max_size, unsigned seed)
{
    const size_t length = fuzz_json_mutate(data, size, max_size, seed);
    return length > 0 ? length : LLVMFuzzerMutate(data, size, max_size);
}
