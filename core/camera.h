/* One camera: rays, its pose from sticks or a target, the check of that pose, and the shaft from one picture.
 *
 * The camera's own axes: x right, y up, z forward. Yaw + turns the camera to its right, pitch + looks down, roll +
 * clockwise as seen from behind the camera. Angles in degrees at this interface, metres, pixels. */
#ifndef LEADSIDE_CORE_CAMERA_H
#define LEADSIDE_CORE_CAMERA_H

#include <stdbool.h>

#include "swing.h"
#include "vec.h"

/* What the camera check can say of a view. */
enum camera_issue {
    CAMERA_NO_REFERENCE, /* neither stick nor target: no correction, 6 deg of yaw uncertainty */
    CAMERA_ONE_STICK,    /* yaw only */
    CAMERA_YAW,          /* turned more than 10 deg off the target line; value deg, + to the right */
    CAMERA_TOO_HIGH,     /* lens above the head; value m above it */
    CAMERA_TOO_LOW,      /* lens below the knees; value m below them */
    CAMERA_ROLL_SLIGHT,  /* 1...3 deg; value deg */
    CAMERA_ROLL,         /* > 3 deg; value deg */
    CAMERA_STICKS_CROSS, /* the sticks are not parallel, or point at the camera: not used */
    CAMERA_OFF_LINE,     /* camera beside the hands' line; value m, + to the camera's right */
    CAMERA_DISTANCE,     /* the distance given and the club's length in the picture disagree; value m */
    CAMERA_CLIPPED,      /* a shaft longer in the picture than the club can be; value = checkpoint */
    CAMERA_ISSUE_COUNT
};

enum camera_reference { CAMERA_REF_NONE, CAMERA_REF_ONE_STICK, CAMERA_REF_TWO_STICKS, CAMERA_REF_TARGET };

/* One finding. `fault` = the camera must be moved before plan angles can be trusted. move_* say what to do, in metres
 * or degrees, 0 when that is not the remedy: right/up/turn-right/roll-clockwise of the camera, seen from behind it. */
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

/* Stable machine name: "no_reference", "one_stick", "yaw", "too_high", ... */
const char *camera_issue_name(enum camera_issue issue);

#endif
