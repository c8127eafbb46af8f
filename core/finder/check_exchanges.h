/* Marks exchanged within one picture: grip and clubhead, butt and grip; lead and trail of a joint or of all joints.
 * Private to core/finder/check*.c. */
#ifndef LEADSIDE_CORE_FINDER_CHECK_EXCHANGES_H
#define LEADSIDE_CORE_FINDER_CHECK_EXCHANGES_H

#include "core/finder/check.h"
#include "core/finder/check_scene.h"

/* Find exchanged marks, report them, and change them back in the scene. */
void exchanges_ends(struct scene *scene, struct mark_findings *out);
void exchanges_sides(struct scene *scene, struct mark_findings *out);

/* Exchanges two marks of a picture; false (and nothing done) when one is not there or both are settled. */
bool exchanges_try(struct scene *scene, enum scene_side side, enum checkpoint at, enum point a, enum point b);

#endif
