/* The direction of the club's shaft from one picture, and what a shaft on the swing's plane would show.
 * Directions are in the view's level frame (camera.h), which down the line is the world frame. Degrees, metres. */
#ifndef LEADSIDE_CORE_SHAFT_H
#define LEADSIDE_CORE_SHAFT_H

#include <stdbool.h>

#include "core/swing.h"
#include "core/vec.h"

#define SHAFT_BUTT_TO_GRIP_M 0.10 /* butt to the middle of both hands (common practice) */
#define SHAFT_SLOPE_SD_DEG 0.5    /* the address shaft in a picture, beside its marking (perspective, simulated) */
#define SHAFT_SLOPE_DEFAULT_SD_DEG 6.0
#define SHAFT_FPS_DEFAULT 30.0

enum shaft_root { SHAFT_NEARER = -1, SHAFT_FARTHER = 1 };

struct shaft {
    struct vec3 direction; /* unit, grip to clubhead */
    bool clipped;          /* the ray misses the sphere: the tangent point was taken */
    double miss_deg;       /* angle by which it misses, 0 when it does not */
};

/* Which of the two points a checkpoint means, for a camera down the line: before impact the club points back at the
 * camera when level, at the top and after impact it points away. */
enum shaft_root shaft_root(enum checkpoint checkpoint);

/* grip, head: rays with x = 1. The clubhead is where its ray meets the sphere of radius length round grip * depth.
 * False for a length or depth that is not positive. */
__attribute__((warn_unused_result)) bool shaft_solve(struct vec3 grip, struct vec3 head, double depth, double length,
                                                     enum shaft_root root, struct shaft *out);

/* Plan angle from the target line, by the checkpoint's convention, + = clubhead toward +Z: atan2(z, x) at top, impact
 * and after; atan2(z, -x) at address to arm_back and on the way down. */
double shaft_plan_angle(struct vec3 direction, enum checkpoint checkpoint);

/* asin(y). */
double shaft_elevation(struct vec3 direction);

/* Plan angle of a shaft that lies in a plane of slope alpha (through the target line's direction) at elevation e:
 * sin t = sin e / sin alpha, atan2(-sin t cos alpha, cos t). e beyond the plane's own slope is taken at the slope. */
double shaft_on_plane(double slope_deg, double elevation_deg);

/* Slope of a shaft seen down the line: from the ground, the upper end toward the player (-Z). False for one point. */
bool shaft_slope_across(struct vec3 low, struct vec3 high, double *deg);

/* Slope of the swing's plane from the ground when the address shaft is not seen, deg: the longer the club, the flatter
 * (Kwon et al. 2012, Sports Biomech 11(2):127-148, whose slopes are quoted from memory; 50 for an unknown club: common
 * practice). Its error: SHAFT_SLOPE_DEFAULT_SD_DEG. */
double shaft_slope_default(enum club_kind club);

/* How far the hands are farther from the lens than at address, m: down the line they come nearer going back, for they
 * go away from the target; face on they go back from the ball. Only for a depth that one view has to guess. Top: the
 * middle of five measured swings (docs/sources.md); the level shaft: the simulated share of it, for those swings have
 * no club. */
double shaft_hands_farther(enum view_kind kind, enum checkpoint checkpoint);

/* How fast the club's turn is braked before the top and speeds up after it, deg/s2. Some 240 deg come down in 0.27 s:
 * at an even rise 6 600; 9 000 by the speed of professionals (Zheng et al. 2008), 3 500 in the measured swing below.
 * Back it is the same turn in three times the time, braked over its second half. */
#define SHAFT_TOP_SPEEDS_UP 6000.0
#define SHAFT_TOP_BRAKES 2000.0

/* What a picture taken as the top misses of a shaft that turns round there, deg of elevation: off by t it shows the
 * shaft a t^2 / 2 less far in its plane, before or after. Never too far, so on average `mean` too little, and `sd`
 * about that. instant_sd: of t, s (normal). 0 for a shaft that stands as steep as the plane, or steeper. */
void shaft_top_missed(double slope_deg, double elevation_deg, double instant_sd, double *mean, double *sd);

/* How fast the club turns at a checkpoint, deg/s (one measured swing, c3d.org sample 13; take-away: common practice).
 */
double shaft_turn_rate(enum checkpoint checkpoint);

#endif
