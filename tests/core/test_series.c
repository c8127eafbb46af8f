/* Filter, gaps and peaks of a series. */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "core/motion/series.h"

#define TURN 6.283185307179586
#define MOST 1000

static double work[3 * (MOST + 400)];

static struct series_filter design(double cutoff, double rate)
{
    struct series_filter filter;
    cr_assert(series_filter_design(cutoff, rate, &filter));
    cr_assert_leq((size_t)(MOST + 2 * filter.pad), sizeof work / sizeof *work / 3);
    return filter;
}

/* One channel through the three that the product filters together. */
static void filter_one(const struct series_filter *filter, double *x, int n)
{
    static double three[3 * MOST];
    for (int i = 0; i < n; i++) {
        three[3 * i] = three[3 * i + 1] = three[3 * i + 2] = x[i];
    }
    series_filter_run3(filter, three, n, work);
    for (int i = 0; i < n; i++) {
        x[i] = three[3 * i];
    }
}

static int fill_one(double *x, int n, const bool *seen, bool *filled, int longest)
{
    static double three[3 * MOST];
    for (int i = 0; i < n; i++) {
        three[3 * i] = three[3 * i + 1] = three[3 * i + 2] = x[i];
    }
    int missing = series_fill3(three, n, seen, filled, longest);
    for (int i = 0; i < n; i++) {
        x[i] = three[3 * i];
    }
    return missing;
}

Test(series, only_corners_below_the_limit_are_designed)
{
    struct series_filter filter;
    cr_assert_not(series_filter_design(0, 240, &filter));
    cr_assert_not(series_filter_design(-6, 240, &filter));
    cr_assert_not(series_filter_design(NAN, 240, &filter));
    cr_assert_not(series_filter_design(27, 60, &filter));
    cr_assert(series_filter_design(26.9, 60, &filter));
}

Test(series, pad_is_a_period_of_the_corner_but_nine_at_least)
{
    cr_assert_eq(design(12, 240).pad, 20);
    cr_assert_eq(design(20, 240).pad, 12);
    cr_assert_eq(design(20, 100).pad, 9);
    cr_assert_eq(design(6, 500).pad, 84);
}

Test(series, known_coefficients_and_unit_gain_at_rest)
{
    /* the bilinear transform of a two-pole Butterworth filter, 10 of 200 Hz, its corner moved for two passes; worked by
     * hand */
    double k = tan(TURN / 40) / 0.8022432629231502;
    double n = 1 / (1 + sqrt(2) * k + k * k);
    struct series_filter filter = design(10, 200);
    cr_assert_float_eq(filter.b0, k * k * n, 1e-14);
    cr_assert_float_eq(filter.a1, 2 * (k * k - 1) * n, 1e-14);
    cr_assert_float_eq(filter.a2, (1 - sqrt(2) * k + k * k) * n, 1e-14);
    cr_assert_float_eq((filter.b0 + filter.b1 + filter.b2) / (1 + filter.a1 + filter.a2), 1, 1e-12);
}

Test(series, lines_pass_and_their_ends_stay)
{
    struct series_filter filter = design(12, 240);
    double x[200];
    for (int i = 0; i < 200; i++) {
        x[i] = 3 - 0.02 * i;
    }
    filter_one(&filter, x, 200);
    for (int i = 0; i < 200; i++) {
        cr_assert_float_eq(x[i], 3 - 0.02 * i, 3e-4); /* the start state stands still: scipy's filtfilt strays 2.3e-4 */
    }
    cr_assert_float_eq(x[100], 1, 1e-6);
}

Test(series, a_sine_at_the_corner_keeps_its_phase_and_half_its_power)
{
    struct series_filter filter = design(20, 240);
    double x[960];
    for (int i = 0; i < 960; i++) {
        x[i] = sin(TURN * 20 * i / 240 + 0.4);
    }
    filter_one(&filter, x, 960);
    for (int i = 400; i < 560; i++) {
        cr_assert_float_eq(x[i], sqrt(0.5) * sin(TURN * 20 * i / 240 + 0.4), 1e-9);
    }
}

