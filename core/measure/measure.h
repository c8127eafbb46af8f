/* The catalogue of measures, and every measure of one swing with its random and its systematic error.
 *
 * An item is one measure at one checkpoint. Formulas, signs and default ranges: docs/measures.md.
 * Errors are propagated by sigma points (unscented transform; Julier & Uhlmann 1997). */
#ifndef LEADSIDE_CORE_MEASURE_MEASURE_H
#define LEADSIDE_CORE_MEASURE_MEASURE_H

#include <stdbool.h>
#include <stdint.h>

#include "core/camera.h"
#include "core/names.h"
#include "core/swing.h"

/* From what a measure can be seen: bits, any one of which does. Points in space show nearly all of them as well. */
enum measure_seen {
    SEEN_DOWN_THE_LINE = 1,
    SEEN_FACE_ON = 2,
    SEEN_BOTH_VIEWS = 4, /* joined: either alone doesn't do */
    SEEN_SCALE = 8,      /* a scale, mat or plates */
    SEEN_MOTION = 16     /* points in space, and nothing else */
};

/* What else a measure is: bits. */
enum measure_nature {
    IS_PLAN = 1,      /* an angle seen from above: it needs the camera's direction */
    IS_FAST = 2,      /* moves so fast that the marked frame is never exactly at its checkpoint */
    IS_SIZE = 4,      /* a signed difference whose size is judged */
    IS_SHOWN_ONLY = 8 /* never scored */
};

