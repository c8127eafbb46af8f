/* From uncertain measures to verdicts. Brute-force agreement is in tests/external/check_faults.py. */
#include <criterion/criterion.h>
#include <math.h>

#include "core/fault.h"
#include "tests/core/small_standard.h"

static const struct flight_class no_flight = {.start = FLIGHT_UNKNOWN};

static double below(double z)
{
    return 0.5 * erfc(-z / sqrt(2));
}

Test(fault, one_sign_is_exact)
{
    struct measure_range range = range_make(-25, -6, 15, 40);
    static const double rows[][2] = {{20, 2}, {20, 6}, {18, 0.01}, {14, 3}, {45, 10}, {-40, 5}, {19.9, 0.5}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct uncertain_sign sign = {range, SIDE_HIGH, 0.7, rows[i][0], rows[i][1], 0, 0, 0};
        double exact = 1 - below((20 - rows[i][0]) / rows[i][1]);
        cr_assert_float_eq(fault_probability(&sign, 1, 0.2, NULL), exact, 1e-12, "row %zu", i);
    }
}

/* By hand: sound 1, the marks say nothing with .03; toward absence the wide error counts. */
Test(fault, marks_that_may_have_slipped_keep_a_fault_from_being_sure)
{
    struct measure_range range = range_make(-25, -6, 15, 40);
    struct uncertain_sign sign = {range, SIDE_HIGH, 0.7, 1000, 1, 0.01, 10, 0.03};
    cr_assert_float_eq(fault_probability(&sign, 1, 0.2, NULL), 0.97, 1e-9);
    struct uncertain_sign two[2] = {sign, sign};
    two[1].blind = 0.01;
    cr_assert_float_eq(fault_probability(two, 2, 0.2, NULL), 0.97, 1e-9, "two signs of the same marks are no surer");
    two[1].slip = two[1].blind = 0;
    cr_assert_float_eq(fault_probability(two, 2, 0.2, NULL), 1, 1e-9, "but one that rests on no mark is");
    sign.slip = 1 - 0.99 * 0.99;
    sign.blind = 0.01;
    cr_assert_float_eq(fault_probability(&sign, 1, 0.2, NULL), 0.99, 1e-9);
    sign = (struct uncertain_sign){range, SIDE_HIGH, 0.7, 10, 1, 0.01, 10, 0.03};
    cr_assert_float_eq(fault_probability(&sign, 1, 0.2, NULL), 0.01 * (1 - below(1)), 1e-9);
}

Test(fault, no_error_means_no_doubt)
{
    struct measure_range range = range_make(-25, -6, 15, 40);
    struct uncertain_sign signs[2] = {{range, SIDE_HIGH, 0.6, 40, 0, 0, 0, 0}, {range, SIDE_LOW, 0.4, 0, 0, 0, 0, 0}};
    cr_assert_eq(fault_probability(signs, 2, 0.2, NULL), 1);
    cr_assert_eq(fault_probability(signs, 2, 0.6, NULL), 1);
    cr_assert_eq(fault_probability(signs, 2, 0.61, NULL), 0);
    signs[0].mean = 0;
    cr_assert_eq(fault_probability(signs, 2, 0.2, NULL), 0);
    cr_assert_eq(fault_expected_severity(&signs[0]), 0);
}

/* Two equal signs, one normal each: compared with a fine numerical integral over the first. */
Test(fault, two_signs_agree_with_an_integral)
{
    struct measure_range range = range_make(-2, -1, 0, 1);
    static const double sds[][2] = {{0.3, 0.3}, {0.1, 0.6}, {0.02, 0.5}, {1.5, 0.2}, {0.001, 0.002}};
    for (size_t i = 0; i < sizeof sds / sizeof sds[0]; i++) {
        struct uncertain_sign signs[2] = {{range, SIDE_HIGH, 1, 0.15, sds[i][0], 0, 0, 0},
                                          {range, SIDE_HIGH, 1, 0.22, sds[i][1], 0, 0, 0}};
        double p = 0;
        for (int k = 0; k < 40000; k++) {
            double z = -8 + 16 * (k + 0.5) / 40000;
            double first = 0.15 + sds[i][0] * z;
            double severity = first < 0 ? 0 : first > 1 ? 1 : first;
            double need = 0.4 - severity; /* of the second, to reach a mean of 0.2 */
            double reach = need <= 0 ? 1 : need > 1 ? 0 : 1 - below((need - 0.22) / sds[i][1]);
            p += reach * exp(-z * z / 2) / sqrt(2 * 3.14159265358979) * 16 / 40000;
        }
        cr_assert_float_eq(fault_probability(signs, 2, 0.2, NULL), p, 0.002, "row %zu: %g, %g", i,
                           fault_probability(signs, 2, 0.2, NULL), p);
    }
}

