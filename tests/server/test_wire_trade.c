/* What every teaching professional would say of these swings (common practice), said by the front door with the
 * built-in standard: once for a right-hander, once for a left-hander. */
#include <criterion/criterion.h>
#include <string.h>

#include "core/score.h"
#include "wire/rules/drill_read.h"
#include "wire/rules/standard_read.h"

struct value {
    enum measure_item item;
    double value, sd;
};

#define VALUES_MAX 4

static struct arena *arena;
static const struct standard *standard;

static struct report *score(const struct value *values, int count, enum hand hand, int swings)
{
    static const struct score_player player = {.age_years = -1};
    static struct report report;
    static struct swing swing;
    const struct swing *list[5] = {&swing, &swing, &swing, &swing, &swing};
    swing = (struct swing){.hand = hand, .club = CLUB_IRON};
    for (int i = 0; i < count; i++) {
        swing.measured[i] = (struct measured_value){(int)values[i].item, values[i].value, values[i].sd};
    }
    swing.measured_count = count;
    swing_mirror(&swing);
    int drill_count = 0;
    const struct drill *drills = drills_default(arena, &drill_count);
    cr_assert_not_null(drills);
    score_swings(list, swings, standard, &player, drills, drill_count, &report);
    return &report;
}

static void set_up(void)
{
    arena = arena_new(0);
    standard = standard_default(arena);
    cr_assert_not_null(standard);
}

static void tear_down(void)
{
    arena_free(arena);
}

TestSuite(trade, .init = set_up, .fini = tear_down);

Test(trade, one_measure_one_verdict)
{
    static const struct {
        struct value value;
        enum fault_id fault;
        enum verdict verdict;
    } rows[] = {
        {{MEASURE_SHAFT_CROSS_TOP, 0, 2.5}, FAULT_ACROSS_THE_LINE, VERDICT_ABSENT},
        {{MEASURE_SHAFT_CROSS_TOP, 0, 2.5}, FAULT_LAID_OFF, VERDICT_ABSENT},
        {{MEASURE_SHAFT_ELEVATION_TOP, 0, 3}, FAULT_OVERSWING, VERDICT_ABSENT},
        {{MEASURE_SHAFT_CROSS_TOP, 20, 2.5}, FAULT_ACROSS_THE_LINE, VERDICT_PRESENT},
        {{MEASURE_SHAFT_DIRECTION_SHAFT_BACK, -20, 3}, FAULT_INSIDE_TAKEAWAY, VERDICT_PRESENT},
        {{MEASURE_SHAFT_DIRECTION_SHAFT_BACK, 12, 3}, FAULT_OUTSIDE_TAKEAWAY, VERDICT_ABSENT},
        {{MEASURE_LEAD_SHARE_ARM_THROUGH, 85, 3}, FAULT_HANGING_BACK, VERDICT_ABSENT},
        {{MEASURE_TEMPO, 3.0, 0.3}, FAULT_HURRIED_TEMPO, VERDICT_ABSENT},
        {{MEASURE_LEAD_SHARE_IMPACT, 20, 3}, FAULT_HANGING_BACK, VERDICT_NOT_OBSERVED},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        for (int hand = HAND_RIGHT; hand <= HAND_LEFT; hand++) {
            const struct report *report = score(&rows[i].value, 1, (enum hand)hand, 1);
            const struct fault_result *fault = &report->faults[rows[i].fault];
            cr_assert_eq(fault->verdict, rows[i].verdict, "row %zu: %s, p %g", i, verdict_name(fault->verdict),
                         fault->p);
            cr_assert_eq(report->observed_in[rows[i].value.item], 1);
        }
    }
}

Test(trade, a_level_parallel_top_is_no_fault_at_all)
{
    static const struct value values[] = {{MEASURE_SHAFT_CROSS_TOP, 0, 2.5}, {MEASURE_SHAFT_ELEVATION_TOP, 0, 3}};
    for (int hand = HAND_RIGHT; hand <= HAND_LEFT; hand++) {
        const struct report *report = score(values, 2, (enum hand)hand, 1);
        for (int f = 0; f < FAULT_COUNT; f++) {
            cr_assert_neq(report->faults[f].verdict, VERDICT_PRESENT, "%s", fault_name((enum fault_id)f));
        }
        cr_assert_eq(report->fixes.count, 0);
        cr_assert_eq(report->severity[MEASURE_SHAFT_CROSS_TOP], 0);
    }
}

