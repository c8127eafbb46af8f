/* Causes before consequences. Brute-force agreement on random graphs is in tests/external/check_firstfix.py. */
#include <criterion/criterion.h>

#include "core/firstfix.h"
#include "tests/core/small_standard.h"

static void present(struct fault_result faults[FAULT_COUNT], enum fault_id id, double p, double expected)
{
    faults[id] = (struct fault_result){.verdict = VERDICT_PRESENT, .p = p, .expected = expected, .ball = {.ratio = 1}};
}

Test(firstfix, the_cause_comes_before_its_consequence)
{
    struct standard standard;
    small_standard(&standard);
    struct fault_result faults[FAULT_COUNT] = {0};
    present(faults, FAULT_INSIDE_TAKEAWAY, 1, 0.5);
    present(faults, FAULT_ACROSS_THE_LINE, 1, 0.5);
    struct first_fixes fixes;
    firstfix_choose(&standard, faults, &fixes);
    cr_assert_eq(fixes.items[0].fault, FAULT_INSIDE_TAKEAWAY);
    cr_assert_float_eq(fixes.items[0].priority, 0.45 + 0.4 * 0.5, 1e-12);
    cr_assert_float_eq(fixes.items[0].explains[FAULT_ACROSS_THE_LINE], 0.4, 1e-12);
    cr_assert_eq(fixes.items[0].explains[FAULT_INSIDE_TAKEAWAY], 0);
    cr_assert_eq(fixes.count, 1); /* of the consequence .3 is left, less than half of .65 */
    cr_assert(fixes.leave_alone[FAULT_ACROSS_THE_LINE]);
}

Test(firstfix, a_second_fix_is_worth_half_the_first)
{
    static const struct {
        double expected;
        int count;
    } rows[] = {{0.46, 1}, {0.44, 2}, {0.3, 2}, {0.27, 1}};
    struct standard standard;
    small_standard(&standard);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct fault_result faults[FAULT_COUNT] = {0};
        struct first_fixes fixes;
        present(faults, FAULT_INSIDE_TAKEAWAY, 1, 0.25);
        present(faults, FAULT_ACROSS_THE_LINE, 1, rows[i].expected);
        firstfix_choose(&standard, faults, &fixes);
        /* .9 * .25 + .4 e against e, then what the first leaves of the other: .6 e against half of it */
        const double cause = 0.9 * 0.25 + 0.4 * rows[i].expected;
        const bool cause_first = cause >= rows[i].expected;
        cr_assert_eq(fixes.items[0].fault, cause_first ? FAULT_INSIDE_TAKEAWAY : FAULT_ACROSS_THE_LINE);
        cr_assert_eq(fixes.count, rows[i].count, "row %zu: %d", i, fixes.count);
        const bool left = fixes.leave_alone[FAULT_ACROSS_THE_LINE] || fixes.leave_alone[FAULT_INSIDE_TAKEAWAY];
        cr_assert_neq(fixes.count == 2, left);
        if (fixes.count == 2) {
            cr_assert_geq(fixes.items[1].priority, FIRSTFIX_SECOND * fixes.items[0].priority);
        }
    }
}

