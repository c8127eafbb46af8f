/* One camera: rays, its pose from sticks or a target, the check of that pose, and the shaft from one picture.
 *
 * The camera's own axes: x right, y up, z forward. Yaw + turns the camera to its right, pitch + looks down, roll +
 * clockwise as seen from behind the camera. Angles in degrees at this interface, metres, pixels. */
#ifndef LEADSIDE_CORE_CAMERA_H
#define LEADSIDE_CORE_CAMERA_H

#include <stdbool.h>

#include "core/names.h"
#include "core/swing.h"
#include "core/vec.h"

/* What the camera check can say of a view. */
#define CAMERA_ISSUE_NAMES(X)                                                                                          \
    X(CAMERA_NO_REFERENCE, "no_reference") /* neither stick nor target: no correction, 6 deg of yaw uncertainty */     \
    X(CAMERA_ONE_STICK, "one_stick")       /* yaw only */                                                              \
    X(CAMERA_YAW, "yaw")                 /* turned more than 10 deg off the target line; value deg, + to the right */  \
    X(CAMERA_TOO_HIGH, "too_high")       /* lens above the head; value m above it */                                   \
    X(CAMERA_TOO_LOW, "too_low")         /* lens below the knees; value m below them */                                \
    X(CAMERA_ROLL_SLIGHT, "roll_slight") /* 1...3 deg; value deg */                                                    \
    X(CAMERA_ROLL, "roll")               /* > 3 deg; value deg */                                                      \
    X(CAMERA_STICKS_CROSS, "sticks_cross") /* the sticks are not parallel, or point at the camera: not used */         \
    X(CAMERA_OFF_LINE, "off_line")         /* camera beside the hands' line; value m, + to the camera's right */       \
    X(CAMERA_DISTANCE, "distance") /* the distance given and the club's length in the picture disagree; value m */     \
    X(CAMERA_CLIPPED, "clipped")   /* a shaft longer in the picture than the club can be; value = checkpoint */        \
    X(CAMERA_HAND,                                                                                                     \
      "hand") /* the club lies on the other hand's side of the player: no picture is read; value deg, its slope */

enum camera_issue { CAMERA_ISSUE_NAMES(NAMES_ENUM) CAMERA_ISSUE_COUNT };

enum camera_reference { CAMERA_REF_NONE, CAMERA_REF_ONE_STICK, CAMERA_REF_TWO_STICKS, CAMERA_REF_TARGET };

/* One finding. `fault` = the camera must be moved before plan angles can be trusted. move_* say what to do, in metres
 * or degrees, 0 when that is not the remedy: right/up/turn-right/roll-clockwise of the camera as it really stands, also
 * for a left-hander, seen from behind it. */
struct camera_finding {
    int swing; /* index among the swings scored together */
    int view;  /* index in the document */
    enum view_kind kind;
    enum camera_issue issue;
    bool fault;
    double value;
    double move_right_m, move_up_m, turn_right_deg, roll_clockwise_deg;
};

#define CAMERA_FINDINGS_MAX 64

struct camera_findings {
    int count; /* findings past the maximum are dropped */
    struct camera_finding items[CAMERA_FINDINGS_MAX];
};

/* Sizes of errors and limits (common practice unless said). */
#define CAMERA_LAYING_SD_DEG 1.5  /* a stick laid by eye */
#define CAMERA_TARGET_SD_DEG 0.3  /* a distant flag */
#define CAMERA_UNKNOWN_SD_DEG 6.0 /* yaw with neither */
#define CAMERA_LEVEL_SD_DEG 0.5   /* the tablet's own level, pitch and roll */
#define CAMERA_PITCH_SD_DEG 2.0   /* pitch taken as level (simulated set-ups) */
#define CAMERA_ROLL_SD_DEG 1.0    /* roll taken as level */
#define CAMERA_HORIZON_SD_DEG 1.2 /* a distant flag taken to stand at the lens' height: the ground rises or falls */
#define CAMERA_BALL_M 0.02        /* the ball's middle above the ground */
#define CAMERA_HEIGHT_SD_M 0.05   /* a stated height of the lens, and the ball on its tee */
#define CAMERA_AHEAD_MIN 0.05     /* a ray more than ~87 deg off the line of sight is no use */
#define CAMERA_YAW_LIMIT_DEG 10.0
#define CAMERA_ROLL_SLIGHT_DEG 1.0
#define CAMERA_ROLL_LIMIT_DEG 3.0
#define CAMERA_OFF_LINE_M 0.4
#define CAMERA_DISTANCE_SD_M 0.15    /* a paced or taped distance */
#define CAMERA_LENGTH_SD 0.03        /* of the length seen at address */
#define CAMERA_DEPTH_MOVE_SD_M 0.15  /* how far the hips' depth strays from the hands' at address, one view */
#define CAMERA_DEPTH_HANDS_SD_M 0.12 /* how far the hands stray from where most hands go, one view (simulated) */
#define CAMERA_DEPTH_PAIR_SD_M 0.04  /* the same when the other view shows it */

