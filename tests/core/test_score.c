/* The front door's own work: flights and the coach's words over several swings, drills that fit the player. */
#include <criterion/criterion.h>
#include <math.h>

#include "core/score.h"
#include "tests/core/posed_figure.h"
#include "tests/core/small_standard.h"

static struct standard standard;
static struct swing swings[4];
static const struct swing *const list[4] = {&swings[0], &swings[1], &swings[2], &swings[3]};
static struct report report;

static void fresh(void)
{
    small_standard(&standard);
    for (int i = 0; i < 4; i++) {
        swings[i] = (struct swing){.hand = HAND_RIGHT, .club = CLUB_IRON};
    }
}

TestSuite(score, .init = fresh);

static void measure_it(struct swing *swing, enum measure_item item, double value, double sd)
{
    swing->measured[swing->measured_count++] = (struct measured_value){(int)item, value, sd};
}

Test(score, nothing_seen_is_nothing_said)
{
    const struct score_player player = {.age_years = 40};
    score_swings(list, 1, &standard, &player, NULL, 0, &report);
    cr_assert_eq(report.swing_count, 1);
    cr_assert_eq(report.fixes.count, 0);
    cr_assert_eq(report.player.age, AGE_ADULT);
    cr_assert_eq(report.player.club, CLUB_CLASS_IRON);
    for (int f = 0; f < FAULT_COUNT; f++) {
        cr_assert_eq(report.faults[f].verdict, VERDICT_NOT_OBSERVED);
    }
    for (int i = 0; i < MEASURE_COUNT; i++) {
        cr_assert_not(report.measures.items[i].observed);
    }
}

Test(score, only_the_swings_that_show_a_measure_are_averaged)
{
    const struct score_player player = {.age_years = -1};
    measure_it(&swings[0], MEASURE_SHAFT_DIRECTION_SHAFT_BACK, -10, 3);
    measure_it(&swings[2], MEASURE_SHAFT_DIRECTION_SHAFT_BACK, -20, 3);
    score_swings(list, 4, &standard, &player, NULL, 0, &report);
    cr_assert_eq(report.observed_in[MEASURE_SHAFT_DIRECTION_SHAFT_BACK], 2);
    cr_assert_float_eq(report.measures.items[MEASURE_SHAFT_DIRECTION_SHAFT_BACK].value, -15, 1e-12);
    cr_assert_float_eq(report.severity[MEASURE_SHAFT_DIRECTION_SHAFT_BACK], 9.0 / 19, 1e-12);
    cr_assert(report.habit);
}

Test(score, a_student_s_own_spread_replaces_the_default)
{
    struct score_player player = {.age_years = -1};
    standard.spread[MEASURE_SHAFT_DIRECTION_SHAFT_BACK] = 3;
    for (int i = 0; i < 4; i++) {
        measure_it(&swings[i], MEASURE_SHAFT_DIRECTION_SHAFT_BACK, -10, 0);
    }
    score_swings(list, 4, &standard, &player, NULL, 0, &report);
    cr_assert_float_eq(report.measures.items[MEASURE_SHAFT_DIRECTION_SHAFT_BACK].sd_random, 1.5, 1e-9);
    player.spread[MEASURE_SHAFT_DIRECTION_SHAFT_BACK] = (struct maybe){true, 8};
    score_swings(list, 4, &standard, &player, NULL, 0, &report);
    cr_assert_float_eq(report.measures.items[MEASURE_SHAFT_DIRECTION_SHAFT_BACK].sd_random, 4, 1e-9);
}

