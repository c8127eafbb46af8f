/* Normal equations of points in space, three unknowns each: a point is tied to few others, and what is zero because two
 * points are not tied is left out. Private to core/finder/check*.c. */
#ifndef LEADSIDE_CORE_FINDER_CHECK_NORMAL_H
#define LEADSIDE_CORE_FINDER_CHECK_NORMAL_H

#include <stdbool.h>
#include <stdint.h>

#define NORMAL_POINTS 20

/* Unknown `axis` of the point that stands at `place` in the order is NORMAL_STRIDE * place + axis. */
enum normal_axis { AXIS_X, AXIS_Y, AXIS_Z, NORMAL_STRIDE };

/* Of up to three points. off: by how much it is not met; weight: 1 / sd^2. */
struct normal_row {
    int n, at[6];
    double a[6];
    double off, weight;
};

struct normal {
    int points;                   /* how many */
    uint32_t tied[NORMAL_POINTS]; /* as bits: the points after it that a point is tied to */
    double x[NORMAL_STRIDE * NORMAL_POINTS], right[NORMAL_STRIDE * NORMAL_POINTS];
    /* [later][earlier], where tied, and [same][same]: of the equations, the lower triangle; then of their factor, then
     * of their inverse. */
    double m[NORMAL_POINTS][NORMAL_POINTS][3][3];
};

/* No rows yet, but every place is known to 1 / sqrt(weight): keeps the equations regular. */
void normal_start(struct normal *normal, double weight);

/* Adds a row; one unknown's value by itself. */
void normal_add(struct normal *normal, const struct normal_row *row);
void normal_add_value(struct normal *normal, int at, double value, double weight);

/* Moves x by what the rows ask for, 2 m at most. False when the equations are not regular. */
__attribute__((warn_unused_result)) bool normal_solve(struct normal *normal);

/* After normal_solve: m[p][p] becomes the cofactors of point p's unknowns. */
void normal_invert(struct normal *normal);

#endif