/* One camera as far as it is known. yaw, pitch, roll in degrees with systematic sd: sticks are laid and marked once
 * for a session, so no part of the pose shrinks with more swings. */
struct camera {
    enum view_kind kind;
    double focal_px, centre_u, centre_v;
    double yaw, pitch, roll;
    double yaw_sd, pitch_sd, roll_sd;
    enum camera_reference reference;
    bool has_depth;
    double depth,
        depth_sd; /* of the hands at address, m, level along the line of sight (X down the line, -Z face on) */
};

/* The camera's right, down and ahead as unit vectors of the view's level frame: x ahead along the level line of sight
 * of an unturned camera, y up, z to its right. Down the line that frame is the world frame itself; face on x is -Z
 * and z is X. */
struct camera_axes {
    struct vec3 right, down, ahead;
};

/* Focal length in pixels, (W/2) / tan(hfov/2); 0 for a picture or a field of view that makes no sense. */
double camera_focal(const struct swing_view *view);

void camera_turn(double yaw_deg, double pitch_deg, double roll_deg, struct camera_axes *out);

/* The ray of a picture point in the view's level frame, scaled to x = 1. False when it does not go ahead. In the
 * header, for nothing is asked more often. */
__attribute__((warn_unused_result)) static inline bool
camera_ray(const struct camera *camera, const struct camera_axes *axes, double u, double v, struct vec3 *ray)
{
    double x = (u - camera->centre_u) / camera->focal_px;
    double y = (v - camera->centre_v) / camera->focal_px;
    struct vec3 d = vec_add(vec_add(vec_scale(axes->right, x), vec_scale(axes->down, y)), axes->ahead);

    if (!(d.x > 0.0) || !(d.x * d.x > CAMERA_AHEAD_MIN * CAMERA_AHEAD_MIN * vec_dot(d, d))) {
        return false;
    }
    double scale = 1.0 / d.x;
    *ray = vec_make(1.0, d.y * scale, d.z * scale);
    return true;
}

/* Pose from target, sticks and level, in that order of trust; the pose's own findings are added. False when the
 * picture has no usable size. index = the view's place in the document. */
__attribute__((warn_unused_result)) bool camera_pose(const struct swing_view *view, int index, struct camera *out,
                                                     struct camera_findings *findings);

/* Depth of the hands at address. length_m = mid-grip to clubhead (not given: only distance_m is used); slope_deg = the
 * shaft's slope at address from the ground: all of the length is across the picture down the line, only its sine face
 * on, where the clubhead is also nearer by its cosine. share_sd = relative error of the length seen. */
void camera_find_depth(const struct swing_view *view, struct maybe length_m, double slope_deg, double share_sd,
                       int index, struct camera *camera, struct camera_findings *findings);

/* Height and place of the lens, from the address picture. */
void camera_check(const struct swing_view *view, int index, const struct camera *camera,
                  struct camera_findings *findings);

/* Adds a finding; drops it when the list is full. */
void camera_report(struct camera_findings *findings, const struct camera_finding *finding);

/* Stable machine name: "no_reference", "one_stick", "yaw", "too_high", ... */
const char *camera_issue_name(enum camera_issue value);

#endif
