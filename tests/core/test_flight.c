/* Ball flight from the eye and from numbers. The vector algebra is checked in tests/external/check_flight.py. */
#include <criterion/criterion.h>

#include "core/flight.h"
#include "tests/core/small_standard.h"

Test(flight, the_axis_tilts_toward_the_open_face)
{
    static const double rows[][5] = {/* path, face, attack, loft, tilt */
                                     {0, 2, 0, 12, 9.324},   {0, 2, 0, 20, 5.477}, {0, 2, 0, 45, 1.999},
                                     {0, -2, 0, 12, -9.324}, {3, 5, 0, 20, 5.477}, {4, 4, 0, 20, 0},
                                     {0, 4, 0, 12, 18.169}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        cr_assert_float_eq(flight_axis_tilt(rows[i][0], rows[i][1], rows[i][2], rows[i][3]), rows[i][4], 6e-4,
                           "row %zu: %g", i, flight_axis_tilt(rows[i][0], rows[i][1], rows[i][2], rows[i][3]));
    }
    cr_assert_float_eq(flight_start_direction(-4, 2, 0.76), 0.56, 1e-12);
}

Test(flight, classes)
{
    struct standard standard;
    small_standard(&standard);
    const struct maybe none = {false, 0};
    const struct maybe out_in = {true, -4};
    const struct maybe open = {true, 1};
    struct {
        struct swing_flight flight;
        enum flight_side start, curve;
        bool tilt;
    } rows[] = {
        {{.start = FLIGHT_LEFT, .curve = FLIGHT_RIGHT, .strike = STRIKE_THIN}, FLIGHT_LEFT, FLIGHT_RIGHT, false},
        {{.curve = FLIGHT_RIGHT, .strike = STRIKE_HEEL}, FLIGHT_UNKNOWN, FLIGHT_UNKNOWN, false},
        {{.strike = STRIKE_FLUSH, .path_deg = out_in, .face_deg = open}, FLIGHT_STRAIGHT, FLIGHT_RIGHT, true},
        {{.strike = STRIKE_UNKNOWN, .path_deg = out_in, .face_deg = open}, FLIGHT_STRAIGHT, FLIGHT_UNKNOWN, false},
        {{.strike = STRIKE_TOE, .path_deg = out_in, .face_deg = open}, FLIGHT_STRAIGHT, FLIGHT_UNKNOWN, false},
        {{.curve = FLIGHT_LEFT, .strike = STRIKE_FLUSH, .path_deg = out_in, .face_deg = open},
         FLIGHT_STRAIGHT,
         FLIGHT_LEFT,
         true},
        {{.strike = STRIKE_FLUSH, .path_deg = out_in, .face_deg = none}, FLIGHT_UNKNOWN, FLIGHT_UNKNOWN, false},
        {{.strike = STRIKE_FLUSH, .path_deg = out_in, .face_deg = out_in}, FLIGHT_LEFT, FLIGHT_STRAIGHT, true},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct flight_class got = flight_classify(&rows[i].flight, &standard, CLUB_CLASS_IRON);
        cr_assert_eq(got.start, rows[i].start, "row %zu start %d", i, got.start);
        cr_assert_eq(got.curve, rows[i].curve, "row %zu curve %d", i, got.curve);
        cr_assert_eq(got.axis_tilt_deg.given, rows[i].tilt, "row %zu", i);
    }
}