Test(fault, expected_severity_agrees_with_an_integral)
{
    struct measure_range range = range_make(-25, -6, 15, 40);
    static const double rows[][2] = {{20, 5}, {0, 20}, {60, 30}, {15, 0.1}, {27, 8}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct uncertain_sign sign = {range, SIDE_HIGH, 1, rows[i][0], rows[i][1], 0, 0, 0};
        double mean = 0;
        for (int k = 0; k < 20000; k++) {
            double z = -8 + 16 * (k + 0.5) / 20000;
            mean += range_severity(&range, SIDE_HIGH, rows[i][0] + rows[i][1] * z) * exp(-z * z / 2) /
                    sqrt(2 * 3.14159265358979) * 16 / 20000;
        }
        cr_assert_float_eq(fault_expected_severity(&sign), mean, 1e-6, "row %zu", i);
    }
}

static struct measure_set measured(enum measure_item item, double value, double random, double systematic,
                                   enum measure_source source)
{
    struct measure_set set = {0};
    set.items[item] = (struct measure){
        .observed = true, .value = value, .sd_random = random, .sd_systematic = systematic, .source = source};
    return set;
}

static void any_ranges(const struct standard *standard, struct judged_range ranges[MEASURE_COUNT])
{
    static const int clubs[CLUB_CLASS_COUNT] = {0};
    for (int i = 0; i < MEASURE_COUNT; i++) {
        ranges[i] = standard_mean_range(standard, (enum measure_item)i, clubs, &(struct player){.age = AGE_ANY});
    }
}

/* One measure twice is that measure; a measure and its opposite can't both be high. */
Test(fault, signs_of_the_same_marks_are_as_one_or_shut_each_other_out)
{
    const struct measure_range range = {
        .ok_high = {true, 0}, .strong_high = {true, 10}, .ok_low = {true, 0}, .strong_low = {true, -10}};
    const struct sign_shares same = {.of = {[1] = {1}}}, opposite = {.of = {[1] = {-1}}};
    for (double mean = -4; mean < 8; mean += 1) {
        const struct uncertain_sign high = {.range = range, .side = SIDE_HIGH, .weight = 0.5, .mean = mean, .sd = 3};
        const struct uncertain_sign two[2] = {high, high};
        const double one = fault_probability(&high, 1, 0.2, NULL);
        cr_assert_float_eq(fault_probability(two, 2, 0.2, &same), one, 0.003, "mean %g", mean);
        struct uncertain_sign both[2] = {high, high};
        both[1].mean = -mean; /* what adds to the one is taken from the other: from 4 on one of them is severe enough */
        const double either = fault_probability(both, 2, 0.2, &opposite);
        const double sure = 1 - 0.5 * erfc((mean - 4) / 3 / sqrt(2)) + 0.5 * erfc((mean + 4) / 3 / sqrt(2));
        cr_assert_float_eq(either, sure, 0.005, "mean %g: %g, not %g", mean, either, sure);
        both[1].side = SIDE_LOW; /* the same said from the other side */
        both[1].mean = -mean;
        cr_assert_float_eq(fault_probability(both, 2, 0.2, &opposite), one, 0.003, "mean %g", mean);
    }
}

