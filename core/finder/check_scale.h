/* How wide this swing's own misfits are, beside what is stated of them (Pope 1976, The statistics of residuals and the
 * detection of outliers): sds that hold for anybody's hand, eye and film are wide for most. Private to
 * core/finder/check*.c. */
#ifndef LEADSIDE_CORE_FINDER_CHECK_SCALE_H
#define LEADSIDE_CORE_FINDER_CHECK_SCALE_H

#include "core/finder/check_adjust.h"

struct scale {
    double times;   /* the stated sds */
    double freedom; /* how much is known of that: degrees of freedom */
};

/* Sets the scene's scale of the gaps between marks and film, point by point (both sides together) in each view; never
 * above 1. */
void scale_gaps(struct scene *scene);

/* The scales of the marks' residuals, likewise. */
void scale_residuals(const struct adjust_moment moments[CHECKPOINT_COUNT], struct scale out[POINT_COUNT][SCENE_SIDES]);

/* What scales a mark's test: its point's scale, but the hand's own error, m, is never taken for less. */
struct scale scale_of_mark(const struct scale *scale, const struct adjust_test *test, double hand);

/* The w of a mark (or of its place in the film), both ways of the picture together, as one of two normal values of
 * known sd that is as seldom: by the swing's own scales, or by the stated sds, which hold as well; the larger. */
double scale_w(const struct scene *scene, const struct scale *scale, const struct adjust_test *test, enum point point,
               enum scene_side side, bool film);

#endif
