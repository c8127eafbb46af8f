/* Least squares through a few points in time: a polynomial, and the instant at which a motion turns about, begins or
 * ends. For the files of this room. */
#ifndef LEADSIDE_CORE_FINDER_CURVES_H
#define LEADSIDE_CORE_FINDER_CURVES_H

#include <stdbool.h>

#define CURVE_MOST 512 /* points; more are not taken */
#define CURVE_TERMS 5

struct curve {
    int count;
    double x[CURVE_MOST]; /* s, small about 0 */
    double y[CURVE_MOST];
};

/* What moves: on both sides of the instant, from it on, or up to it; still otherwise. */
enum curve_kind { CURVE_TURNS, CURVE_BEGINS, CURVE_ENDS };

/* Sums for a linear fit y = c . row of `terms` terms; all zero but for terms at first. */
struct curve_sums {
    int terms;
    double a[CURVE_TERMS][CURVE_TERMS];
    double b[CURVE_TERMS];
    double squares; /* of y */
    int count;
};

void finder_sums_add(struct curve_sums *sums, const double *row, double y);

/* Uses the sums up. False where the points leave a term open. left: what remains of the squares of y. */
bool finder_sums_solve(struct curve_sums *sums, double c[CURVE_TERMS], double *left);

void finder_curve_add(struct curve *curve, double x, double y);

/* The middle of the values. 0 when there is none. */
double finder_curve_median(const struct curve *curve);

/* y = c[0] + c[1] x + ... of degree 1...4. False when the points don't say. */
bool finder_curve_fit(const struct curve *curve, int degree, double c[CURVE_TERMS]);

/* The instant in (from, to) about which y is a parabola with a cubic term, another one on either side: how a motion
 * comes to rest and how it leaves it need not be alike. sd: of the instant by the points' own scatter. False when the
 * points don't say, or the best instant lies at the rim. */
bool finder_curve_instant(const struct curve *curve, enum curve_kind kind, double from, double to, double *at,
                          double *sd);

#endif