/* X(enumerator, name, checkpoint, unit, seen from, nature): everything that a measure is. */
#define MEASURE_CATALOGUE(X)                                                                                           \
    X(SPINE_TILT_ADDRESS, "spine_tilt", ADDRESS, DEG, SEEN_DOWN_THE_LINE, 0)                                           \
    X(KNEE_FLEX_ADDRESS, "knee_flex", ADDRESS, DEG, SEEN_DOWN_THE_LINE, 0)                                             \
    X(HANDS_GAP_ADDRESS, "hands_gap", ADDRESS, METRE, SEEN_DOWN_THE_LINE, 0)                                           \
    X(LEAD_SHARE_ADDRESS, "lead_share", ADDRESS, PERCENT, SEEN_SCALE | SEEN_FACE_ON, 0)                                \
    X(SHAFT_DIRECTION_SHAFT_BACK, "shaft_direction", SHAFT_BACK, DEG, SEEN_DOWN_THE_LINE, IS_PLAN | IS_FAST)           \
    X(LEAD_SHARE_ARM_BACK, "lead_share", ARM_BACK, PERCENT, SEEN_SCALE | SEEN_FACE_ON, 0)                              \
    X(PELVIS_SHIFT_ARM_BACK, "pelvis_shift", ARM_BACK, NONE, SEEN_FACE_ON, 0)                                          \
    X(SHAFT_CROSS_TOP, "shaft_cross", TOP, DEG, SEEN_DOWN_THE_LINE, IS_PLAN)                                           \
    X(SHAFT_ELEVATION_TOP, "shaft_elevation", TOP, DEG, SEEN_DOWN_THE_LINE, 0)                                         \
    X(SHOULDER_PLANE_TOP, "shoulder_plane", TOP, DEG, SEEN_DOWN_THE_LINE, 0)                                           \
    X(TRUNK_LEAN_TOP, "trunk_lean", TOP, DEG, SEEN_FACE_ON, 0)                                                         \
    X(HEAD_SHIFT_TOP, "head_shift", TOP, NONE, SEEN_FACE_ON, 0)                                                        \
    X(LEAD_SHARE_TOP, "lead_share", TOP, PERCENT, SEEN_SCALE, 0)                                                       \
    X(CHEST_TURN_TOP, "chest_turn", TOP, DEG, SEEN_MOTION, 0)                                                          \
    X(PELVIS_TURN_TOP, "pelvis_turn", TOP, DEG, SEEN_MOTION, 0)                                                        \
    X(SEPARATION_TOP, "separation", TOP, DEG, SEEN_MOTION, 0)                                                          \
    X(SHAFT_STEEPNESS_ARM_DOWN, "shaft_steepness", ARM_DOWN, DEG, SEEN_DOWN_THE_LINE, IS_FAST)                         \
    X(SHAFT_DIRECTION_SHAFT_DOWN, "shaft_direction", SHAFT_DOWN, DEG, SEEN_DOWN_THE_LINE, IS_PLAN | IS_FAST)           \
    X(LEAD_SHARE_IMPACT, "lead_share", IMPACT, PERCENT, SEEN_SCALE, 0)                                                 \
    X(LEAD_ELBOW_BEND_IMPACT, "lead_elbow_bend", IMPACT, DEG, SEEN_FACE_ON, 0)                                         \
    X(HIPS_TO_BALL_IMPACT, "hips_to_ball", IMPACT, METRE, SEEN_DOWN_THE_LINE, 0)                                       \
    X(SPINE_CHANGE_IMPACT, "spine_change", IMPACT, DEG, SEEN_DOWN_THE_LINE, 0)                                         \
    X(PELVIS_SHIFT_IMPACT, "pelvis_shift", IMPACT, NONE, SEEN_FACE_ON, 0)                                              \
    X(LEAD_ELBOW_BEND_SHAFT_THROUGH, "lead_elbow_bend", SHAFT_THROUGH, DEG, SEEN_FACE_ON, 0)                           \
    X(LEAD_ELBOW_GAP_SHAFT_THROUGH, "lead_elbow_gap", SHAFT_THROUGH, NONE, SEEN_FACE_ON, 0)                            \
    X(SHAFT_DIRECTION_SHAFT_THROUGH, "shaft_direction", SHAFT_THROUGH, DEG, SEEN_DOWN_THE_LINE, IS_PLAN | IS_FAST)     \
    X(LEAD_SHARE_ARM_THROUGH, "lead_share", ARM_THROUGH, PERCENT, SEEN_SCALE | SEEN_FACE_ON, 0)                        \
    X(HANDS_HEIGHT_ARM_THROUGH, "hands_height", ARM_THROUGH, NONE, SEEN_FACE_ON, 0)                                    \
    X(FOLD_MATCH_ARM_THROUGH, "fold_match", ARM_THROUGH, DEG, SEEN_FACE_ON, IS_SIZE)                                   \
    X(LEAD_SHARE_FINISH, "lead_share", FINISH, PERCENT, SEEN_SCALE | SEEN_FACE_ON, 0)                                  \
    X(ORDER_BACK, "order_back", NONE, NONE, SEEN_BOTH_VIEWS, 0)                                                        \
    X(ORDER_DOWN, "order_down", NONE, NONE, SEEN_BOTH_VIEWS, 0)                                                        \
    X(ORDER_THROUGH, "order_through", NONE, NONE, SEEN_BOTH_VIEWS, 0)                                                  \
    X(ORDER_BACK_DTL, "order_back_dtl", NONE, NONE, SEEN_DOWN_THE_LINE, IS_SHOWN_ONLY)                                 \
    X(ORDER_DOWN_DTL, "order_down_dtl", NONE, NONE, SEEN_DOWN_THE_LINE, IS_SHOWN_ONLY)                                 \
    X(TEMPO, "tempo", NONE, NONE, SEEN_FACE_ON, IS_FAST)                                                               \
    X(BODY_ORDER, "body_order", NONE, NUMBER, SEEN_MOTION, 0)

enum measure_item {
#define X(id, name, checkpoint, unit, seen, nature) MEASURE_##id,
    MEASURE_CATALOGUE(X)
#undef X
        MEASURE_COUNT
};

/* A mark that nothing checks slips about once in a hundred (assumed), and then errs ten times as much: a mixture of two
 * normal errors (Box & Tiao 1968, Biometrika 55:119). */
#define MEASURE_SLIP 0.01
#define MEASURE_SLIP_TIMES 10.0
/* From one swing a sign hangs on some three marks: so often one of them is so far off that the sign says nothing.
 * Several swings check one another; what is left is a slip made in all of them. */
#define MEASURE_BLIND (3 * MEASURE_SLIP)