Test(score, the_flight_is_what_most_swings_say)
{
    static const struct {
        enum flight_side curves[4], curve;
    } rows[] = {
        {{FLIGHT_RIGHT, FLIGHT_RIGHT, FLIGHT_LEFT, FLIGHT_UNKNOWN}, FLIGHT_RIGHT},
        {{FLIGHT_RIGHT, FLIGHT_RIGHT, FLIGHT_LEFT, FLIGHT_LEFT}, FLIGHT_UNKNOWN},
        {{FLIGHT_RIGHT, FLIGHT_UNKNOWN, FLIGHT_UNKNOWN, FLIGHT_UNKNOWN}, FLIGHT_RIGHT},
        {{FLIGHT_UNKNOWN, FLIGHT_UNKNOWN, FLIGHT_UNKNOWN, FLIGHT_UNKNOWN}, FLIGHT_UNKNOWN},
    };
    const struct score_player player = {.age_years = -1};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        for (int k = 0; k < 4; k++) {
            swings[k].has_flight = true;
            swings[k].flight = (struct swing_flight){.curve = rows[i].curves[k], .strike = STRIKE_FLUSH};
        }
        score_swings(list, 4, &standard, &player, NULL, 0, &report);
        cr_assert_eq(report.flight.curve, rows[i].curve, "row %zu", i);
        cr_assert_eq(report.flight.strike, STRIKE_FLUSH);
    }
}

Test(score, the_coach_s_words_are_averaged)
{
    const struct score_player player = {.age_years = -1};
    swings[0].seen[0] = (struct seen_fault){FAULT_INSIDE_TAKEAWAY, SEVERITY_SLIGHT};
    swings[1].seen[0] = (struct seen_fault){FAULT_INSIDE_TAKEAWAY, SEVERITY_STRONG};
    swings[2].seen[0] = (struct seen_fault){FAULT_ACROSS_THE_LINE, SEVERITY_STRONG};
    swings[0].seen_count = swings[1].seen_count = swings[2].seen_count = 1;
    score_swings(list, 3, &standard, &player, NULL, 0, &report);
    cr_assert_eq(report.faults[FAULT_INSIDE_TAKEAWAY].seen, SEVERITY_CLEAR);
    cr_assert_eq(report.faults[FAULT_ACROSS_THE_LINE].seen, SEVERITY_STRONG);
    cr_assert_eq(report.faults[FAULT_ACROSS_THE_LINE].basis, BASIS_SEEN);
    cr_assert_eq(report.fixes.count, 2);
}

Test(score, drills_fit_the_player)
{
    static const struct drill drills[] = {
        {.id = "a", .faults = {[FAULT_INSIDE_TAKEAWAY] = true}, .place = PLACE_HOME, .adult_only = true},
        {.id = "b", .faults = {[FAULT_INSIDE_TAKEAWAY] = true}, .place = PLACE_HOME, .contraindicated = AREA_WRIST},
        {.id = "c", .faults = {[FAULT_INSIDE_TAKEAWAY] = true}, .place = PLACE_RANGE, .loads = AREA_HIP},
    };
    static const struct {
        struct score_player player;
        int count, first;
    } rows[] = {
        {{.age_years = 30}, 2, 0},
        {{.age_years = 12}, 2, 1},
        {{.age_years = 12, .pain = AREA_WRIST}, 1, 2},
        {{.age_years = 12, .pain = AREA_WRIST, .place = PLACE_HOME}, 0, 0},
    };
    measure_it(&swings[0], MEASURE_SHAFT_DIRECTION_SHAFT_BACK, -25, 1);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        score_swings(list, 1, &standard, &rows[i].player, drills, 3, &report);
        cr_assert_eq(report.fixes.items[0].fault, FAULT_INSIDE_TAKEAWAY);
        cr_assert_eq(report.drill_count[0], rows[i].count, "row %zu", i);
        if (rows[i].count > 0) {
            cr_assert_eq(report.drills[0][0].index, rows[i].first, "row %zu", i);
        }
    }
}