Test(series, short_signals)
{
    struct series_filter filter = design(12, 240);
    for (int n = 1; n <= 5; n++) {
        double x[5] = {1, 5, -2, 4, 0}, still[5] = {7, 7, 7, 7, 7};
        filter_one(&filter, x, n);
        filter_one(&filter, still, n);
        cr_assert_float_eq(still[n - 1], 7, 1e-12);
        cr_assert_eq(x[1] == 5, n < 4);
        for (int i = 0; i < n; i++) {
            cr_assert(isfinite(x[i]));
        }
    }
}

Test(series, three_channels_do_not_mix)
{
    struct series_filter filter = design(6, 100);
    static const int lengths[] = {1, 3, 4, 5, 40, 300};
    for (size_t l = 0; l < sizeof lengths / sizeof *lengths; l++) {
        int n = lengths[l];
        double one[3][300], three[900];
        for (int i = 0; i < 3 * n; i++) {
            three[i] = one[i % 3][i / 3] = sin(0.37 * i) + 0.01 * i + (i % 7);
        }
        for (int k = 0; k < 3; k++) {
            filter_one(&filter, one[k], n);
        }
        series_filter_run3(&filter, three, n, work);
        for (int i = 0; i < 3 * n; i++) {
            cr_assert_float_eq(three[i], one[i % 3][i / 3], 1e-15);
        }
    }
}

Test(series, noise_left_is_the_root_of_the_impulse_responses_square)
{
    struct series_filter filter = design(12, 120);
    double x[MOST] = {0}, sum = 0;
    x[MOST / 2] = 1;
    filter_one(&filter, x, MOST);
    for (int i = 0; i < MOST; i++) {
        sum += x[i] * x[i];
    }
    cr_assert_float_eq(series_filter_noise(&filter), sqrt(sum), 1e-10);
    cr_assert_lt(series_filter_noise(&filter), 1);
}

static double curve(int i)
{
    return 1 + 0.5 * i - 0.03 * i * i + 0.002 * i * i * i;
}

Test(series, a_gap_is_filled_by_the_cubic_through_its_neighbours)
{
    double x[20];
    bool seen[20], filled[20];
    for (int i = 0; i < 20; i++) {
        seen[i] = i < 8 || i > 11;
        x[i] = seen[i] ? curve(i) : NAN;
    }
    cr_assert_eq(fill_one(x, 20, seen, filled, 4), 0); /* exactly the longest */
    for (int i = 0; i < 20; i++) {
        cr_assert_float_eq(x[i], curve(i), 1e-10);
        cr_assert(filled[i]);
    }
    x[9] = -5;
    cr_assert_eq(fill_one(x, 20, seen, filled, 3), 4); /* one too long */
    cr_assert_eq(x[9], -5);
    cr_assert_not(filled[8]);
    cr_assert(filled[7] && filled[12]);
}

Test(series, gaps_at_the_ends_stay)
{
    double x[6] = {9, 9, 2, 3, 9, 9};
    bool seen[6] = {false, false, true, true, false, false};
    cr_assert_eq(fill_one(x, 6, seen, seen, 5), 4);
    cr_assert(!seen[0] && !seen[5] && seen[2]);
    cr_assert(x[0] == 9 && x[5] == 9);
}

Test(series, one_sample_on_a_side_makes_a_parabola_or_a_line)
{
    double line[3] = {2, 99, 6}, curved[5] = {0, 99, 4, 9, 16};
    bool seen[5] = {true, false, true, true, true};
    cr_assert_eq(fill_one(line, 3, seen, seen, 1), 0);
    cr_assert_float_eq(line[1], 4, 1e-12);
    cr_assert(seen[1]);
    seen[1] = false;
    cr_assert_eq(fill_one(curved, 5, seen, seen, 1), 0);
    cr_assert_float_eq(curved[1], 1, 1e-12);
}

Test(series, the_second_neighbour_may_lie_beyond_another_gap)
{
    double x[14];
    bool seen[14] = {false};
    seen[0] = seen[1] = seen[3] = seen[13] = true;
    for (int i = 0; i < 14; i++) {
        x[i] = seen[i] ? curve(i) : 50;
    }
    cr_assert_eq(fill_one(x, 14, seen, seen, 2), 9); /* 2 is filled, 4...12 stay */
    cr_assert_float_eq(x[2], curve(2), 1e-10);
    cr_assert_eq(x[7], 50);
}