Test(fault, verdicts_and_what_would_settle_them)
{
    static const struct {
        double value, random, systematic;
        enum measure_source source;
        enum verdict verdict;
        unsigned settle;
    } rows[] = {
        {-20, 2, 0, MEASURE_SOURCE_MEASURED, VERDICT_PRESENT, 0},
        {0, 2, 0, MEASURE_SOURCE_MEASURED, VERDICT_ABSENT, 0},
        {-10, 1, 6, MEASURE_SOURCE_PICTURE, VERDICT_CANT_TELL, SETTLE_STICKS},
        {-10, 1, 2, MEASURE_SOURCE_PICTURE, VERDICT_CANT_TELL, SETTLE_MOTION},
        {-10, 5, 1, MEASURE_SOURCE_PICTURE, VERDICT_CANT_TELL, SETTLE_MORE_SWINGS | SETTLE_FASTER_CAMERA},
        {-10, 5, 1, MEASURE_SOURCE_MEASURED, VERDICT_CANT_TELL, SETTLE_MORE_SWINGS},
    };
    struct standard standard;
    small_standard(&standard);
    struct judged_range ranges[MEASURE_COUNT];
    any_ranges(&standard, ranges);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct fault_result out[FAULT_COUNT];
        struct measure_set set = measured(MEASURE_SHAFT_DIRECTION_SHAFT_BACK, rows[i].value, rows[i].random,
                                          rows[i].systematic, rows[i].source);
        fault_judge(&standard, &set, ranges, &no_flight, NULL, 0, out);
        cr_assert_eq(out[FAULT_INSIDE_TAKEAWAY].verdict, rows[i].verdict, "row %zu: p %g", i,
                     out[FAULT_INSIDE_TAKEAWAY].p);
        cr_assert_eq(out[FAULT_INSIDE_TAKEAWAY].settle, rows[i].settle, "row %zu: %u", i,
                     out[FAULT_INSIDE_TAKEAWAY].settle);
        cr_assert_eq(out[FAULT_ACROSS_THE_LINE].verdict, VERDICT_NOT_OBSERVED);
        cr_assert_eq(out[FAULT_ACROSS_THE_LINE].settle, SETTLE_DOWN_THE_LINE);
        cr_assert_eq(out[FAULT_HIPS_SLIDE_AWAY].verdict, VERDICT_NOT_OBSERVED); /* not of this standard */
        cr_assert_eq(out[FAULT_HIPS_SLIDE_AWAY].settle, 0u);
    }
}

Test(fault, the_coach_s_eye_counts_where_the_measures_are_silent)
{
    static const struct {
        bool observed;
        double value, sd;
        enum verdict verdict;
        enum verdict_basis basis;
        double expected;
    } rows[] = {
        {false, 0, 0, VERDICT_PRESENT, BASIS_SEEN, 0.5},
        {true, -10, 6, VERDICT_PRESENT, BASIS_SEEN, 0.5},
        {true, 5, 2, VERDICT_ABSENT, BASIS_MEASURED, 0},
        {true, -25, 0, VERDICT_PRESENT, BASIS_MEASURED, 1},
    };
    struct standard standard;
    small_standard(&standard);
    struct judged_range ranges[MEASURE_COUNT];
    any_ranges(&standard, ranges);
    struct seen_fault seen = {FAULT_INSIDE_TAKEAWAY, SEVERITY_CLEAR};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct fault_result out[FAULT_COUNT];
        struct measure_set set =
            measured(MEASURE_SHAFT_DIRECTION_SHAFT_BACK, rows[i].value, rows[i].sd, 0, MEASURE_SOURCE_MEASURED);
        set.items[MEASURE_SHAFT_DIRECTION_SHAFT_BACK].observed = rows[i].observed;
        fault_judge(&standard, &set, ranges, &no_flight, &seen, 1, out);
        const struct fault_result *fault = &out[FAULT_INSIDE_TAKEAWAY];
        cr_assert_eq(fault->verdict, rows[i].verdict, "row %zu", i);
        cr_assert_eq(fault->basis, rows[i].basis, "row %zu", i);
        cr_assert_eq(fault->seen, SEVERITY_CLEAR, "row %zu", i);
        cr_assert_float_eq(fault->expected, rows[i].expected, 1e-3, "row %zu: %g", i, fault->expected);
        cr_assert_eq(fault->settle, 0u, "row %zu", i);
        if (fault->basis == BASIS_SEEN) {
            cr_assert_eq(fault->p, 0.9);
            cr_assert_eq(fault->word, SEVERITY_CLEAR);
        }
    }
}

