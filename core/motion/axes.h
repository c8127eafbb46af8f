/* Axes of recorded points: which way is up and which way the target lies in a laboratory's own frame.
 * A laboratory frame is right-handed. Metres on both sides. */
#ifndef LEADSIDE_CORE_MOTION_AXES_H
#define LEADSIDE_CORE_MOTION_AXES_H

#include <stdbool.h>

#include "core/motion/motion.h"
#include "core/names.h"

#define LAB_AXIS_NAMES(X)                                                                                              \
    X(LAB_PLUS_X, "+x")                                                                                                \
    X(LAB_MINUS_X, "-x")                                                                                               \
    X(LAB_PLUS_Y, "+y")                                                                                                \
    X(LAB_MINUS_Y, "-y")                                                                                               \
    X(LAB_PLUS_Z, "+z")                                                                                                \
    X(LAB_MINUS_Z, "-z")

enum lab_axis { LAB_AXIS_NAMES(NAMES_ENUM) LAB_AXIS_COUNT };

struct motion_axes {
    enum lab_axis up, target; /* never along one line */
};

/* "+x" "-x" "+y" "-y" "+z" "-z". */
const char *lab_axis_name(enum lab_axis value);
bool lab_axis_parse(const char *name, enum lab_axis *out);

bool motion_axes_valid(struct motion_axes axes);

/* Turns count places into the world frame, and mirrors them (Z negated) for a left-hander. */
void motion_axes_turn(struct motion_axes axes, bool mirror, struct vec3 *at, int count);

/* Which laboratory axis points from the ankles to the neck (or head) at the first instant that shows both: false when
 * none does or no axis is within 35 deg. The record is still in the laboratory's frame. */
bool motion_axes_find_up(const struct motion_record *record, enum lab_axis *up);

/* Which level axis points from the trail ankle to the lead ankle while the player stands, within 30 deg: a hint for a
 * person, a stance is not a target line. */
bool motion_axes_hint_target(const struct motion_record *record, enum lab_axis up, enum lab_axis *target);

#endif