/* Both pictures of a posed figure, the club far inside going back. */
static void posed(struct swing *swing)
{
    struct posed_camera line = {vec_make(-4, 1, 0.35), 0, 0, 0, VIEW_DOWN_THE_LINE};
    swing->club_length_m = (struct maybe){true, POSED_LENGTH};
    swing->view_count = 1;
    swing->views[0] = posed_view(VIEW_DOWN_THE_LINE);
    posed_swing(&swing->views[0], &line, -24, 0);
    posed_sticks(&swing->views[0], &line);
    posed_target(&swing->views[0], &line);
}

static void guess(struct swing *swing, enum checkpoint at, enum point point, double sd)
{
    for (int i = 0; i < swing->views[0].frame_count; i++) {
        struct frame *frame = &swing->views[0].frames[i];
        if (frame->checkpoint == at) {
            frame->points[point].found = true;
            frame->points[point].sd = sd;
        }
    }
}

Test(score, a_guess_is_shown_but_makes_nothing_present_or_absent)
{
    const struct score_player player = {.age_years = -1};
    const struct measure *back = &report.measures.items[MEASURE_SHAFT_DIRECTION_SHAFT_BACK];
    posed(&swings[0]);
    score_swings(list, 1, &standard, &player, NULL, 0, &report);
    cr_assert_eq(report.faults[FAULT_INSIDE_TAKEAWAY].verdict, VERDICT_PRESENT);
    cr_assert_eq(report.faults[FAULT_OUTSIDE_TAKEAWAY].verdict, VERDICT_ABSENT);
    cr_assert_not(back->guessed);
    double sure = measure_sd(back);

    guess(&swings[0], CHECKPOINT_SHAFT_BACK, POINT_CLUBHEAD, 20);
    score_swings(list, 1, &standard, &player, NULL, 0, &report);
    cr_assert(back->observed);
    cr_assert(back->guessed);
    cr_assert_gt(measure_sd(back), 1.5 * sure); /* its confidence is in the error */
    cr_assert_gt(report.faults[FAULT_INSIDE_TAKEAWAY].p, standard.p_present);
    cr_assert_eq(report.faults[FAULT_INSIDE_TAKEAWAY].verdict, VERDICT_CANT_TELL);
    cr_assert_eq(report.faults[FAULT_INSIDE_TAKEAWAY].settle, SETTLE_CONFIRM);
    cr_assert_eq(report.faults[FAULT_OUTSIDE_TAKEAWAY].verdict, VERDICT_CANT_TELL);
    cr_assert_eq(report.faults[FAULT_ACROSS_THE_LINE].verdict, VERDICT_ABSENT); /* rests on no guess */
    cr_assert_eq(report.fixes.count, 0);
}

Test(score, a_suspect_mark_makes_nothing_present_or_absent_until_it_is_confirmed)
{
    const struct score_player player = {.age_years = -1};
    const struct fault_result *inside = &report.faults[FAULT_INSIDE_TAKEAWAY];
    posed(&swings[0]);
    swings[0].views[0].frames[CHECKPOINT_SHAFT_BACK].points[POINT_CLUBHEAD].v -= 250; /* far from level */
    score_swings(list, 1, &standard, &player, NULL, 0, &report);
    bool named = false;
    for (int i = 0; i < report.marks.count; i++) {
        const struct mark_finding *f = &report.marks.items[i];
        named = named || (f->checkpoint == CHECKPOINT_SHAFT_BACK && f->point == POINT_CLUBHEAD && f->kind == MARK_OFF);
    }
    cr_assert(named);
    cr_assert(report.measures.items[MEASURE_SHAFT_DIRECTION_SHAFT_BACK].suspect);
    cr_assert_eq(inside->verdict, VERDICT_CANT_TELL);
    cr_assert_eq(inside->settle, SETTLE_LOOK_AGAIN);
    cr_assert_eq(report.faults[FAULT_ACROSS_THE_LINE].verdict, VERDICT_ABSENT); /* rests on other marks */

    swings[0].views[0].frames[CHECKPOINT_SHAFT_BACK].confirmed = (1U << POINT_COUNT) - 1;
    score_swings(list, 1, &standard, &player, NULL, 0, &report);
    cr_assert_not(report.measures.items[MEASURE_SHAFT_DIRECTION_SHAFT_BACK].suspect);
    cr_assert_neq(inside->verdict, VERDICT_CANT_TELL);
}

