/* Repeats and pooling: published values, limits, and what can't be told. */
#include <criterion/criterion.h>
#include <math.h>

#include "core/pooling.h"
#include "core/reliability.h"

Test(reliability, six_subjects_and_four_judges)
{
    /* Shrout & Fleiss 1979, table 2 */
    static const double table[] = {9, 2, 5, 8, 6, 1, 3, 2, 8, 4, 6, 8, 7, 1, 2, 6, 10, 5, 6, 9, 6, 2, 4, 7};
    struct reliability of;
    cr_assert(reliability_of(table, 6, 4, &of));
    cr_assert_float_eq(of.icc_agreement, .29, .005);
    cr_assert_float_eq(of.icc_consistency, .71, .005);
    cr_assert_float_eq(of.sem * of.sem, 1.019, .001);
    cr_assert_float_eq(of.within * of.within, 6.264, .001);
    cr_assert_float_eq(of.mdc, 1.96 * sqrt(2) * of.sem, 1e-12);
}

Test(reliability, what_cannot_be_told)
{
    static const double same[] = {3, 3, 3, 3};
    static const double apart[] = {1, 1, 5, 5};
    struct reliability of;
    cr_assert_not(reliability_of(same, 2, 2, &of));
    cr_assert_not(reliability_of(apart, 1, 4, &of));
    cr_assert_not(reliability_of(apart, 4, 1, &of));
    cr_assert(reliability_of(apart, 2, 2, &of));
    cr_assert_float_eq(of.icc_agreement, 1, 1e-12);
    cr_assert_float_eq(of.sem, 0, 1e-12);
}

Test(pooling, eight_schools)
{
    struct pooling_trial trials[] = {{28, 15, 0}, {8, 10, 0}, {-3, 16, 0}, {7, 11, 0},
                                     {-1, 9, 0},  {1, 11, 0}, {18, 10, 0}, {12, 18, 0}};
    const struct pooling of = pooling_of(trials, 8);
    cr_assert_float_eq(of.mean, 7.7, .05);
    cr_assert_float_eq(of.tau, 0, 1e-12);
    cr_assert_float_eq(trials[0].pooled, of.mean, 1e-12, "with tau 0 each is drawn wholly to the mean");
    cr_assert(of.low < 0 && of.high > 15);
}

Test(pooling, what_differs_stays_apart)
{
    struct pooling_trial trials[] = {{0, .1, 0}, {10, .1, 0}, {20, .1, 0}, {30, 20, 0}};
    const struct pooling of = pooling_of(trials, 4);
    cr_assert_gt(of.tau, 5);
    cr_assert_float_eq(trials[1].pooled, 10, .05);
    cr_assert_lt(trials[3].pooled, 20, "what knows little is drawn far");
}
