/* Laboratory axes: names, turning into the world frame, and what the body itself says of them. */
#include "core/motion/axes.h"

#include <math.h>

#define UP_WITHIN_DEG 35.0
#define TARGET_WITHIN_DEG 30.0

NAMES(lab_axis, enum lab_axis, LAB_AXIS_NAMES);
NAMES_PARSE(lab_axis, enum lab_axis, LAB_AXIS_NAMES);

static struct vec3 axis_vector(enum lab_axis axis)
{
    double sign = (int)axis % 2 == 0 ? 1.0 : -1.0;
    int along = (int)axis / 2;
    return vec_make(along == 0 ? sign : 0.0, along == 1 ? sign : 0.0, along == 2 ? sign : 0.0);
}

bool motion_axes_valid(struct motion_axes axes)
{
    return (unsigned)axes.up < LAB_AXIS_COUNT && (unsigned)axes.target < LAB_AXIS_COUNT &&
           (int)axes.up / 2 != (int)axes.target / 2;
}

void motion_axes_turn(struct motion_axes axes, bool mirror, struct vec3 *at, int count)
{
    struct vec3 target = axis_vector(axes.target);
    struct vec3 up = axis_vector(axes.up);
    struct vec3 right = vec_scale(vec_cross(target, up), mirror ? -1.0 : 1.0);

    for (int i = 0; i < count; i++) {
        at[i] = vec_make(vec_dot(at[i], target), vec_dot(at[i], up), vec_dot(at[i], right));
    }
}

static bool seen_at(const struct motion_record *record, enum point point, int i)
{
    return record->at[point] != NULL && (record->seen[point] == NULL || record->seen[point][i]);
}

/* The axis nearest to a direction; false when it is more than `within` degrees off. */
static bool nearest_axis(struct vec3 direction, double within, enum lab_axis *out)
{
    double best = -1.0;

    if (!vec_unit(direction, &direction)) {
        return false;
    }
    for (int i = 0; i < LAB_AXIS_COUNT; i++) {
        double along = vec_dot(direction, axis_vector((enum lab_axis)i));
        if (along > best) {
            best = along;
            *out = (enum lab_axis)i;
        }
    }
    return best >= cos(within * VEC_RAD);
}

bool motion_axes_find_up(const struct motion_record *record, enum lab_axis *up)
{
    static const enum point heights[] = {POINT_NECK, POINT_HEAD, POINT_LEAD_SHOULDER, POINT_TRAIL_SHOULDER};

    for (int i = 0; i < record->count; i++) {
        for (size_t k = 0; k < sizeof heights / sizeof *heights; k++) {
            if (seen_at(record, heights[k], i) && seen_at(record, POINT_LEAD_ANKLE, i) &&
                seen_at(record, POINT_TRAIL_ANKLE, i)) {
                struct vec3 feet =
                    vec_scale(vec_add(record->at[POINT_LEAD_ANKLE][i], record->at[POINT_TRAIL_ANKLE][i]), 0.5);
                return nearest_axis(vec_sub(record->at[heights[k]][i], feet), UP_WITHIN_DEG, up);
            }
        }
    }
    return false;
}

bool motion_axes_hint_target(const struct motion_record *record, enum lab_axis up, enum lab_axis *target)
{
    for (int i = 0; i < record->count; i++) {
        if (seen_at(record, POINT_LEAD_ANKLE, i) && seen_at(record, POINT_TRAIL_ANKLE, i)) {
            struct vec3 stance = vec_sub(record->at[POINT_LEAD_ANKLE][i], record->at[POINT_TRAIL_ANKLE][i]);
            struct vec3 upright = axis_vector(up);
            stance = vec_sub(stance, vec_scale(upright, vec_dot(stance, upright)));
            return nearest_axis(stance, TARGET_WITHIN_DEG, target);
        }
    }
    return false;
}