Test(score, nothing_is_read_from_a_wrong_view)
{
    const struct score_player player = {.age_years = -1};
    posed(&swings[0]);
    swings[0].views[0].kind = VIEW_FACE_ON;
    score_swings(list, 1, &standard, &player, NULL, 0, &report);
    cr_assert_eq(report.marks.count, 1);
    cr_assert_eq(report.marks.items[0].kind, MARK_WRONG_VIEW);
    for (int i = 0; i < MEASURE_COUNT; i++) {
        cr_assert(!report.measures.items[i].observed || report.measures.items[i].source == MEASURE_SOURCE_TIMES);
    }
}

Test(score, what_people_marked_and_saw_stands_beside_guesses)
{
    const struct score_player player = {.age_years = -1};
    posed(&swings[0]);
    posed(&swings[1]);
    guess(&swings[1], CHECKPOINT_SHAFT_BACK, POINT_CLUBHEAD, 20);
    score_swings(list, 2, &standard, &player, NULL, 0, &report);
    cr_assert_eq(report.faults[FAULT_INSIDE_TAKEAWAY].verdict, VERDICT_PRESENT); /* by the first swing */
    cr_assert(report.measures.items[MEASURE_SHAFT_DIRECTION_SHAFT_BACK].guessed);

    swings[1].seen[swings[1].seen_count++] = (struct seen_fault){FAULT_OUTSIDE_TAKEAWAY, SEVERITY_CLEAR};
    const struct swing *const second[1] = {&swings[1]};
    score_swings(second, 1, &standard, &player, NULL, 0, &report);
    cr_assert_eq(report.faults[FAULT_OUTSIDE_TAKEAWAY].verdict, VERDICT_PRESENT);
    cr_assert_eq(report.faults[FAULT_OUTSIDE_TAKEAWAY].basis, BASIS_SEEN);

    /* A point in the way of nothing: the measures are those of the marks, to the last bit. */
    posed(&swings[2]);
    posed(&swings[3]);
    guess(&swings[3], CHECKPOINT_FINISH, POINT_TRAIL_ANKLE, 60);
    const struct swing *const third[1] = {&swings[2]};
    const struct swing *const fourth[1] = {&swings[3]};
    score_swings(third, 1, &standard, &player, NULL, 0, &report);
    struct measure_set plain = report.measures;
    score_swings(fourth, 1, &standard, &player, NULL, 0, &report);
    for (int i = 0; i < MEASURE_COUNT; i++) {
        cr_assert_eq(plain.items[i].observed, report.measures.items[i].observed);
        cr_assert(!plain.items[i].observed || plain.items[i].value == report.measures.items[i].value);
    }
}

/* The same value seen once, twice, three times: what is said of the player's next swings is never less sure for it. */
Test(score, more_of_the_same_never_says_less)
{
    static const double values[] = {-7, -9, -11, -14, 0, 17};
    const struct score_player player = {.age_years = -1};
    standard.spread[MEASURE_SHAFT_DIRECTION_SHAFT_BACK] = 6;
    for (size_t k = 0; k < sizeof values / sizeof values[0]; k++) {
        double before = 0;
        enum verdict verdict_before = VERDICT_CANT_TELL;
        fresh();
        standard.spread[MEASURE_SHAFT_DIRECTION_SHAFT_BACK] = 6;
        for (int n = 1; n <= 4; n++) {
            measure_it(&swings[n - 1], MEASURE_SHAFT_DIRECTION_SHAFT_BACK, values[k], 1);
            score_swings(list, n, &standard, &player, NULL, 0, &report);
            const struct fault_result *inside = &report.faults[FAULT_INSIDE_TAKEAWAY];
            const double sure = fmax(inside->p, 1 - inside->p);
            cr_assert(n == 1 || sure >= before - 1e-12, "%g, %d times: %g after %g", values[k], n, inside->p, before);
            cr_assert(verdict_before == VERDICT_CANT_TELL || inside->verdict == verdict_before, "%g, %d times",
                      values[k], n);
            before = sure;
            verdict_before = inside->verdict;
            /* Of one or two swings the measure itself speaks of those. */
            const double spread = n < 3 ? 0 : 6;
            cr_assert_float_eq(report.measures.items[MEASURE_SHAFT_DIRECTION_SHAFT_BACK].sd_random,
                               sqrt(spread * spread / n), 1e-12);
        }
    }
}