Test(flight, a_match_needs_every_part_that_is_said)
{
    struct standard standard;
    small_standard(&standard);
    standard.typical[1] = (struct typical){FAULT_INSIDE_TAKEAWAY, FLIGHT_RIGHT, FLIGHT_STRAIGHT, STRIKE_UNKNOWN, 0.4};
    standard.typical_count = 2;
    static const struct {
        enum flight_side start, curve;
        double match;
    } rows[] = {
        {FLIGHT_UNKNOWN, FLIGHT_UNKNOWN, 0}, {FLIGHT_RIGHT, FLIGHT_STRAIGHT, 0.4}, {FLIGHT_RIGHT, FLIGHT_UNKNOWN, 0},
        {FLIGHT_RIGHT, FLIGHT_LEFT, 0.5},    {FLIGHT_LEFT, FLIGHT_STRAIGHT, 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct flight_class flight = {.start = rows[i].start, .curve = rows[i].curve};
        cr_assert_eq(flight_weigh(&standard, FAULT_INSIDE_TAKEAWAY, &flight).fits, rows[i].match, "row %zu", i);
        cr_assert_eq(flight_weigh(&standard, FAULT_HIPS_SLIDE_AWAY, &flight).fits, 0);
        cr_assert_eq(flight_weigh(&standard, FAULT_HIPS_SLIDE_AWAY, &flight).ratio, 1);
    }
}

enum { START = FLIGHT_PART_START, CURVE = FLIGHT_PART_CURVE, STRIKE = FLIGHT_PART_STRIKE };

/* Of a fault that is typically a block (.4), a pull (.5), thin (.3), and with little weight a hook (.2). */
Test(flight, what_speaks_for_and_against)
{
    static const struct {
        struct flight_class flight;
        double ratio;
        unsigned with, against;
        bool refused;
    } rows[] = {
        {{.start = FLIGHT_UNKNOWN}, 1, 0, 0, false},
        {{.start = FLIGHT_STRAIGHT, .curve = FLIGHT_STRAIGHT, .strike = STRIKE_FLUSH}, 1, 0, 0, false},
        {{.start = FLIGHT_LEFT}, 2, START, 0, false},
        {{.start = FLIGHT_RIGHT, .curve = FLIGHT_STRAIGHT}, 1 / .6, START | CURVE, 0, false},
        {{.start = FLIGHT_LEFT, .curve = FLIGHT_STRAIGHT, .strike = STRIKE_THIN},
         1 / (.5 * .7),
         START | STRIKE,
         0,
         false},
        /* the pull fits the start, so the block's start is no objection; its own curve is none either: it spoke once */
        {{.start = FLIGHT_LEFT, .curve = FLIGHT_RIGHT}, 2 * .8, START, 0, false},
        {{.start = FLIGHT_RIGHT, .curve = FLIGHT_RIGHT}, .5 * .6, 0, START | CURVE, false},
        {{.start = FLIGHT_RIGHT, .curve = FLIGHT_RIGHT, .strike = STRIKE_FAT},
         .5 * .6 * .7,
         0,
         START | CURVE | STRIKE,
         true},
        {{.start = FLIGHT_RIGHT, .curve = FLIGHT_RIGHT, .strike = STRIKE_THIN},
         .5 * .6 / .7,
         STRIKE,
         START | CURVE,
         false},
        {{.strike = STRIKE_TOPPED}, 1, 0, 0, false},
        {{.strike = STRIKE_HEEL}, 1, 0, 0, false},
        {{.curve = FLIGHT_LEFT}, 1 / .8, 0, 0, false},
    };
    struct standard standard;
    small_standard(&standard);
    const struct typical typical[] = {{FAULT_INSIDE_TAKEAWAY, FLIGHT_RIGHT, FLIGHT_STRAIGHT, STRIKE_UNKNOWN, 0.4},
                                      {FAULT_INSIDE_TAKEAWAY, FLIGHT_LEFT, FLIGHT_UNKNOWN, STRIKE_UNKNOWN, 0.5},
                                      {FAULT_INSIDE_TAKEAWAY, FLIGHT_UNKNOWN, FLIGHT_UNKNOWN, STRIKE_THIN, 0.3},
                                      {FAULT_INSIDE_TAKEAWAY, FLIGHT_UNKNOWN, FLIGHT_LEFT, STRIKE_UNKNOWN, 0.2}};
    memcpy(standard.typical, typical, sizeof typical);
    standard.typical_count = 4;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const struct flight_weight got = flight_weigh(&standard, FAULT_INSIDE_TAKEAWAY, &rows[i].flight);
        cr_expect_float_eq(got.ratio, rows[i].ratio, 1e-12, "row %zu: %g", i, got.ratio);
        cr_expect_eq(got.with, rows[i].with, "row %zu: with %u", i, got.with);
        cr_expect_eq(got.against, rows[i].against, "row %zu: against %u", i, got.against);
        cr_expect_eq(got.refused, rows[i].refused, "row %zu", i);
    }
}

Test(flight, one_row_is_trusted_no_further_than_an_eye)
{
    struct standard standard;
    small_standard(&standard);
    standard.typical[0].match = 1;
    const struct flight_class hook = {.curve = FLIGHT_LEFT};
    const struct flight_class slice = {.curve = FLIGHT_RIGHT};
    cr_assert_float_eq(flight_weigh(&standard, FAULT_INSIDE_TAKEAWAY, &hook).ratio, FLIGHT_TRUST, 1e-12);
    cr_assert_float_eq(flight_weigh(&standard, FAULT_INSIDE_TAKEAWAY, &slice).ratio, 1 / FLIGHT_TRUST, 1e-12);
}

Test(flight, a_strike_is_contradicted_by_the_other_end_of_the_same)
{
    static const struct {
        enum strike typical, seen;
        bool against;
    } rows[] = {
        {STRIKE_THIN, STRIKE_FAT, true},     {STRIKE_TOPPED, STRIKE_FAT, true},     {STRIKE_FAT, STRIKE_TOPPED, true},
        {STRIKE_HEEL, STRIKE_TOE, true},     {STRIKE_TOE, STRIKE_HEEL, true},       {STRIKE_FLUSH, STRIKE_TOE, true},
        {STRIKE_THIN, STRIKE_TOPPED, false}, {STRIKE_HEEL, STRIKE_FAT, false},      {STRIKE_FAT, STRIKE_TOE, false},
        {STRIKE_TOE, STRIKE_FLUSH, false},   {STRIKE_FLUSH, STRIKE_UNKNOWN, false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct standard standard;
        small_standard(&standard);
        standard.typical[0] = (struct typical){.fault = FAULT_INSIDE_TAKEAWAY, .strike = rows[i].typical, .match = 0.5};
        const struct flight_class flight = {.strike = rows[i].seen};
        const struct flight_weight got = flight_weigh(&standard, FAULT_INSIDE_TAKEAWAY, &flight);
        cr_expect_eq(got.against == STRIKE, rows[i].against, "row %zu", i);
        cr_expect_eq(got.ratio, rows[i].against ? 0.5 : 1, "row %zu", i);
    }
}
