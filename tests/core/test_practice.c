/* Drills that fit a fault, a body, a place and the kit. */
#include <criterion/criterion.h>

#include "core/practice.h"

static const struct drill drills[] = {
    {.id = "a",
     .faults = {[FAULT_HIPS_SLIDE_AWAY] = true},
     .kit = KIT_CHAIR,
     .place = PLACE_HOME,
     .loads = AREA_HIP | AREA_KNEE},
    {.id = "b",
     .faults = {[FAULT_HIPS_SLIDE_AWAY] = true},
     .kit = KIT_CLUB | KIT_MIRROR,
     .place = PLACE_HOME,
     .loads = AREA_HIP},
    {.id = "c", .faults = {[FAULT_HIPS_SLIDE_AWAY] = true}, .kit = KIT_CLUB, .place = PLACE_RANGE, .loads = AREA_HIP},
    {.id = "d",
     .faults = {[FAULT_HIPS_SLIDE_AWAY] = true},
     .kit = KIT_CLUB,
     .place = PLACE_HOME | PLACE_RANGE,
     .loads = AREA_ELBOW,
     .contraindicated = AREA_ELBOW,
     .adult_only = true},
    {.id = "e", .faults = {[FAULT_CROWDING] = true}, .place = PLACE_HOME},
    {.id = "f", .faults = {[FAULT_HIPS_SLIDE_AWAY] = true}, .kit = KIT_CLUB, .place = PLACE_RANGE, .loads = AREA_HIP},
};

Test(practice, suggestions)
{
    static const struct {
        struct practice_wish wish;
        int max, count;
        const char *first, *second;
    } rows[] = {
        {{.fault = FAULT_HIPS_SLIDE_AWAY}, 2, 2, "c", "d"},
        {{.fault = FAULT_HIPS_SLIDE_AWAY, .junior = true}, 2, 2, "c", "f"},
        {{.fault = FAULT_HIPS_SLIDE_AWAY, .pain = AREA_ELBOW}, 2, 2, "c", "f"},
        {{.fault = FAULT_HIPS_SLIDE_AWAY, .pain = AREA_HIP}, 2, 1, "d", ""}, /* the only one that loads no hip */
        {{.fault = FAULT_HIPS_SLIDE_AWAY, .pain = AREA_HIP | AREA_ELBOW}, 2, 2, "c", "f"},
        {{.fault = FAULT_HIPS_SLIDE_AWAY, .place = PLACE_HOME}, 2, 2, "d", "b"},
        {{.fault = FAULT_HIPS_SLIDE_AWAY, .kit = KIT_CHAIR}, 2, 1, "a", ""},
        {{.fault = FAULT_HIPS_SLIDE_AWAY, .kit = KIT_CLUB | KIT_MIRROR, .place = PLACE_HOME, .junior = true},
         2,
         1,
         "b",
         ""},
        {{.fault = FAULT_CROWDING, .kit = KIT_STICK}, 2, 1, "e", ""},
        {{.fault = FAULT_REACHING}, 2, 0, "", ""},
        {{.fault = FAULT_HIPS_SLIDE_AWAY}, 1, 1, "c", ""},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct practice_pick picks[2];
        int count = practice_suggest(drills, 6, &rows[i].wish, picks, rows[i].max);
        cr_assert_eq(count, rows[i].count, "row %zu: %d", i, count);
        if (count > 0) {
            cr_assert_str_eq(drills[picks[0].index].id, rows[i].first, "row %zu: %s", i, drills[picks[0].index].id);
        }
        if (count > 1) {
            cr_assert_str_eq(drills[picks[1].index].id, rows[i].second, "row %zu: %s", i, drills[picks[1].index].id);
        }
    }
    cr_assert(practice_contraindicated(&drills[3], AREA_ELBOW | AREA_HIP));
    cr_assert_not(practice_contraindicated(&drills[3], AREA_HIP));
}