/* What each row is held to: p as odds times the flight's ratio; the flight takes a verdict away and gives none. */
Test(fault, the_ball_changes_the_odds_and_makes_nothing_certain)
{
    static const struct {
        double value, sd;
        enum flight_side curve; /* left is typical, .5 */
        double ratio;
        enum verdict verdict;
    } rows[] = {
        {-20, 2, FLIGHT_STRAIGHT, 1, VERDICT_PRESENT}, {-20, 2, FLIGHT_RIGHT, 0.5, VERDICT_PRESENT},
        {-12, 2, FLIGHT_UNKNOWN, 1, VERDICT_PRESENT},  {-12, 2, FLIGHT_RIGHT, 0.5, VERDICT_CANT_TELL},
        {-12, 2, FLIGHT_LEFT, 2, VERDICT_PRESENT},     {-10.7, 2, FLIGHT_UNKNOWN, 1, VERDICT_CANT_TELL},
        {-10.7, 2, FLIGHT_LEFT, 2, VERDICT_CANT_TELL}, {-8.6, 2, FLIGHT_RIGHT, 0.5, VERDICT_CANT_TELL},
        {-8, 2, FLIGHT_UNKNOWN, 1, VERDICT_ABSENT},    {-8, 2, FLIGHT_LEFT, 2, VERDICT_CANT_TELL},
        {0, 2, FLIGHT_LEFT, 2, VERDICT_ABSENT},
    };
    struct standard standard;
    small_standard(&standard);
    struct judged_range ranges[MEASURE_COUNT];
    any_ranges(&standard, ranges);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const struct flight_class flight = {.curve = rows[i].curve};
        struct fault_result alone[FAULT_COUNT];
        struct fault_result out[FAULT_COUNT];
        struct measure_set set =
            measured(MEASURE_SHAFT_DIRECTION_SHAFT_BACK, rows[i].value, rows[i].sd, 0, MEASURE_SOURCE_MEASURED);
        fault_judge(&standard, &set, ranges, &no_flight, NULL, 0, alone);
        fault_judge(&standard, &set, ranges, &flight, NULL, 0, out);
        const double measured_p = alone[FAULT_INSIDE_TAKEAWAY].p;
        const double p = rows[i].ratio < 1   ? fmin(measured_p, 0.99)
                         : rows[i].ratio > 1 ? fmax(measured_p, 0.01)
                                             : measured_p;
        const struct fault_result *fault = &out[FAULT_INSIDE_TAKEAWAY];
        cr_expect_float_eq(fault->p, p * rows[i].ratio / (1 - p + p * rows[i].ratio), 1e-12, "row %zu: %g", i,
                           fault->p);
        cr_expect_eq(fault->verdict, rows[i].verdict, "row %zu: %d at %g of %g", i, fault->verdict, fault->p, p);
        cr_expect_eq(fault->settle != 0, fault->verdict == VERDICT_CANT_TELL, "row %zu", i);
        cr_expect_eq(fault->expected, alone[FAULT_INSIDE_TAKEAWAY].expected, "row %zu", i);
        const struct seen_fault seen = {FAULT_INSIDE_TAKEAWAY, SEVERITY_CLEAR};
        fault_judge(&standard, &set, ranges, &flight, &seen, 1, out);
        cr_expect_eq(fault->basis == BASIS_SEEN, rows[i].verdict == VERDICT_CANT_TELL, "row %zu", i);
    }
}

Test(fault, an_estimate_from_the_body_s_shape_needs_a_scale_not_more_swings)
{
    struct standard standard;
    small_standard(&standard);
    standard.ranges[standard.range_count++] =
        (struct range_rule){.item = MEASURE_LEAD_SHARE_ARM_THROUGH, .range = range_make(45, 78, 100, 110)};
    fault_make(&standard, FAULT_HANGING_BACK, MEASURE_LEAD_SHARE_ARM_THROUGH, SIDE_LOW, STAGE_THROUGH, 0.7);
    struct judged_range ranges[MEASURE_COUNT];
    any_ranges(&standard, ranges);
    static const struct {
        double random, systematic;
        enum measure_source source;
        unsigned settle;
    } rows[] = {{1, 12, MEASURE_SOURCE_MOTION, SETTLE_SCALE},
                {1, 12, MEASURE_SOURCE_PICTURE, SETTLE_SCALE},
                {12, 1, MEASURE_SOURCE_MOTION, SETTLE_MORE_SWINGS}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct fault_result out[FAULT_COUNT];
        struct measure_set set =
            measured(MEASURE_LEAD_SHARE_ARM_THROUGH, 70, rows[i].random, rows[i].systematic, rows[i].source);
        fault_judge(&standard, &set, ranges, &no_flight, NULL, 0, out);
        cr_expect_eq(out[FAULT_HANGING_BACK].verdict, VERDICT_CANT_TELL, "row %zu", i);
        cr_expect_eq(out[FAULT_HANGING_BACK].settle, rows[i].settle, "row %zu: %u", i, out[FAULT_HANGING_BACK].settle);
    }
}