Test(firstfix, the_ball_and_the_stage_weigh)
{
    struct standard standard;
    small_standard(&standard);
    standard.cause_count = 0;
    struct fault_result faults[FAULT_COUNT] = {0};
    present(faults, FAULT_INSIDE_TAKEAWAY, 1, 0.5);
    present(faults, FAULT_ACROSS_THE_LINE, 1, 0.5);
    struct first_fixes fixes;
    firstfix_choose(&standard, faults, &fixes);
    cr_assert_eq(fixes.items[0].fault, FAULT_ACROSS_THE_LINE);
    const struct flight_class hook = {.curve = FLIGHT_LEFT};
    faults[FAULT_INSIDE_TAKEAWAY].ball = flight_weigh(&standard, FAULT_INSIDE_TAKEAWAY, &hook);
    firstfix_choose(&standard, faults, &fixes);
    cr_assert_eq(fixes.items[0].fault, FAULT_INSIDE_TAKEAWAY);
    cr_assert_eq(fixes.items[0].flight_match, 0.5);
    cr_assert_float_eq(fixes.items[0].priority, 0.45 * 1.25, 1e-12);
    const struct flight_class slice = {.curve = FLIGHT_RIGHT};
    faults[FAULT_INSIDE_TAKEAWAY].ball = flight_weigh(&standard, FAULT_INSIDE_TAKEAWAY, &slice);
    firstfix_choose(&standard, faults, &fixes);
    cr_assert_eq(fixes.items[0].fault, FAULT_ACROSS_THE_LINE);
    cr_assert_float_eq(fixes.items[1].priority, 0.45 * 0.75, 1e-12);
    faults[FAULT_INSIDE_TAKEAWAY].ball = (struct flight_weight){.ratio = 1};
    standard.ease[STAGE_TAKEAWAY] = 1.2;
    firstfix_choose(&standard, faults, &fixes);
    cr_assert_eq(fixes.items[0].fault, FAULT_INSIDE_TAKEAWAY);
}

Test(firstfix, only_present_faults_are_chosen_and_at_most_two)
{
    struct standard standard;
    small_standard(&standard);
    standard.cause_count = 0;
    struct fault_result faults[FAULT_COUNT] = {0};
    struct first_fixes fixes;
    firstfix_choose(&standard, faults, &fixes);
    cr_assert_eq(fixes.count, 0);
    present(faults, FAULT_INSIDE_TAKEAWAY, 1, 0.2);
    present(faults, FAULT_OUTSIDE_TAKEAWAY, 1, 0.5);
    present(faults, FAULT_ACROSS_THE_LINE, 1, 0.2);
    firstfix_choose(&standard, faults, &fixes);
    cr_assert_eq(fixes.count, 2);
    cr_assert(fixes.leave_alone[FAULT_OUTSIDE_TAKEAWAY]);
    cr_assert_not(fixes.leave_alone[FAULT_ACROSS_THE_LINE]);
    cr_assert_not(fixes.leave_alone[FAULT_HIPS_SLIDE_AWAY]);
    faults[FAULT_ACROSS_THE_LINE].verdict = VERDICT_CANT_TELL;
    firstfix_choose(&standard, faults, &fixes);
    cr_assert_eq(fixes.items[0].fault, FAULT_INSIDE_TAKEAWAY);
    cr_assert_eq(fixes.items[1].fault, FAULT_OUTSIDE_TAKEAWAY);
}

Test(firstfix, shares_pass_only_through_faults_that_may_be_there)
{
    static const struct {
        enum verdict middle;
        double share;
    } rows[] = {{VERDICT_PRESENT, 0.2}, {VERDICT_NOT_OBSERVED, 0.2}, {VERDICT_ABSENT, 0}, {VERDICT_CANT_TELL, 0}};
    struct standard standard;
    small_standard(&standard);
    standard.causes[standard.cause_count++] = (struct cause){FAULT_ACROSS_THE_LINE, FAULT_OUTSIDE_TAKEAWAY, 0.5};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct fault_result faults[FAULT_COUNT] = {0};
        struct first_fixes fixes;
        present(faults, FAULT_INSIDE_TAKEAWAY, 1, 1);
        present(faults, FAULT_OUTSIDE_TAKEAWAY, 1, 0.01);
        faults[FAULT_ACROSS_THE_LINE].verdict = rows[i].middle;
        firstfix_choose(&standard, faults, &fixes);
        const struct first_fix *fix = &fixes.items[0];
        cr_assert_eq(fix->fault, FAULT_INSIDE_TAKEAWAY);
        cr_assert_float_eq(fix->explains[FAULT_OUTSIDE_TAKEAWAY], rows[i].share, 1e-12, "row %zu", i);
        double middle = rows[i].middle == VERDICT_PRESENT ? 0.4 : 0;
        cr_assert_float_eq(fix->explains[FAULT_ACROSS_THE_LINE], middle, 1e-12, "row %zu", i);
    }
}