Test(series, all_missing_and_none_missing)
{
    double x[5] = {1, 2, 3, 4, 5};
    bool none[5] = {false}, all[5] = {true, true, true, true, true};
    for (int n = 1; n <= 5; n++) {
        cr_assert_eq(fill_one(x, n, none, none, 9), n);
        cr_assert_eq(fill_one(x, n, all, all, 9), 0);
    }
    cr_assert_eq(x[4], 5);
}

Test(series, three_channels_share_their_gap)
{
    double x[18];
    bool seen[6] = {true, true, false, true, true, true};
    for (int i = 0; i < 6; i++) {
        for (int k = 0; k < 3; k++) {
            x[3 * i + k] = seen[i] ? (k + 1) * curve(i) : NAN;
        }
    }
    cr_assert_eq(series_fill3(x, 6, seen, seen, 1), 0);
    for (int k = 0; k < 3; k++) {
        cr_assert_float_eq(x[6 + k], (k + 1) * curve(2), 1e-10);
    }
}

Test(series, parabola_finds_its_top)
{
    double offset, value; /* 5 - 2 (i - 0.3)^2 */
    cr_assert(series_parabola(5 - 2 * 1.69, 5 - 2 * 0.09, 5 - 2 * 0.49, &offset, &value));
    cr_assert_float_eq(offset, 0.3, 1e-12);
    cr_assert_float_eq(value, 5, 1e-12);
    cr_assert_not(series_parabola(1, 1, 1, &offset, &value));
    cr_assert_not(series_parabola(0.1, 0.2, 0.1 + 0.2, &offset, &value)); /* a line but for rounding */
    cr_assert_not(series_parabola(NAN, 1, 0, &offset, &value));
}

Test(series, peak_must_stand_out_on_both_sides)
{
    const double x[] = {9, 1, 4, 3.5, 6, 0, 7, 6.5, 8};
    cr_assert_eq(series_peak(x, 0, 9, 2), 4);  /* the 7 stands out by a half to the right, 9 and 8 are ends */
    cr_assert_eq(series_peak(x, 0, 9, .4), 6); /* asked for less, it is one */
    cr_assert_eq(series_peak(x, 0, 9, 5.5), -1);
    cr_assert_eq(series_peak(x, 1, 4, .4), 2);
    cr_assert_eq(series_peak(x, 4, 6, .1), -1);
    cr_assert_eq(series_peak(x, 3, 3, .1), -1);
}

Test(series, equal_peaks_give_the_first)
{
    const double x[] = {0, 5, 1, 5, 5, 0, 5, 0}, flat[] = {2, 2, 2, 2};
    cr_assert_eq(series_peak(x, 0, 8, 3), 1);
    cr_assert_eq(series_peak(flat, 0, 4, .1), -1);
}

Test(series, a_broad_peak_has_its_top_where_all_of_it_says)
{
    double x[80];
    double top;
    int width;
    for (int i = 0; i < 80; i++) { /* speed of the smoothest way from rest to rest, highest in the middle */
        const double t = (i - 9.7) / 60.0;
        x[i] = t > 0 && t < 1 ? 30 * t * t * (1 - t) * (1 - t) : 0;
    }
    cr_assert(series_broad_peak(x, 40, 0, 80, .6, &top, &width));
    cr_assert_float_eq(top, 39.7, 1e-3, "%.9g", top);
    cr_assert_eq(width, 28, "%d", width); /* 30 t^2 (1 - t)^2 > .6 * 1.875 for t in .262...738 */
    x[44] += .01;                         /* the highest sample is another, the top hardly moves */
    cr_assert(series_broad_peak(x, 44, 0, 80, .6, &top, &width) && fabs(top - 39.7) < .3, "%g", top);
    cr_assert_not(series_broad_peak(x, 40, 37, 44, .6, &top, &width), "seven samples are no broad peak");
    cr_assert_not(series_broad_peak(x, 30, 10, 31, .6, &top, &width), "still rising where it ends");
}