/* Forward bend of three clubs, each 3 to 5 degrees more upright than that club asks for: which of them comes first
 * makes no difference, and a lesson of one club is judged by that club's range. */
Test(score, each_swing_goes_by_its_own_club_s_range)
{
    static const int orders[][3] = {{0, 1, 2}, {0, 2, 1}, {1, 0, 2}, {1, 2, 0}, {2, 0, 1}, {2, 1, 0}};
    static const struct {
        enum club_kind club;
        double value;
    } seen[] = {{CLUB_DRIVER, 23}, {CLUB_IRON, 25}, {CLUB_WEDGE, 27}};
    const struct score_player player = {.age_years = -1};
    const enum measure_item bend = MEASURE_SPINE_TILT_ADDRESS;
    standard.ranges[standard.range_count++] = (struct range_rule){.item = bend, .range = range_make(18, 30, 45, 58)};
    standard.ranges[standard.range_count++] =
        (struct range_rule){.item = bend, .club = CLUB_CLASS_WOOD, .range = range_make(15, 26, 42, 58)};
    standard.faults[FAULT_UPRIGHT_POSTURE] =
        (struct fault_rule){.defined = true, .importance = 0.9, .sign_count = 1, .signs = {{bend, SIDE_LOW, 1, true}}};
    standard.spread[bend] = 1.5;
    for (size_t k = 0; k < sizeof orders / sizeof orders[0]; k++) {
        for (int i = 0; i < 3; i++) {
            swings[i] = (struct swing){.club = seen[orders[k][i]].club};
            measure_it(&swings[i], bend, seen[orders[k][i]].value, 2);
        }
        score_swings(list, 3, &standard, &player, NULL, 0, &report);
        cr_assert_eq(report.player.club, CLUB_CLASS_ANY);
        cr_assert_float_eq(report.ranges[bend].range.ok_low.value, (26 + 30 + 30) / 3.0, 1e-12);
        cr_assert_float_eq(report.ranges[bend].range.strong_low.value, (15 + 18 + 18) / 3.0, 1e-12);
        const double low = 86 / 3.0;
        const double span = low - 17;
        cr_assert_float_eq(report.severity[bend], (low - 25) / span, 1e-12);
        const double sd =
            sqrt(2 * 2 + 1.5 * 1.5 / 3); /* an instrument's own error stays, the player's is shared by three */
        const double p = 0.5 * erfc((25 - (low - 0.2 * span)) / sd / sqrt(2));
        cr_assert_float_eq(report.faults[FAULT_UPRIGHT_POSTURE].p, p, 1e-9, "order %zu: %g, not %g", k,
                           report.faults[FAULT_UPRIGHT_POSTURE].p, p);
    }
    for (size_t c = 0; c < 3; c++) {
        for (int i = 0; i < 3; i++) {
            swings[i].club = seen[c].club;
        }
        score_swings(list, 3, &standard, &player, NULL, 0, &report);
        cr_assert_eq(report.player.club, club_class_of(seen[c].club));
        cr_assert_eq(report.ranges[bend].range.ok_low.value, c == 0 ? 26 : 30);
    }
}