#define UNIT_NAMES(X)                                                                                                  \
    X(UNIT_DEG, "deg")                                                                                                 \
    X(UNIT_METRE, "m")                                                                                                 \
    X(UNIT_PERCENT, "%")                                                                                               \
    X(UNIT_NONE, "")        /* a plain ratio */                                                                        \
    X(UNIT_NUMBER, "count") /* a number of things */

enum unit { UNIT_NAMES(NAMES_ENUM) UNIT_COUNT };

#define MEASURE_SOURCE_NAMES(X)                                                                                        \
    X(MEASURE_SOURCE_NONE, "none")                                                                                     \
    X(MEASURE_SOURCE_PICTURE, "picture")   /* one view */                                                              \
    X(MEASURE_SOURCE_PICTURES, "pictures") /* both views joined */                                                     \
    X(MEASURE_SOURCE_TIMES, "times")       /* frames of pictures */                                                    \
    X(MEASURE_SOURCE_MOTION, "motion")     /* points in space */                                                       \
    X(MEASURE_SOURCE_WEIGHT, "weight")     /* scale, mat or plates */                                                  \
    X(MEASURE_SOURCE_MEASURED, "measured") /* another instrument, from the document */

enum measure_source { MEASURE_SOURCE_NAMES(NAMES_ENUM) MEASURE_SOURCE_COUNT };

struct measure_info {
    const char *name;
    enum checkpoint checkpoint; /* CHECKPOINT_NONE for the whole swing */
    enum unit unit;
    unsigned seen_from; /* enum measure_seen bits */
    unsigned nature;    /* enum measure_nature bits */
};

/* One measure. When !observed nothing else is meaningful. Both sd in the measure's unit, >= 0. */
struct measure {
    bool observed;
    bool clipped; /* the shaft's ray missed the sphere: the tangent was taken, the error widened */
    bool guessed; /* rests on points that software found and nobody touched: shown, but no verdict rests on it */
    bool suspect; /* rests on marks that do not fit the others (core/finder/check.h): shown, but no verdict rests on it
                   */
    double value;
    double sd_random;     /* shrinks with more swings */
    double sd_systematic; /* does not */
    enum measure_source source;
    int marks;      /* that it rests on, of one swing; any may have slipped. 0 = another source */
    double slip;    /* of a mean: how likely one of its marks has slipped */
    double sd_slip; /* the error then */
    double blind;   /* of a mean: how likely its marks say nothing */
};

/* How far the errors of two measures of one swing go together, for they rest on the same marks, cameras or markers: the
 * covariance over both whole errors, in ten thousandths; the part that is new with each swing and the part that stays.
 */
struct measure_shared {
    int16_t random, systematic;
};

#define MEASURE_SHARED_ONE 10000
#define MEASURE_SHARED_LEAST 0.05 /* less than that is taken as none: it moves no probability by 0.01 */
#define MEASURE_PAIRS (MEASURE_COUNT * (MEASURE_COUNT - 1) / 2)

struct measure_set {
    struct measure items[MEASURE_COUNT];
    struct measure_shared shared[MEASURE_PAIRS]; /* at measure_pair */
};

/* The place of two different measures, whichever is named first. */
static inline int measure_pair(int a, int b)
{
    return a > b ? a * (a - 1) / 2 + b : b * (b - 1) / 2 + a;
}

/* Catalogue entry of an item, 0 <= item < MEASURE_COUNT. Borrowed, static. */
const struct measure_info *measure_info(enum measure_item item);

/* Finds the item of a name and checkpoint (CHECKPOINT_NONE matches a name that has only one item). */
bool measure_find(const char *name, enum checkpoint checkpoint, enum measure_item *out);

const char *unit_name(enum unit value);
const char *measure_source_name(enum measure_source value);
bool measure_source_parse(const char *name, enum measure_source *out);

/* sqrt(random^2 + systematic^2). */
double measure_sd(const struct measure *measure);

/* Every measure that the swing's views, times, motion data, weight and `measured` values can give; the others are not
 * observed. A `measured` value wins over weight, weight over motion data, these over a picture. findings receives the
 * camera check of every view. */
void measure_swing(const struct swing *swing, struct measure_set *out, struct camera_findings *findings);

#endif
