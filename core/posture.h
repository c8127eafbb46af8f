/* Body angles and lengths from points in the plane of one picture, levelled: `right` and `up` in the same unit.
 * Down the line right is +Z (toward the ball), face on it is +X (toward the target). Degrees. Leans are those of the
 * picture, not angles in space: those differ by what Smith et al. 2016 measured. Each function returns
 * false when the points coincide and there is no angle or length to give. */
#ifndef LEADSIDE_CORE_POSTURE_H
#define LEADSIDE_CORE_POSTURE_H

#include <stdbool.h>

#define POSTURE_TRUNK_SD_DEG 4.0  /* where an eye sees a trunk's line in one picture (common practice; no study) */
#define POSTURE_JOINT_SD_DEG 3.0  /* a knee or elbow not square to the picture (simulated) */
#define POSTURE_ARM_SD 0.08       /* relative, of an arm's length taken from its longest look (common practice) */
#define POSTURE_HALF_THIGH_M 0.09 /* hip-knee line to the front of the thigh (common practice) */
#define POSTURE_LEAN_OF_YAW                                                                                            \
    0.7 /* side lean seen per degree that the camera is turned: tan(31 deg) of the spine's tilt */
#define POSTURE_GAP_OF_YAW 0.65 /* upper arms per radian: the elbow stands that far before the shoulder (simulated) */
#define POSTURE_HIDDEN_BEND_DEG 8.0  /* of an arm that looks straight face on (simulated) ... */
#define POSTURE_PLAIN_BEND_DEG 30.0  /* ... and none of one that is plainly bent */
#define POSTURE_HEIGHT_SD 0.025      /* arm lengths: hands nearer the camera than the shoulders (simulated) */
#define POSTURE_HANDS_RISE 6.5       /* arm lengths per second at arm_through (simulated) */
#define POSTURE_HEAD_DRIFT 0.2       /* shoulder widths per second at the top (five measured swings) */
#define POSTURE_HIPS_BACK 0.5        /* stance widths per second at arm_back (the same) ... */
#define POSTURE_HIPS_FORWARD 1.2     /* ... and at impact */
#define POSTURE_THIGH_NEARER_M 0.004 /* the thigh is nearer the camera down the line than the hands (simulated) */
#define POSTURE_THIGH_SD_M 0.005     /* perspective of hip and knee beside the hands' depth (simulated) */
#define POSTURE_ONE_LEG_SD_M 0.011   /* one thigh for the middle of both (simulated) */
#define POSTURE_TURN_SD_DEG 20.0     /* how far a turn at the top is from 90 deg (common practice) */

struct plane_point {
    double right, up;
};

double posture_distance(struct plane_point a, struct plane_point b);

/* Lean of the line low -> high from vertical, + to the right. */
bool posture_lean(struct plane_point low, struct plane_point high, double *deg);

/* 180 - angle at the joint: 0 = straight. */
bool posture_bend(struct plane_point a, struct plane_point joint, struct plane_point b, double *deg);

/* atan2(trail.up - lead.up, horizontal distance): + = lead shoulder lower. */
bool posture_shoulder_plane(struct plane_point lead, struct plane_point trail, double *deg);

/* From the butt horizontally to the front of the thigh, metres; points in metres. */
bool posture_hands_gap(struct plane_point butt, struct plane_point hip, struct plane_point knee, double *gap_m);

/* Distance of the elbow from the shoulder-hip line, + on its right; unit of the points. */
bool posture_elbow_gap(struct plane_point shoulder, struct plane_point hip, struct plane_point elbow, double *gap);

#endif
