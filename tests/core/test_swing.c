/* Names, words and mirroring. */
#include <criterion/criterion.h>

#include "core/swing.h"

Test(swing, every_name_is_found_again)
{
    enum checkpoint c;
    enum point p;
    enum view_kind v;
    enum club_kind k;
    enum flight_side s;
    enum strike t;
    enum weight_source w;
    enum severity_word d;
    for (int i = 0; i < CHECKPOINT_COUNT; i++) {
        cr_assert(checkpoint_parse(checkpoint_name((enum checkpoint)i), &c) && (int)c == i);
    }
    for (int i = 0; i < POINT_COUNT; i++) {
        cr_assert(point_parse(point_name((enum point)i), &p) && (int)p == i);
    }
    for (int i = 0; i < VIEW_KIND_COUNT; i++) {
        cr_assert(view_kind_parse(view_kind_name((enum view_kind)i), &v) && (int)v == i);
    }
    for (int i = 0; i < CLUB_KIND_COUNT; i++) {
        cr_assert(club_kind_parse(club_kind_name((enum club_kind)i), &k) && (int)k == i);
    }
    for (int i = 0; i < FLIGHT_SIDE_COUNT; i++) {
        cr_assert(flight_side_parse(flight_side_name((enum flight_side)i), &s) && (int)s == i);
    }
    for (int i = 0; i < STRIKE_COUNT; i++) {
        cr_assert(strike_parse(strike_name((enum strike)i), &t) && (int)t == i);
    }
    cr_assert(weight_source_parse("plates", &w) && w == WEIGHT_PLATES);
    cr_assert_not(weight_source_parse("guess", &w));
    for (int i = 0; i < SEVERITY_WORD_COUNT; i++) {
        cr_assert(severity_word_parse(severity_word_name((enum severity_word)i), &d) && (int)d == i);
    }
    cr_assert_null(checkpoint_name(CHECKPOINT_COUNT));
    cr_assert_null(point_name((enum point) - 1));
    cr_assert_not(point_parse("left_wrist", &p));
    cr_assert_not(point_parse(NULL, &p));
}

Test(swing, severity_words)
{
    cr_assert_eq(severity_word(0), SEVERITY_NONE);
    cr_assert_eq(severity_word(1.0 / 3), SEVERITY_SLIGHT);
    cr_assert_eq(severity_word(0.34), SEVERITY_CLEAR);
    cr_assert_eq(severity_word(2.0 / 3), SEVERITY_CLEAR);
    cr_assert_eq(severity_word(0.67), SEVERITY_STRONG);
}

Test(swing, mirroring)
{
    static struct swing s;
    s.hand = HAND_RIGHT;
    s.view_count = 1;
    s.views[0].width_px = 1000;
    s.views[0].frame_count = 1;
    s.views[0].frames[0].points[POINT_GRIP] = (struct swing_mark){.seen = true, .u = 100, .v = 50, .sd = 3};
    s.views[0].roll_deg = (struct maybe){true, 2};
    s.views[0].stick_count = 1;
    s.views[0].has_target = true;
    s.views[0].target[0] = 400;
    s.flight.start = FLIGHT_LEFT;
    s.flight.curve = FLIGHT_RIGHT;
    s.flight.path_deg = (struct maybe){true, -4};
    s.flight.attack_deg = (struct maybe){true, -3};
    swing_mirror(&s);
    cr_assert_float_eq(s.views[0].frames[0].points[POINT_GRIP].u, 100, 1e-12);
    s.hand = HAND_LEFT;
    swing_mirror(&s);
    cr_assert_float_eq(s.views[0].frames[0].points[POINT_GRIP].u, 900, 1e-12);
    cr_assert_float_eq(s.views[0].frames[0].points[POINT_GRIP].v, 50, 1e-12);
    cr_assert_float_eq(s.views[0].roll_deg.value, -2, 1e-12);
    cr_assert_float_eq(s.views[0].target[0], 600, 1e-12);
    cr_assert_float_eq(s.views[0].sticks[0][0][0], 1000, 1e-12);
    cr_assert_eq(s.flight.start, FLIGHT_RIGHT);
    cr_assert_eq(s.flight.curve, FLIGHT_LEFT);
    cr_assert_float_eq(s.flight.path_deg.value, 4, 1e-12);
    cr_assert_float_eq(s.flight.attack_deg.value, -3, 1e-12);
    cr_assert_eq(swing_frame(&s.views[0], CHECKPOINT_TOP), NULL);
    cr_assert_eq(swing_frame(&s.views[0], CHECKPOINT_ADDRESS), &s.views[0].frames[0]);
}

Test(swing, found_points_can_be_taken_away)
{
    struct swing s = {.view_count = 1};
    s.views[0].frame_count = 2;
    s.views[0].frames[0].points[POINT_GRIP] = (struct swing_mark){.seen = true, .u = 100, .v = 50, .sd = 3};
    s.views[0].frames[0].points[POINT_LEAD_HIP] =
        (struct swing_mark){.seen = true, .found = true, .u = 9, .v = 9, .sd = 30};
    s.views[0].frames[1].points[POINT_LEAD_HIP] =
        (struct swing_mark){.seen = true, .found = true, .u = 9, .v = 9, .sd = 30};
    cr_assert_eq(swing_drop_found(&s), 2);
    cr_assert(s.views[0].frames[0].points[POINT_GRIP].seen);
    cr_assert_not(s.views[0].frames[0].points[POINT_LEAD_HIP].seen);
    cr_assert_not(s.views[0].frames[1].points[POINT_LEAD_HIP].seen);
    cr_assert_eq(swing_drop_found(&s), 0);
}