Test(fault, names_out_of_range_are_none)
{
    cr_assert_str_eq(verdict_name(VERDICT_CANT_TELL), "can't tell");
    cr_assert_null(verdict_name(VERDICT_COUNT));
    cr_assert_null(verdict_name((enum verdict) - 1));
    cr_assert_str_eq(verdict_basis_name(BASIS_SEEN), "seen");
    cr_assert_null(camera_issue_name(CAMERA_ISSUE_COUNT));
    cr_assert_str_eq(settle_name(SETTLE_STICKS), "sticks");
    cr_assert_str_eq(settle_name(SETTLE_BOTH_VIEWS), "both_views");
    cr_assert_null(settle_name((enum settle)0));
    cr_assert_null(settle_name((enum settle)3));
    cr_assert_null(settle_name((enum settle)(1 << SETTLE_BITS)));
}

Test(fault, a_junior_is_not_judged_by_an_adults_length)
{
    static const int clubs[CLUB_CLASS_COUNT] = {[CLUB_CLASS_IRON] = 1};
    struct standard standard;
    struct fault_result out[FAULT_COUNT];
    struct judged_range ranges[MEASURE_COUNT];
    small_standard(&standard);
    standard.ranges[standard.range_count++] = (struct range_rule){
        .item = MEASURE_HANDS_GAP_ADDRESS, .range = {.ok_low = {true, 0.08}, .strong_low = {true, 0.02}}};
    standard.faults[FAULT_CROWDING] = (struct fault_rule){
        .defined = true, .importance = 1, .sign_count = 1, .signs = {{MEASURE_HANDS_GAP_ADDRESS, SIDE_LOW, 1, true}}};
    const struct measure_set set = measured(MEASURE_HANDS_GAP_ADDRESS, 0.03, 0.005, 0, MEASURE_SOURCE_MEASURED);
    for (int band = AGE_ANY; band < AGE_BAND_COUNT; band++) {
        for (int i = 0; i < MEASURE_COUNT; i++) {
            ranges[i] = standard_mean_range(&standard, (enum measure_item)i, clubs,
                                            &(struct player){.age = (enum age_band)band});
        }
        fault_judge(&standard, &set, ranges, &no_flight, NULL, 0, out);
        const bool junior = band == AGE_JUNIOR;
        cr_assert_eq(ranges[MEASURE_HANDS_GAP_ADDRESS].adult_only, junior, "band %d", band);
        cr_assert_eq(out[FAULT_CROWDING].verdict, junior ? VERDICT_NOT_OBSERVED : VERDICT_PRESENT, "band %d", band);
        cr_assert(!junior || out[FAULT_CROWDING].settle == SETTLE_HEIGHT, "no picture would settle it");
        cr_assert(ranges[MEASURE_SHAFT_DIRECTION_SHAFT_BACK].given &&
                  !ranges[MEASURE_SHAFT_DIRECTION_SHAFT_BACK].adult_only);
    }
    /* a grown player's length, told to 2 mm: what is open is how tall the player is */
    const struct player grown = {.age = AGE_ADULT};
    const struct measure_set near = measured(MEASURE_HANDS_GAP_ADDRESS, 0.068, 0.002, 0.0037, MEASURE_SOURCE_MEASURED);
    for (int i = 0; i < MEASURE_COUNT; i++) {
        ranges[i] = standard_mean_range(&standard, (enum measure_item)i, clubs, &grown);
    }
    fault_judge(&standard, &near, ranges, &no_flight, NULL, 0, out);
    cr_assert_eq(out[FAULT_CROWDING].verdict, VERDICT_CANT_TELL, "%g", out[FAULT_CROWDING].p);
    cr_assert_eq(out[FAULT_CROWDING].settle, SETTLE_HEIGHT);
    standard.ranges[standard.range_count] = standard.ranges[standard.range_count - 1];
    standard.ranges[standard.range_count++].age = AGE_JUNIOR;
    cr_assert(
        standard_mean_range(&standard, MEASURE_HANDS_GAP_ADDRESS, clubs, &(struct player){.age = AGE_JUNIOR}).given);
}
