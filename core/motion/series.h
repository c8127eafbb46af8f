/* Series of samples taken at a fixed rate: gaps, a zero-lag low-pass filter, peaks. Allocates nothing; `work`
 * memory is the caller's.
 *
 * Filter: 4th-order zero-lag Butterworth, a 2nd-order filter run forward and backward, its warped corner
 * tan(pi fc / fs) divided by (sqrt 2 - 1)^(1/4) so that the dual pass has a gain of 1/sqrt 2 at the asked corner
 * (Winter 2009, Biomechanics and Motor Control of Human Movement). Ends are padded by odd reflection. */
#ifndef LEADSIDE_CORE_MOTION_SERIES_H
#define LEADSIDE_CORE_MOTION_SERIES_H

#include <stdbool.h>
#include <stddef.h>

#define SERIES_GAP_S 0.1 /* a longer gap is not filled */

struct series_filter {
    double b0, b1, b2, a1, a2;
    int pad; /* samples of reflection wanted: max(9, ceil(fs / fc)); a shorter signal takes n - 1 */
};

/* False unless 0 < cutoff_hz < 0.45 rate_hz. */
__attribute__((warn_unused_result)) bool series_filter_design(double cutoff_hz, double rate_hz,
                                                              struct series_filter *out);

/* Filters n >= 1 places (three channels side by side) in place; fewer than 4 are left as they are. work: 3 (n + 2 pad)
 * doubles. */
void series_filter_run3(const struct series_filter *filter, double *x, int n, double *work);

/* The part of white noise (its sd) that passes the filter, 0...1. */
double series_filter_noise(const struct series_filter *filter);

/* Fills gaps of at most `longest` places, between places that are seen, by the cubic through the two nearest seen
 * places on each side (three points or two where the record has no more on a side), and marks what it filled as seen
 * in `filled`. seen and filled: n flags; filled may be seen itself. Gaps at the ends and longer ones stay. Returns how
 * many places are still missing. */
int series_fill3(double *x, int n, const bool *seen, bool *filled, int longest);

/* Top of the parabola through three samples around the middle one: offset in samples, -0.5...0.5 at a true peak, and
 * the value there. False for three samples on a line. */
__attribute__((warn_unused_result)) bool series_parabola(double before, double here, double after, double *offset,
                                                         double *value);

/* Index of the highest sample in [from, to) that stands at least `prominence` above the lowest sample on both sides of
 * it within the range, -1 when none does. A peak at an end of the range is none; of equal ones the first. prominence >
 * 0. */
int series_peak(const double *x, int from, int to, double prominence);

/* Where a broad peak has its top, for noise that is as slow as the peak moves the highest sample of it far: the top of
 * the quartic laid by least squares through all samples of [from, to) around `at` (the highest) that stay above `level`
 * of it. *top: in samples, with a fraction; *width: how many samples took part. False for fewer than eight, or where
 * the quartic has no top among them. */
__attribute__((warn_unused_result)) bool series_broad_peak(const double *x, int at, int from, int to, double level,
                                                           double *top, int *width);

#endif
