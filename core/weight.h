/* Share of the weight on the lead foot, from the static centre of mass of one picture.
 *
 * Segment masses and centres: Winter 2009, Biomechanics and Motor Control of Human Movement, after Dempster. A static
 * estimate: while the body accelerates the pressure is elsewhere (com - (h/g) a), so it is used at address, arm_back,
 * arm_through and finish only. */
#ifndef LEADSIDE_CORE_WEIGHT_H
#define LEADSIDE_CORE_WEIGHT_H

#include <stdbool.h>

#include "core/swing.h"

#define WEIGHT_SCALE_SD 3.0           /* percentage points (common practice) */
#define WEIGHT_PICTURE_STILL_SD 6.0   /* at address and a held finish (common practice) */
#define WEIGHT_PICTURE_MOVING_SD 12.0 /* at arm_back and arm_through (common practice) */

struct weight_point {
    bool seen;
    double x, y; /* any unit, x toward the target */
};

/* Needs head, both shoulders, hips, knees and ankles, and for each arm the wrist or the grip. A missing elbow makes
 * the arm one segment; missing toes put the foot at the ankle; a wrist alone carries the hand. False otherwise. */
__attribute__((warn_unused_result)) bool weight_com(const struct weight_point points[POINT_COUNT], double *x,
                                                    double *y);

/* (com - trail ankle) / (lead - trail), not clamped: outside [0, 1] the centre of mass is outside the feet. False when
 * weight_com is, or when the ankles are within `least` of one another. */
__attribute__((warn_unused_result)) bool weight_share(const struct weight_point points[POINT_COUNT], double least,
                                                      double *share);

/* Error of a picture's share in percentage points; 0 where a picture must not be used. */
double weight_picture_sd(enum checkpoint checkpoint);

#endif
