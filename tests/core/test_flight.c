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
        cr_assert_eq(flight_match(&standard, FAULT_INSIDE_TAKEAWAY, &flight), rows[i].match, "row %zu", i);
        cr_assert_eq(flight_match(&standard, FAULT_HIPS_SLIDE_AWAY, &flight), 0);
    }
}
