/* What works against what: faults by their measures, drills by their faults, the ball by what is typical. */
#include <criterion/criterion.h>

#include "core/conflict.h"
#include "tests/core/small_standard.h"

Test(conflict, the_same_measure_the_other_way)
{
    struct standard standard;
    enum measure_item item = MEASURE_SHAFT_CROSS_TOP;
    small_standard(&standard);
    cr_assert(conflict_faults(&standard, FAULT_INSIDE_TAKEAWAY, FAULT_OUTSIDE_TAKEAWAY, &item));
    cr_assert_eq(item, MEASURE_SHAFT_DIRECTION_SHAFT_BACK);
    cr_assert(conflict_faults(&standard, FAULT_OUTSIDE_TAKEAWAY, FAULT_INSIDE_TAKEAWAY, &item));
    cr_assert_not(conflict_faults(&standard, FAULT_INSIDE_TAKEAWAY, FAULT_INSIDE_TAKEAWAY, &item));
    cr_assert_not(conflict_faults(&standard, FAULT_INSIDE_TAKEAWAY, FAULT_ACROSS_THE_LINE, &item));
    standard.faults[FAULT_OUTSIDE_TAKEAWAY].signs[0].required = false;
    cr_assert_not(conflict_faults(&standard, FAULT_INSIDE_TAKEAWAY, FAULT_OUTSIDE_TAKEAWAY, &item));
}

Test(conflict, a_drill_for_the_opposite)
{
    struct standard standard;
    enum measure_item item;
    struct drill drill = {.faults = {[FAULT_OUTSIDE_TAKEAWAY] = true, [FAULT_OVERSWING] = true}};
    small_standard(&standard);
    cr_assert(conflict_drill(&standard, &drill, FAULT_INSIDE_TAKEAWAY, &item));
    cr_assert_not(conflict_drill(&standard, &drill, FAULT_ACROSS_THE_LINE, &item));
    drill.faults[FAULT_INSIDE_TAKEAWAY] = true; /* for either: it leads to the middle */
    cr_assert_not(conflict_drill(&standard, &drill, FAULT_INSIDE_TAKEAWAY, &item));
}

Test(conflict, the_ball_speaks_against)
{
    struct standard standard;
    small_standard(&standard);
    standard.typical[1] = (struct typical){FAULT_INSIDE_TAKEAWAY, FLIGHT_RIGHT, FLIGHT_STRAIGHT, STRIKE_UNKNOWN, 0.4};
    standard.typical[2] = (struct typical){FAULT_INSIDE_TAKEAWAY, FLIGHT_UNKNOWN, FLIGHT_UNKNOWN, STRIKE_THIN, 0.4};
    standard.typical_count = 3;
    static const struct {
        struct flight_class flight;
        bool against;
    } rows[] = {
        {{.start = FLIGHT_LEFT, .curve = FLIGHT_RIGHT, .strike = STRIKE_FAT}, true},
        {{.start = FLIGHT_RIGHT, .curve = FLIGHT_RIGHT, .strike = STRIKE_FAT}, true},
        {{.start = FLIGHT_LEFT, .curve = FLIGHT_LEFT, .strike = STRIKE_FAT}, false},
        {{.start = FLIGHT_LEFT, .curve = FLIGHT_RIGHT, .strike = STRIKE_THIN}, false},
        {{.start = FLIGHT_LEFT, .curve = FLIGHT_RIGHT, .strike = STRIKE_FLUSH}, false},
        {{.start = FLIGHT_LEFT, .curve = FLIGHT_RIGHT, .strike = STRIKE_UNKNOWN}, false},
        {{.start = FLIGHT_STRAIGHT, .curve = FLIGHT_STRAIGHT, .strike = STRIKE_FAT}, false},
        {{.start = FLIGHT_UNKNOWN, .curve = FLIGHT_UNKNOWN, .strike = STRIKE_UNKNOWN}, false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        cr_expect_eq(conflict_flight(&standard, FAULT_INSIDE_TAKEAWAY, &rows[i].flight), rows[i].against, "row %zu", i);
    }
    cr_expect_not(conflict_flight(&standard, FAULT_ACROSS_THE_LINE, &rows[0].flight));
}