Test(firstfix, a_contested_fault_never_comes_first_on_its_own_signs_alone)
{
    enum { ALONE, BALL_FITS, BALL_AGAINST, EXPLAINS, EXPLAINS_A_CONTESTED, EXPLAINS_BALL_AGAINST, BESIDE };
    static const struct {
        enum fault_id first, second; /* FAULT_COUNT = none */
    } rows[] = {
        [ALONE] = {FAULT_COUNT, FAULT_COUNT},
        [BALL_FITS] = {FAULT_ACROSS_THE_LINE, FAULT_COUNT},
        [BALL_AGAINST] = {FAULT_COUNT, FAULT_COUNT},
        [EXPLAINS] = {FAULT_ACROSS_THE_LINE, FAULT_COUNT},
        [EXPLAINS_A_CONTESTED] = {FAULT_COUNT, FAULT_COUNT},
        [EXPLAINS_BALL_AGAINST] = {FAULT_OUTSIDE_TAKEAWAY, FAULT_ACROSS_THE_LINE},
        [BESIDE] = {FAULT_OUTSIDE_TAKEAWAY, FAULT_ACROSS_THE_LINE},
    };
    for (int i = 0; i <= BESIDE; i++) {
        struct standard standard;
        struct fault_result faults[FAULT_COUNT] = {0};
        struct first_fixes fixes;
        small_standard(&standard);
        standard.faults[FAULT_ACROSS_THE_LINE].evidence = EVIDENCE_CONTESTED;
        present(faults, FAULT_ACROSS_THE_LINE, 1, 0.9);
        if (i == BALL_FITS || i == BALL_AGAINST || i == EXPLAINS_BALL_AGAINST) {
            faults[FAULT_ACROSS_THE_LINE].ball = (struct flight_weight){.ratio = i == BALL_FITS ? 1.5 : 0.5};
        }
        if (i >= EXPLAINS) {
            present(faults, FAULT_OUTSIDE_TAKEAWAY, 1, 0.1);
        }
        if (i >= EXPLAINS && i != BESIDE) {
            standard.causes[standard.cause_count++] =
                (struct cause){FAULT_ACROSS_THE_LINE, FAULT_OUTSIDE_TAKEAWAY, 0.5};
        }
        if (i == EXPLAINS_A_CONTESTED) {
            standard.faults[FAULT_OUTSIDE_TAKEAWAY].evidence = EVIDENCE_CONTESTED;
        }
        firstfix_choose(&standard, faults, &fixes);
        const int count = (rows[i].first != FAULT_COUNT) + (rows[i].second != FAULT_COUNT);
        cr_assert_eq(fixes.count, count, "row %d: %d", i, fixes.count);
        cr_assert(count < 1 || fixes.items[0].fault == rows[i].first, "row %d", i);
        cr_assert(count < 2 || fixes.items[1].fault == rows[i].second, "row %d", i);
        cr_assert_eq(fixes.leave_alone[FAULT_ACROSS_THE_LINE], count == 0, "row %d", i);
    }
}

Test(firstfix, a_tie_goes_to_the_earlier_fault)
{
    struct standard standard;
    small_standard(&standard);
    standard.cause_count = 0;
    standard.faults[FAULT_OUTSIDE_TAKEAWAY].importance = 0.9;
    struct fault_result faults[FAULT_COUNT] = {0};
    present(faults, FAULT_OUTSIDE_TAKEAWAY, 1, 0.5);
    present(faults, FAULT_INSIDE_TAKEAWAY, 1, 0.5);
    struct first_fixes fixes;
    firstfix_choose(&standard, faults, &fixes);
    cr_assert_eq(fixes.items[0].fault, FAULT_INSIDE_TAKEAWAY);
}
