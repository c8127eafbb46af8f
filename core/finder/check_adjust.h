/* The least-squares adjustment of one moment's points in space, and every mark's w (Baarda 1968, A testing procedure
 * for use in geodetic networks): its residual over the residual's own sd, and how far off the mark would be alone.
 * Private to core/finder/check*.c. */
#ifndef LEADSIDE_CORE_FINDER_CHECK_ADJUST_H
#define LEADSIDE_CORE_FINDER_CHECK_ADJUST_H

#include "core/finder/check_scene.h"

/* What speaks of one mark in one picture, to the side and up: its residual, which is `left` for each of `known` (both 0
 * where nothing checks it), and the gap to where the film shows the point (apart 0: it does not), in units of sds. */
struct adjust_test {
    double left[2], known[2];
    double share[2], gap[2], apart[2]; /* share: of the mark in what the picture says; the film is the rest */
};

struct adjust_moment {
    struct adjust_test tests[POINT_COUNT][SCENE_SIDES];
};

/* Its w, both ways together, if the mark is off (or the film's place), the stated sds of its residual being `scale`
 * times as wide; off: by how much, m. */
double adjust_w(const struct adjust_test *test, double scale, bool film, double off[2]);

/* Adjusts the marks of a moment that are seen. */
void adjust_moment(const struct scene *scene, enum checkpoint at, struct adjust_moment *out);

#endif