Test(trade, weight_left_on_the_lead_foot_comes_before_hanging_back)
{
    static const struct value values[] = {{MEASURE_LEAD_SHARE_ARM_BACK, 65, 3},
                                          {MEASURE_TRUNK_LEAN_TOP, -12, 2},
                                          {MEASURE_LEAD_SHARE_ARM_THROUGH, 50, 3}};
    for (int hand = HAND_RIGHT; hand <= HAND_LEFT; hand++) {
        const struct report *report = score(values, 3, (enum hand)hand, 1);
        cr_assert_eq(report->faults[FAULT_HANGING_BACK].verdict, VERDICT_PRESENT);
        cr_assert_geq(report->fixes.count, 1);
        cr_assert_eq(report->fixes.items[0].fault, FAULT_REVERSE_PIVOT);
        cr_assert_geq(report->fixes.items[0].explains[FAULT_HANGING_BACK], 0.7 - 1e-9);
        cr_assert_eq(report->drill_count[0], 2);
    }
}

Test(trade, eighty_five_on_the_lead_foot_at_the_end_is_in_range)
{
    static const struct value value = {MEASURE_LEAD_SHARE_ARM_THROUGH, 85, 3};
    const struct report *report = score(&value, 1, HAND_RIGHT, 1);
    cr_assert_eq(report->severity[MEASURE_LEAD_SHARE_ARM_THROUGH], 0);
    cr_assert(report->ranges[MEASURE_LEAD_SHARE_ARM_THROUGH].given);
}

Test(trade, an_upright_stance_comes_before_a_flat_turn)
{
    static const struct value values[] = {
        {MEASURE_SPINE_TILT_ADDRESS, 15, 2}, {MEASURE_KNEE_FLEX_ADDRESS, 40, 3}, {MEASURE_SHOULDER_PLANE_TOP, 12, 3}};
    for (int hand = HAND_RIGHT; hand <= HAND_LEFT; hand++) {
        const struct report *report = score(values, 3, (enum hand)hand, 1);
        cr_assert_eq(report->faults[FAULT_LEVEL_SHOULDERS].verdict, VERDICT_PRESENT);
        cr_assert_eq(report->fixes.items[0].fault, FAULT_UPRIGHT_POSTURE);
        cr_assert_float_eq(report->fixes.items[0].explains[FAULT_LEVEL_SHOULDERS], 0.7, 1e-9);
    }
}

/* A mean over swings; the random part shrinks, the player's own spread goes in from three swings on. */
Test(trade, several_swings_are_judged_together)
{
    static const struct value value = {MEASURE_SHAFT_CROSS_TOP, 12, 4};
    const struct report *one = score(&value, 1, HAND_RIGHT, 1);
    double random = one->measures.items[MEASURE_SHAFT_CROSS_TOP].sd_random;
    double systematic = one->measures.items[MEASURE_SHAFT_CROSS_TOP].sd_systematic;
    cr_assert_not(one->habit);
    double spread = standard->spread[MEASURE_SHAFT_CROSS_TOP];
    static const int counts[] = {2, 3, 5};
    for (size_t i = 0; i < 3; i++) {
        int n = counts[i];
        const struct report *report = score(&value, 1, HAND_RIGHT, n);
        const struct measure *measure = &report->measures.items[MEASURE_SHAFT_CROSS_TOP];
        double own = n >= 3 ? spread : 0;
        cr_assert_float_eq(measure->sd_random * measure->sd_random, (random * random + own * own) / n, 1e-9, "%d", n);
        cr_assert_float_eq(measure->sd_systematic, systematic, 1e-9);
        cr_assert_float_eq(measure->value, 12, 1e-9);
        cr_assert_eq(report->habit, n >= 3);
        cr_assert_eq(report->observed_in[MEASURE_SHAFT_CROSS_TOP], n);
    }
}
