/* Kappa of two and of many: published tables, what can't be told, and what leaving out a swing gives. */
#include <criterion/criterion.h>
#include <math.h>

#include "core/agreement.h"

/* Each cell as single judgements, a swing each. */
static int spread_out(const int (*table)[2], struct agreement_pair *swings)
{
    int count = 0;
    for (int i = 0; i < 2; i++) {
        for (int j = 0; j < 2; j++) {
            for (int k = 0; k < table[i][j]; k++) {
                swings[count] = (struct agreement_pair){.said = {{0}}};
                swings[count++].said[i][j] = 1;
            }
        }
    }
    return count;
}

Test(agreement, of_two)
{
    static const int table[2][2] = {{20, 5}, {10, 15}};
    struct agreement_pair swings[50];
    const int count = spread_out(table, swings);
    const struct agreement of = agreement_of_pair(swings, count, 2, false);
    cr_assert_eq(count, 50);
    cr_assert(of.defined && of.bounded);
    cr_assert_float_eq(of.agreed, .7, 1e-12);
    cr_assert_float_eq(of.kappa, .4, 1e-12);
    cr_assert(of.low < .4 && of.low > .1 && of.high > .4 && of.high < .7);
    const struct agreement weighted = agreement_of_pair(swings, count, 2, true);
    cr_assert_float_eq(weighted.kappa, of.kappa, 1e-12, "two categories have one distance");
}

Test(agreement, farther_apart_weighs_more)
{
    struct agreement_pair near[2] = {{.said = {{5, 0, 0}, {0, 5, 0}, {0, 0, 5}}}, {.said = {{0, 2, 0}, {0, 0, 2}}}};
    struct agreement_pair far[2] = {near[0], {.said = {{0, 0, 4}}}};
    const struct agreement a = agreement_of_pair(near, 2, OPINION_COUNT, true);
    const struct agreement b = agreement_of_pair(far, 2, OPINION_COUNT, true);
    cr_assert_gt(a.kappa, b.kappa);
    cr_assert_gt(a.kappa, agreement_of_pair(near, 2, OPINION_COUNT, false).kappa);
}

Test(agreement, of_many)
{
    /* Ten subjects, fourteen raters, five categories: .210 */
    static const struct agreement_many swings[10] = {
        {{0, 0, 0, 0, 14}}, {{0, 2, 6, 4, 2}}, {{0, 0, 3, 5, 6}}, {{0, 3, 9, 2, 0}}, {{2, 2, 8, 1, 1}},
        {{7, 7, 0, 0, 0}},  {{3, 2, 6, 3, 0}}, {{2, 5, 3, 2, 2}}, {{6, 5, 2, 1, 0}}, {{0, 2, 2, 3, 7}},
    };
    const struct agreement of = agreement_of_many(swings, 10, 5);
    cr_assert(of.defined && of.bounded);
    cr_assert_float_eq(of.agreed, .378, .0005);
    cr_assert_float_eq(of.kappa, .210, .0005);
    cr_assert(of.low < .21 && of.high > .21);
}

Test(agreement, what_cannot_be_told)
{
    static const struct agreement_many alone[2] = {{{1, 0, 0}}, {{0, 0, 1}}};
    static const struct agreement_many same[3] = {{{2, 0, 0}}, {{3, 0, 0}}, {{2, 0, 0}}};
    static const struct agreement_pair one[1] = {{.said = {{1, 0, 0}, {0, 0, 0}, {0, 0, 1}}}};
    static const struct agreement_pair always[2] = {{.said = {{1}}}, {.said = {{1}}}};
    cr_assert_not(agreement_of_many(alone, 2, 3).defined, "nobody to agree with");
    cr_assert_not(agreement_of_many(same, 3, 3).defined, "chance alone would always agree");
    cr_assert_float_eq(agreement_of_many(same, 3, 3).agreed, 1, 1e-12);
    cr_assert_not(agreement_of_pair(always, 2, 3, false).defined);
    cr_assert(agreement_of_pair(one, 1, 3, false).defined);
    cr_assert_not(agreement_of_pair(one, 1, 3, false).bounded, "one swing can't be left out");
    cr_assert_not(agreement_of_pair(one, 0, 3, false).defined);
}

Test(agreement, names)
{
    enum opinion value;
    cr_assert(opinion_parse("cant_see", &value) && value == OPINION_CANT_SEE);
    cr_assert_not(opinion_parse("can't tell", &value));
    cr_assert_str_eq(opinion_name(OPINION_PRESENT), "present");
    cr_assert_null(opinion_name((enum opinion)OPINION_NONE));
}
