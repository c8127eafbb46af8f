/* Did it change: the border of belief, the ways in and out of a range, and what can't be compared. */
#include <criterion/criterion.h>
#include <math.h>

#include "core/change.h"

static struct change_set reading(double value, double random, double systematic)
{
    return (struct change_set){.observed = true, .value = value, .se_random = random, .sd_systematic = systematic};
}

/* Fine from -6 to 15. */
static const struct measure_range both = {.ok_low = {true, -6}, .ok_high = {true, 15}};
static const struct measure_range high_only = {.ok_high = {true, 15}};

static enum change judged(double before, double after, const struct measure_range *range)
{
    const struct change_set a = reading(before, 3, 0);
    const struct change_set b = reading(after, 4, 0);
    return change_judge(&a, &b, true, range).verdict;
}

Test(change, what_is_needed)
{
    const struct change_set a = reading(0, 3, 1);
    const struct change_set b = reading(0, 4, 2);
    cr_assert_float_eq(change_needed(&a, &b, true), 1.96 * 5, 1e-12);
    cr_assert_float_eq(change_needed(&a, &b, false), 1.96 * sqrt(30), 1e-12);
}

Test(change, the_border_of_belief)
{
    cr_assert_eq(judged(30, 30 - 9.79, &both), CHANGE_NONE);
    cr_assert_eq(judged(30, 30 - 9.81, &both), CHANGE_IMPROVED);
    cr_assert_eq(judged(30, 30 + 9.79, &both), CHANGE_NONE);
    cr_assert_eq(judged(30, 30 + 9.81, &both), CHANGE_WORSE);
}

Test(change, systematic_error_stays_in_when_set_up_anew)
{
    const struct change_set a = reading(30, 1, 5);
    const struct change_set b = reading(22, 1, 5);
    const struct change_result same = change_judge(&a, &b, true, &both);
    const struct change_result anew = change_judge(&a, &b, false, &both);
    cr_assert_eq(same.verdict, CHANGE_IMPROVED);
    cr_assert_eq(anew.verdict, CHANGE_NONE);
    cr_assert_float_eq(same.difference, -8, 1e-12);
    cr_assert_float_eq(anew.needed, 1.96 * sqrt(52), 1e-12);
}

Test(change, nearer_to_the_range_from_either_side)
{
    cr_assert_eq(judged(-30, -15, &both), CHANGE_IMPROVED);
    cr_assert_eq(judged(-15, -30, &both), CHANGE_WORSE);
    cr_assert_eq(judged(25, 5, &both), CHANGE_IMPROVED);
    cr_assert_eq(judged(5, 25, &both), CHANGE_WORSE);
    cr_assert_eq(judged(-5, 14, &both), CHANGE_NONE, "inside before and after");
    cr_assert_eq(judged(20, -9, &both), CHANGE_IMPROVED, "a little over the other end");
    cr_assert_eq(judged(20, -30, &both), CHANGE_WORSE, "far over the other end");
    cr_assert_eq(judged(30, -90, &high_only), CHANGE_IMPROVED, "no other end");
    cr_assert_eq(judged(-90, 0, &high_only), CHANGE_NONE);
}

Test(change, what_cannot_be_compared)
{
    struct change_set a = reading(30, 1, 0);
    struct change_set b = reading(0, 1, 0);
    cr_assert_eq(change_judge(&a, &b, true, &both).verdict, CHANGE_IMPROVED);
    b.clipped = true;
    cr_assert_eq(change_judge(&a, &b, true, &both).verdict, CHANGE_NOT_COMPARABLE);
    cr_assert_eq(change_judge(&b, &a, true, &both).verdict, CHANGE_NOT_COMPARABLE);
    b.clipped = false;
    a.observed = false;
    cr_assert_eq(change_judge(&a, &b, true, &both).verdict, CHANGE_NOT_COMPARABLE);
    cr_assert_eq(change_judge(&b, &a, true, &both).verdict, CHANGE_NOT_COMPARABLE);
}

Test(change, names)
{
    cr_assert_str_eq(change_name(CHANGE_NOT_COMPARABLE), "not_comparable");
    cr_assert_str_eq(change_name(CHANGE_NONE), "no_real_change");
    cr_assert_str_eq(change_name(CHANGE_IMPROVED), "improved");
    cr_assert_str_eq(change_name(CHANGE_WORSE), "worse");
    cr_assert_null(change_name(CHANGE_COUNT));
}
