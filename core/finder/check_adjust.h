/* The least-squares adjustment of one moment's points in space, and every mark's w (Baarda 1968, A testing procedure
 * for use in geodetic networks): its residual over the residual's own sd, and how far off the mark would be alone.
 * Private to core/finder/check*.c. */
#ifndef LEADSIDE_CORE_FINDER_CHECK_ADJUST_H
#define LEADSIDE_CORE_FINDER_CHECK_ADJUST_H

#include "core/finder/check_scene.h"

/* One mark's test in one picture, to the side and up. w = 0 where nothing checks it. film_w: the same of the place
 * where the film shows the point, if it is that which is off. */
struct adjust_test {
    double w[2];
    double off[2]; /* m */
    double film_w[2];
};

struct adjust_moment {
    struct adjust_test tests[POINT_COUNT][SCENE_SIDES];
};

/* Adjusts the marks of a moment that are seen. */
void adjust_moment(const struct scene *scene, enum checkpoint at, struct adjust_moment *out);

#endif