Test(practice, the_lower_level_comes_first)
{
    static const struct drill some[] = {
        {.id = "course", .faults = {[FAULT_CROWDING] = true}, .level = LEVEL_COURSE},
        {.id = "slow", .faults = {[FAULT_CROWDING] = true}, .level = LEVEL_SLOW, .loads = AREA_HIP | AREA_KNEE},
    };
    const struct practice_wish wish = {.fault = FAULT_CROWDING};
    struct practice_pick picks[2];
    cr_assert_eq(practice_suggest(some, 2, &wish, picks, 2), 2);
    cr_assert_eq(picks[0].index, 1);
    cr_assert_eq(practice_level(false, 0), LEVEL_NO_CLUB);
    cr_assert_eq(practice_level(false, KIT_CLUB | KIT_CHAIR), LEVEL_SLOW);
    cr_assert_eq(practice_level(true, KIT_CLUB | KIT_BALLS), LEVEL_HALF_SPEED_BALL);
}

Test(practice, a_load_on_a_sore_area_needs_the_coachs_word)
{
    struct practice_wish wish = {.fault = FAULT_HIPS_SLIDE_AWAY, .pain = AREA_ELBOW};
    struct practice_pick picks[2];
    cr_assert_eq(practice_suggest(drills, 6, &wish, picks, 2), 2);
    cr_assert_not(picks[0].needs_confirmation);
    wish.pain = AREA_ELBOW | AREA_HIP; /* d is ruled out; all others load the hip */
    cr_assert_eq(practice_suggest(drills, 6, &wish, picks, 2), 2);
    cr_assert(picks[0].needs_confirmation && picks[1].needs_confirmation);
    cr_assert(practice_needs_word(&drills[0], AREA_KNEE, false));
    cr_assert(practice_needs_word(&drills[3], AREA_ELBOW, false));
    cr_assert_not(practice_needs_word(&drills[0], AREA_NECK, true));
}

/* Falls: first the drills with both feet down and the eyes open; alone, a balance drill needs the coach's word. */
Test(practice, balance_is_not_chosen_for_the_unsteady)
{
    static const struct drill some[] = {
        {.id = "eyes closed", .faults = {[FAULT_HURRIED_TEMPO] = true}, .kit = KIT_SUPPORT, .balance = true},
        {.id = "count", .faults = {[FAULT_HURRIED_TEMPO] = true}, .kit = KIT_CLUB | KIT_BALLS, .loads = AREA_WRIST},
    };
    struct practice_wish wish = {.fault = FAULT_HURRIED_TEMPO};
    struct practice_pick picks[2];
    cr_assert_eq(practice_suggest(some, 2, &wish, picks, 2), 2);
    cr_assert_eq(picks[0].index, 0);
    wish.unsteady = true;
    cr_assert_eq(practice_suggest(some, 2, &wish, picks, 2), 1);
    cr_assert_eq(picks[0].index, 1);
    cr_assert_not(picks[0].needs_confirmation);
    cr_assert_eq(practice_suggest(some, 1, &wish, picks, 2), 1);
    cr_assert(picks[0].needs_confirmation);
    static const struct standard standard = {.balance_age = 65};
    static const struct {
        int age;
        unsigned pain;
        bool unsteady;
    } rows[] = {{64, 0, false},        {65, 0, true},        {12, 0, false},         {-1, 0, false},
                {30, AREA_KNEE, true}, {30, AREA_HIP, true}, {-1, AREA_ANKLE, true}, {30, AREA_LOW_BACK, false}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        cr_assert_eq(practice_unsteady(&standard, rows[i].age, rows[i].pain), rows[i].unsteady, "row %zu", i);
    }
}

Test(practice, pain_pauses)
{
    static const struct {
        int level, previous;
        bool pauses;
    } rows[] = {{0, -1, false}, {3, -1, false}, {4, -1, true}, {10, 10, true}, {2, 0, true},
                {2, 1, false},  {3, 1, true},   {3, 2, false}, {3, 3, false},  {1, 3, false}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        cr_assert_eq(practice_pain_pauses(rows[i].level, rows[i].previous), rows[i].pauses, "row %zu", i);
    }
}

