/* The range beside the course: which shots count as what, how few are too few, and what a difference takes. */
#include <criterion/criterion.h>
#include <math.h>

#include "core/transfer.h"

static struct transfer_day day(enum transfer_place place, int left, int straight, int right)
{
    struct transfer_day made = {.place = place};
    made.counts[TRANSFER_START] = (struct counts_row){{left, straight, right}};
    return made;
}

Test(transfer, what_a_shot_counts_as)
{
    struct transfer_day counted = {.place = TRANSFER_COURSE};
    static const enum strike strikes[] = {STRIKE_UNKNOWN, STRIKE_FLUSH, STRIKE_THIN, STRIKE_TOPPED,
                                          STRIKE_FAT,     STRIKE_HEEL,  STRIKE_TOE};
    for (size_t i = 0; i < sizeof strikes / sizeof *strikes; i++) {
        transfer_count(&counted,
                       &(struct flight_class){.start = FLIGHT_RIGHT, .curve = FLIGHT_UNKNOWN, .strike = strikes[i]});
    }
    cr_assert_eq(counted.counts[TRANSFER_START].of[2], 7);
    cr_assert_eq(counts_total(&counted.counts[TRANSFER_CURVE]), 0, "what was not seen is not counted");
    const struct counts_row *strike = &counted.counts[TRANSFER_STRIKE];
    cr_assert(strike->of[0] == 1 && strike->of[1] == 2 && strike->of[2] == 1 && strike->of[3] == 2);
    cr_assert_str_eq(transfer_class_name(TRANSFER_STRIKE, 3), "off_centre");
    cr_assert_str_eq(transfer_class_name(TRANSFER_CURVE, 2), "right");
    cr_assert_null(transfer_class_name(TRANSFER_START, 3));
    cr_assert_null(transfer_class_name(TRANSFER_STRIKE, 4));
}

Test(transfer, too_few_and_enough)
{
    struct transfer out;
    const struct transfer_day few[] = {day(TRANSFER_COURSE, 0, 0, 19), day(TRANSFER_COURSE, 0, 0, 0),
                                       day(TRANSFER_RANGE, 10, 10, 0), day(TRANSFER_RANGE, 10, 10, 0)};
    const struct transfer_day one_day[] = {day(TRANSFER_COURSE, 0, 0, 40), day(TRANSFER_RANGE, 10, 10, 0),
                                           day(TRANSFER_RANGE, 10, 10, 0)};
    const struct transfer_day enough[] = {day(TRANSFER_COURSE, 0, 0, 10), day(TRANSFER_COURSE, 0, 0, 10),
                                          day(TRANSFER_RANGE, 10, 10, 0), day(TRANSFER_RANGE, 10, 10, 0)};
    transfer_compare(few, 4, &out);
    cr_assert_eq(out.verdict, TRANSFER_TOO_FEW);
    transfer_compare(one_day, 3, &out);
    cr_assert_eq(out.verdict, TRANSFER_TOO_FEW, "one day is one day");
    transfer_compare(enough, 4, &out);
    cr_assert_eq(out.verdict, TRANSFER_ANOTHER);
    cr_assert_eq(out.findings[TRANSFER_START].stands_out, 2);
    cr_assert_eq(out.findings[TRANSFER_CURVE].verdict, TRANSFER_TOO_FEW, "nobody saw how it curved");
    cr_assert_float_eq(out.findings[TRANSFER_START].difference.value, 1, 1e-12);
    cr_assert(out.findings[TRANSFER_START].difference.low > .7);
}

Test(transfer, of_two_alike_the_one_that_grew)
{
    struct transfer out;
    const struct transfer_day two[] = {day(TRANSFER_COURSE, 0, 7, 8), day(TRANSFER_COURSE, 0, 7, 8),
                                       day(TRANSFER_RANGE, 0, 19, 1), day(TRANSFER_RANGE, 0, 18, 2)};
    transfer_compare(two, 4, &out);
    cr_assert_eq(out.verdict, TRANSFER_ANOTHER);
    cr_assert_eq(out.findings[TRANSFER_START].stands_out, 2, "right more often, which is straight less often");
    cr_assert_float_eq(out.findings[TRANSFER_START].difference.value, 16. / 30 - 3. / 40, 1e-12);
}

Test(transfer, days_that_differ_say_less)
{
    struct transfer alike;
    struct transfer apart;
    const struct transfer_day same[] = {day(TRANSFER_COURSE, 3, 10, 12), day(TRANSFER_COURSE, 3, 10, 12),
                                        day(TRANSFER_RANGE, 8, 12, 3), day(TRANSFER_RANGE, 8, 12, 3)};
    const struct transfer_day torn[] = {day(TRANSFER_COURSE, 0, 2, 23), day(TRANSFER_COURSE, 6, 18, 1),
                                        day(TRANSFER_RANGE, 16, 7, 0), day(TRANSFER_RANGE, 0, 17, 6)};
    transfer_compare(same, 4, &alike);
    transfer_compare(torn, 4, &apart);
    cr_assert_eq(alike.findings[TRANSFER_START].counts[0].of[2], apart.findings[TRANSFER_START].counts[0].of[2]);
    cr_assert_float_eq(alike.same_day, 0, 1e-12);
    cr_assert(apart.same_day > .2, "%g", apart.same_day);
    cr_assert(apart.findings[TRANSFER_START].p > alike.findings[TRANSFER_START].p);
    cr_assert_eq(apart.verdict, TRANSFER_NO_DIFFERENCE);
}

Test(transfer, the_edges_of_the_tests)
{
    const struct counts_row none = {{0}};
    const struct counts_row one = {{5, 0, 0, 0}};
    const struct counts_row two = {{0, 5, 0, 0}};
    const double effect[2] = {1, 1};
    const struct counts_row many = {{COUNTS_ROW_MAX, 1, 0, 0}};
    cr_assert_eq(counts_exact_p(&none, &one), 1);
    cr_assert_eq(counts_exact_p(&one, &one), 1);
    cr_assert_float_eq(counts_exact_p(&one, &two), 2. / 252, 1e-12);
    cr_assert_eq(counts_exact_p(&many, &two), 1, "more than a row holds is not judged");
    cr_assert_eq(counts_spread_p(&one, &one, effect, 10), 1, "one class alone");
    cr_assert_eq(counts_spread_p(&one, &two, effect, 0), 1, "nothing is known of days");
    cr_assert_eq(counts_spread_p(&none, &two, effect, 10), 1);
    cr_assert_eq(counts_day_effect(&none, 1, .5), 1);
    cr_assert_float_eq(counts_day_effect(&one, 1, .5), 3, 1e-12);
}
