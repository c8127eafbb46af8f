/* Slips with a name of their own: sides or ends exchanged, another moment's picture, the wrong view, the wrong hand,
 * the order of time. Each is mended in the scene when it is found, so that what follows is held against sound marks.
 * Private to core/finder/check*.c. */
#ifndef LEADSIDE_CORE_FINDER_CHECK_HYPOTHESES_H
#define LEADSIDE_CORE_FINDER_CHECK_HYPOTHESES_H

#include "core/finder/check.h"
#include "core/finder/check_scene.h"

/* The views themselves. A view found wrong, or a player of the other hand, takes its marks out of the scene. */
void hypotheses_views(struct scene *scene, struct mark_findings *out);

/* Ends, sides, moments, times, in this order. */
void hypotheses_pictures(struct scene *scene, struct mark_findings *out);

#endif