Test(practice, doses)
{
    struct drill drill = {.minutes = 8};
    struct dose dose = practice_dose(&drill, 11);
    cr_assert_eq(dose.sessions_per_week, 4);
    cr_assert_eq(dose.minutes, 8);
    cr_assert_eq(dose.retest_days, 14);
    cr_assert_eq(dose.self_check_every, 2);
    cr_assert(dose.adult_present);
    cr_assert_eq(dose.max_weekly_hours, 11);
    dose = practice_dose(&drill, 18);
    cr_assert_not(dose.adult_present);
    cr_assert_eq(dose.max_weekly_hours, 0);
    cr_assert_not(practice_dose(&drill, -1).adult_present);
    drill.minutes = 20;
    static const struct {
        int age, sessions, minutes;
    } bands[] = {{6, 3, 5}, {8, 3, 5}, {9, 4, 8}, {12, 4, 8}, {13, 4, 20}, {40, 4, 20}, {-1, 4, 20}};
    for (size_t i = 0; i < sizeof bands / sizeof bands[0]; i++) {
        dose = practice_dose(&drill, bands[i].age);
        cr_assert_eq(dose.sessions_per_week, bands[i].sessions, "age %d", bands[i].age);
        cr_assert_eq(dose.minutes, bands[i].minutes, "age %d", bands[i].age);
    }
}

Test(practice, small_children_try_less_often)
{
    static const struct {
        enum drill_level level;
        int age, n, of, child_n, child_of;
    } rows[] = {{LEVEL_SLOW, 8, 8, 10, 4, 5},   {LEVEL_SLOW, 9, 8, 10, 8, 10},  {LEVEL_SLOW, -1, 8, 10, 8, 10},
                {LEVEL_SLOW, 40, 8, 10, 8, 10}, {LEVEL_NO_CLUB, 6, 7, 8, 3, 4}, {LEVEL_NO_CLUB, 6, 10, 12, 5, 6},
                {LEVEL_SLOW, 6, 16, 20, 8, 10}, {LEVEL_SLOW, 6, 4, 5, 4, 5},    {LEVEL_COURSE, 8, 6, 9, 2, 3},
                {LEVEL_COURSE, 9, 6, 9, 6, 9},  {LEVEL_SLOW, 6, 1, 10, 1, 5},   {LEVEL_SLOW, 6, 0, 0, 0, 0}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct drill drill = {.level = rows[i].level, .pass = {.n = rows[i].n, .of = rows[i].of}};
        const struct tries tries = practice_tries(&drill, rows[i].age);
        cr_assert_eq(tries.n, rows[i].child_n, "row %zu", i);
        cr_assert_eq(tries.of, rows[i].child_of, "row %zu", i);
    }
}

Test(practice, names_go_both_ways)
{
    for (int i = 0; i < KIT_BITS; i++) {
        unsigned bit = 0;
        cr_assert(kit_parse(kit_name((enum kit)(1U << i)), &bit));
        cr_assert_eq(bit, 1U << i);
    }
    for (int i = 0; i < PLACE_BITS; i++) {
        unsigned bit = 0;
        cr_assert(place_parse(place_name((enum drill_place)(1U << i)), &bit));
        cr_assert_eq(bit, 1U << i);
    }
    for (int i = 0; i < AREA_BITS; i++) {
        unsigned bit = 0;
        cr_assert(area_parse(area_name((enum area)(1U << i)), &bit));
        cr_assert_eq(bit, 1U << i);
    }
    unsigned bit;
    cr_assert_not(area_parse("nose", &bit));
    cr_assert_null(area_name((enum area)3));
    cr_assert_str_eq(area_name(AREA_LOW_BACK), "low back");
}
