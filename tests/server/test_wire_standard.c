/* The standard and the drills as JSON: the built-in ones are sane and complete; bad ones are refused with a path. */
#include <criterion/criterion.h>
#include <jansson.h>
#include <stdio.h>
#include <string.h>

#include "base/embed.h"
#include "wire/rules/drill_read.h"
#include "wire/rules/standard_read.h"

static const struct embedded_file *file_named(const char *name)
{
    for (size_t i = 0; i < embedded_standard_count; i++) {
        if (strcmp(embedded_standard[i].name, name) == 0) {
            return &embedded_standard[i];
        }
    }
    return NULL;
}

static json_t *default_json(void)
{
    const struct embedded_file *file = file_named("default.json");
    cr_assert_not_null(file);
    json_t *root = json_loadb((const char *)file->data, file->size, 0, NULL);
    cr_assert_not_null(root);
    return root;
}

Test(wire_standard, the_default_is_sane)
{
    struct arena *arena = arena_new(0);
    const struct standard *standard = standard_default(arena);
    cr_assert_not_null(standard);
    struct standard_error why;
    cr_assert(standard_validate(standard, &why));
    cr_assert_str_eq(standard->version, "default-1");
    cr_assert_eq(standard->cause_count, 32);
    cr_assert_eq(standard->threshold, 0.20);
    for (int i = 0; i < FAULT_COUNT; i++) {
        cr_assert(standard->faults[i].defined, "%s", fault_name((enum fault_id)i));
    }
    for (int i = 0; i < MEASURE_COUNT; i++) {
        cr_assert_gt(standard->spread[i], 0, "%s has no spread", measure_info((enum measure_item)i)->name);
    }
    arena_free(arena);
}

Test(wire_standard, the_default_has_the_table_s_ranges)
{
    static const struct {
        enum measure_item item;
        enum club_class club;
        double ok_low, ok_high;
    } rows[] = {
        {MEASURE_SPINE_TILT_ADDRESS, CLUB_CLASS_IRON, 30, 45},
        {MEASURE_SPINE_TILT_ADDRESS, CLUB_CLASS_WOOD, 26, 42},
        {MEASURE_SHAFT_DIRECTION_SHAFT_BACK, CLUB_CLASS_ANY, -6, 15},
        {MEASURE_SHAFT_CROSS_TOP, CLUB_CLASS_WEDGE, -20, 6},
        {MEASURE_LEAD_SHARE_ARM_THROUGH, CLUB_CLASS_IRON, 78, 100},
        {MEASURE_TEMPO, CLUB_CLASS_WOOD, 2.2, 4.0},
    };
    struct arena *arena = arena_new(0);
    const struct standard *standard = standard_default(arena);
    cr_assert_not_null(standard);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct player who = {.club = rows[i].club};
        const struct judged_range rule = standard_range(standard, rows[i].item, &who);
        cr_assert(rule.given);
        cr_assert_eq(rule.range.ok_low.value, rows[i].ok_low, "row %zu", i);
        cr_assert_eq(rule.range.ok_high.value, rows[i].ok_high, "row %zu", i);
    }
    const struct player anybody = {.club = CLUB_CLASS_ANY};
    cr_assert_not(standard_range(standard, MEASURE_ORDER_THROUGH, &anybody).given);
    cr_assert_not(standard_range(standard, MEASURE_ORDER_BACK_DTL, &anybody).given);
    arena_free(arena);
}

/* Forward tilt 25 degrees: 1.5 sd below the men's published mean (31 +- 4), at the women's (25 +- 4). */
Test(wire_standard, a_range_may_differ_by_sex)
{
    json_t *root = default_json();
    json_t *ranges = json_object_get(root, "ranges");
    static const char *const sexes[] = {"male", "female"};
    static const double means[] = {31, 25};
    for (int i = 0; i < 2; i++) {
        json_array_append_new(ranges, json_pack("{s:s,s:s,s:s,s:f,s:f,s:f,s:s,s:s}", "measure", "spine_tilt",
                                                "checkpoint", "address", "sex", sexes[i], "ok_low", means[i] - 4,
                                                "ok_high", means[i] + 4, "strong_low", means[i] - 8, "evidence",
                                                "published", "source", "Zheng et al. 2008"));
    }
    char *text = json_dumps(root, 0);
    struct arena *arena = arena_new(0);
    struct standard *standard = arena_alloc(arena, sizeof *standard);
    struct wire_error error = {"", ""};
    cr_assert(standard_read(text, strlen(text), arena, standard, &error), "%s: %s", error.path, error.what);
    static const struct {
        enum sex sex;
        enum club_class club;
        double severity;
    } rows[] = {
        {SEX_MALE, CLUB_CLASS_IRON, 0.5},
        {SEX_FEMALE, CLUB_CLASS_IRON, 0},
        {SEX_ANY, CLUB_CLASS_IRON, 5.0 / 12},
        {SEX_MALE, CLUB_CLASS_WOOD, 1.0 / 11}, /* the club weighs more than the sex */
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct player who = {.club = rows[i].club, .sex = rows[i].sex, .age = AGE_ADULT};
        const struct judged_range rule = standard_range(standard, MEASURE_SPINE_TILT_ADDRESS, &who);
        cr_assert_float_eq(range_severity(&rule.range, SIDE_LOW, 25), rows[i].severity, 1e-9, "row %zu", i);
    }
    arena_free(arena);
    free(text);
    json_decref(root);
}

Test(wire_standard, every_fault_has_two_drills_for_adults_and_for_juniors)
{
    struct arena *arena = arena_new(0);
    int count = 0;
    const struct drill *drills = drills_default(arena, &count);
    cr_assert_not_null(drills);
    for (int f = 0; f < FAULT_COUNT; f++) {
        for (int junior = 0; junior < 2; junior++) {
            struct practice_wish wish = {.fault = (enum fault_id)f, .junior = junior == 1};
            struct practice_pick picks[2];
            cr_assert_eq(practice_suggest(drills, count, &wish, picks, 2), 2, "%s", fault_name((enum fault_id)f));
        }
    }
    for (int i = 0; i < count; i++) {
        cr_assert_geq(drills[i].minutes, 1);
        cr_assert_gt(strlen(drills[i].how_to), 40u, "%s", drills[i].id);
        cr_assert_eq(drills[i].ball, (drills[i].kit & KIT_BALLS) != 0, "%s", drills[i].id);
        cr_assert(drills[i].ball || strstr(drills[i].cautions, "ehearsal") != NULL || !(drills[i].kit & KIT_CLUB) ||
                      strcmp(drills[i].id, "waist-high-level-swings") == 0 ||
                      strstr(drills[i].cautions, "Half speed") != NULL,
                  "%s", drills[i].id);
    }
    arena_free(arena);
}

Test(wire_standard, short_memory_is_an_error_and_not_a_crash)
{
    const struct embedded_file *file = file_named("drills.json");
    for (size_t limit = 1; limit < 40000; limit += 1500) {
        struct arena *arena = arena_new(limit);
        struct drill *drills = NULL;
        int count = 0;
        struct wire_error error = {"", ""};
        if (arena != NULL && !drills_read((const char *)file->data, file->size, arena, &drills, &count, &error)) {
            cr_assert_str_eq(error.what, "out of memory");
        }
        arena_free(arena);
    }
}
