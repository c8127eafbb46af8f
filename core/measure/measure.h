/* The catalogue of measures, and every measure of one swing with its random and its systematic error.
 *
 * An item is one measure at one checkpoint. Formulas, signs and default ranges: docs/measures.md.
 * Errors are propagated by sigma points (unscented transform; Julier & Uhlmann 1997). */
#ifndef LEADSIDE_CORE_MEASURE_MEASURE_H
#define LEADSIDE_CORE_MEASURE_MEASURE_H

#include <stdbool.h>

#include "core/camera.h"
#include "core/swing.h"

/* X(enumerator, name, checkpoint, unit, needs motion data) */
#define MEASURE_CATALOGUE(X)                                                                                           \
    X(SPINE_TILT_ADDRESS, "spine_tilt", ADDRESS, DEG, false)                                                           \
    X(KNEE_FLEX_ADDRESS, "knee_flex", ADDRESS, DEG, false)                                                             \
    X(HANDS_GAP_ADDRESS, "hands_gap", ADDRESS, METRE, false)                                                           \
    X(LEAD_SHARE_ADDRESS, "lead_share", ADDRESS, PERCENT, false)                                                       \
    X(SHAFT_DIRECTION_SHAFT_BACK, "shaft_direction", SHAFT_BACK, DEG, false)                                           \
    X(LEAD_SHARE_ARM_BACK, "lead_share", ARM_BACK, PERCENT, false)                                                     \
    X(PELVIS_SHIFT_ARM_BACK, "pelvis_shift", ARM_BACK, NONE, false)                                                    \
    X(SHAFT_CROSS_TOP, "shaft_cross", TOP, DEG, false)                                                                 \
    X(SHAFT_ELEVATION_TOP, "shaft_elevation", TOP, DEG, false)                                                         \
    X(SHOULDER_PLANE_TOP, "shoulder_plane", TOP, DEG, false)                                                           \
    X(TRUNK_LEAN_TOP, "trunk_lean", TOP, DEG, false)                                                                   \
    X(HEAD_SHIFT_TOP, "head_shift", TOP, NONE, false)                                                                  \
    X(LEAD_SHARE_TOP, "lead_share", TOP, PERCENT, false)                                                               \
    X(CHEST_TURN_TOP, "chest_turn", TOP, DEG, true)                                                                    \
    X(PELVIS_TURN_TOP, "pelvis_turn", TOP, DEG, true)                                                                  \
    X(SEPARATION_TOP, "separation", TOP, DEG, true)                                                                    \
    X(SHAFT_STEEPNESS_ARM_DOWN, "shaft_steepness", ARM_DOWN, DEG, false)                                               \
    X(SHAFT_DIRECTION_SHAFT_DOWN, "shaft_direction", SHAFT_DOWN, DEG, false)                                           \
    X(LEAD_SHARE_IMPACT, "lead_share", IMPACT, PERCENT, false)                                                         \
    X(LEAD_ELBOW_BEND_IMPACT, "lead_elbow_bend", IMPACT, DEG, false)                                                   \
    X(HIPS_TO_BALL_IMPACT, "hips_to_ball", IMPACT, METRE, false)                                                       \
    X(SPINE_CHANGE_IMPACT, "spine_change", IMPACT, DEG, false)                                                         \
    X(PELVIS_SHIFT_IMPACT, "pelvis_shift", IMPACT, NONE, false)                                                        \
    X(LEAD_ELBOW_BEND_SHAFT_THROUGH, "lead_elbow_bend", SHAFT_THROUGH, DEG, false)                                     \
    X(LEAD_ELBOW_GAP_SHAFT_THROUGH, "lead_elbow_gap", SHAFT_THROUGH, NONE, false)                                      \
    X(SHAFT_DIRECTION_SHAFT_THROUGH, "shaft_direction", SHAFT_THROUGH, DEG, false)                                     \
    X(LEAD_SHARE_ARM_THROUGH, "lead_share", ARM_THROUGH, PERCENT, false)                                               \
    X(HANDS_HEIGHT_ARM_THROUGH, "hands_height", ARM_THROUGH, NONE, false)                                              \
    X(FOLD_MATCH_ARM_THROUGH, "fold_match", ARM_THROUGH, DEG, false)                                                   \
    X(LEAD_SHARE_FINISH, "lead_share", FINISH, PERCENT, false)                                                         \
    X(ORDER_BACK, "order_back", NONE, NONE, false)                                                                     \
    X(ORDER_DOWN, "order_down", NONE, NONE, false)                                                                     \
    X(ORDER_THROUGH, "order_through", NONE, NONE, false)                                                               \
    X(ORDER_BACK_DTL, "order_back_dtl", NONE, NONE, false) /* one view: shown, never scored */                         \
    X(ORDER_DOWN_DTL, "order_down_dtl", NONE, NONE, false) /* one view: shown, never scored */                         \
    X(TEMPO, "tempo", NONE, NONE, false)                                                                               \
    X(BODY_ORDER, "body_order", NONE, COUNT, true)

enum measure_item {
#define X(id, name, checkpoint, unit, motion) MEASURE_##id,
    MEASURE_CATALOGUE(X)
#undef X
        MEASURE_COUNT
};

enum unit { UNIT_DEG, UNIT_METRE, UNIT_PERCENT, UNIT_NONE, UNIT_COUNT }; /* UNIT_COUNT: a number of things; the last */

enum measure_source {
    MEASURE_SOURCE_NONE,
    MEASURE_SOURCE_PICTURE,  /* one view */
    MEASURE_SOURCE_PICTURES, /* both views joined */
    MEASURE_SOURCE_TIMES,    /* frames of pictures */
    MEASURE_SOURCE_MOTION,   /* points in space */
    MEASURE_SOURCE_WEIGHT,   /* scale, mat or plates */
    MEASURE_SOURCE_MEASURED, /* another instrument, from the document */
    MEASURE_SOURCE_COUNT
};

struct measure_info {
    const char *name;
    enum checkpoint checkpoint; /* CHECKPOINT_NONE for the whole swing */
    enum unit unit;
    bool needs_motion; /* not observed from pictures */
};

/* One measure. When !observed nothing else is meaningful. Both sd in the measure's unit, >= 0. */
struct measure {
    bool observed;
    bool clipped; /* the shaft's ray missed the sphere: the tangent was taken, the error widened */
    bool guessed; /* rests on points that software found and nobody touched: shown, but no verdict rests on it */
    double value;
    double sd_random;     /* shrinks with more swings */
    double sd_systematic; /* does not */
    enum measure_source source;
};

struct measure_set {
    struct measure items[MEASURE_COUNT];
};

/* Catalogue entry of an item, 0 <= item < MEASURE_COUNT. Borrowed, static. */
const struct measure_info *measure_info(enum measure_item item);

/* Finds the item of a name and checkpoint (CHECKPOINT_NONE matches a name that has only one item). */
bool measure_find(const char *name, enum checkpoint checkpoint, enum measure_item *out);

/* "deg", "m", "%", "" (a plain ratio), "count". */
const char *unit_name(enum unit unit);
const char *measure_source_name(enum measure_source source);

/* sqrt(random^2 + systematic^2). */
double measure_sd(const struct measure *measure);

/* Every measure that the swing's views, times, motion data, weight and `measured` values can give; the others are not
 * observed. A `measured` value wins over weight, weight over motion data, these over a picture. findings receives the
 * camera check of every view. */
void measure_swing(const struct swing *swing, struct measure_set *out, struct camera_findings *findings);

#endif
