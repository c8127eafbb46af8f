/* Normal equations of points in space, three unknowns each: a point is tied to few others, and what is zero because two
 * points are not tied is left out. Private to core/finder/check*.c. */
#ifndef LEADSIDE_CORE_FINDER_CHECK_NORMAL_H
#define LEADSIDE_CORE_FINDER_CHECK_NORMAL_H

#include <stdbool.h>
#include <stdint.h>

#define NORMAL_POINTS 20

enum normal_axis { AXIS_X, AXIS_Y, AXIS_Z };

struct normal {
    int points;                   /* how many */
    uint32_t tied[NORMAL_POINTS]; /* as bits: the points after it that a point is tied to */
    double x[NORMAL_POINTS][3], right[NORMAL_POINTS][3];
    /* [later][earlier], where tied, and [same][same]: of the equations, the lower triangle; then of their factor, then
     * of their inverse. */
    double m[NORMAL_POINTS][NORMAL_POINTS][3][3];
};

/* No rows yet, but every place is known to 1 / sqrt(weight): keeps the equations regular. */
void normal_start(struct normal *normal, double weight);

/* Adds a row. off: by how much it is not met; weight: 1 / sd^2. Points go by their places in the order.
 * Of one point: a . x. */
void normal_add_point(struct normal *normal, int p, const double a[3], double off, double weight);
/* Of how one point lies from another: a . (x of p - x of q). */
void normal_add_between(struct normal *normal, int p, int q, const double a[3], double off, double weight);
/* Along one axis: the sum of a times each of n points (at most 3) is `value`. */
void normal_add_axis(struct normal *normal, enum normal_axis axis, int n, const int *points, const double *a,
                     double value, double weight);

/* Moves x by what the rows ask for, 2 m at most. False when the equations are not regular. */
__attribute__((warn_unused_result)) bool normal_solve(struct normal *normal);

/* After normal_solve: m[p][p] becomes the cofactors of point p's unknowns. */
void normal_invert(struct normal *normal);

#endif
