/* Ray and sphere: the shaft's direction from one picture. */
#include "core/shaft.h"

#include <math.h>

enum shaft_root shaft_root(enum checkpoint checkpoint)
{
    switch (checkpoint) {
    case CHECKPOINT_TOP:
    case CHECKPOINT_IMPACT:
    case CHECKPOINT_SHAFT_THROUGH:
    case CHECKPOINT_ARM_THROUGH:
        return SHAFT_FARTHER;
    case CHECKPOINT_ADDRESS:
    case CHECKPOINT_SHAFT_BACK:
    case CHECKPOINT_ARM_BACK:
    case CHECKPOINT_ARM_DOWN:
    case CHECKPOINT_SHAFT_DOWN:
    case CHECKPOINT_FINISH:
    case CHECKPOINT_COUNT:
    default:
        return SHAFT_NEARER;
    }
}

bool shaft_solve(struct vec3 grip, struct vec3 head, double depth, double length, enum shaft_root root,
                 struct shaft *out)
{
    if (!(depth > 0.0) || !(length > 0.0)) {
        return false;
    }
    struct vec3 a = vec_scale(grip, depth);
    double q = vec_dot(head, head);
    double m = vec_dot(head, a);
    double disc = m * m - q * (vec_dot(a, a) - length * length);
    out->clipped = disc < 0.0;
    double t = (m + (double)root * sqrt(fmax(disc, 0.0))) / q;
    struct vec3 w = vec_sub(vec_scale(head, t), a);
    double norm = vec_norm(w);
    if (!(norm > 1e-9) || !isfinite(norm)) {
        return false;
    }
    out->direction = vec_scale(w, 1.0 / norm);
    out->miss_deg = out->clipped ? acos(fmin(1.0, length / norm)) * VEC_DEG : 0.0;
    return true;
}

double shaft_plan_angle(struct vec3 direction, enum checkpoint checkpoint)
{
    bool through = checkpoint == CHECKPOINT_TOP || checkpoint >= CHECKPOINT_IMPACT;

    return atan2(direction.z, through ? direction.x : -direction.x) * VEC_DEG;
}

double shaft_elevation(struct vec3 direction)
{
    return asin(fmax(-1.0, fmin(1.0, direction.y))) * VEC_DEG;
}

double shaft_on_plane(double slope_deg, double elevation_deg)
{
    double slope = fmax(5.0, fmin(85.0, slope_deg)) * VEC_RAD;
    double s = fmax(-1.0, fmin(1.0, sin(elevation_deg * VEC_RAD) / sin(slope)));

    return atan2(-s * cos(slope), sqrt(1.0 - s * s)) * VEC_DEG;
}

double shaft_slope_default(enum club_kind club)
{
    switch (club) {
    case CLUB_DRIVER:
        return 46.0;
    case CLUB_WOOD:
        return 49.0;
    case CLUB_HYBRID:
        return 51.0;
    case CLUB_IRON:
        return 53.0;
    case CLUB_WEDGE:
        return 57.0;
    default:
        return 50.0;
    }
}

double shaft_hands_farther(enum view_kind kind, enum checkpoint checkpoint)
{
    if (kind == VIEW_FACE_ON) {
        return checkpoint == CHECKPOINT_TOP ? 0.18 : 0.0;
    }
    switch (checkpoint) {
    case CHECKPOINT_SHAFT_BACK:
        return -0.30;
    case CHECKPOINT_TOP:
        return -0.40;
    case CHECKPOINT_SHAFT_DOWN:
        return -0.32;
    case CHECKPOINT_SHAFT_THROUGH:
        return 0.20;
    default:
        return 0.0;
    }
}

void shaft_top_missed(double slope_deg, double elevation_deg, double instant_sd, double *mean, double *sd)
{
    const double steepest = sin(slope_deg * VEC_RAD);
    const double height = sin(elevation_deg * VEC_RAD);
    /* Of elevation by turn in the plane, where sin e = sin slope * sin turn. */
    const double share = sqrt(fmax(0.0, steepest * steepest - height * height)) / cos(elevation_deg * VEC_RAD);
    const double after = 0.5 * SHAFT_TOP_SPEEDS_UP * instant_sd * instant_sd * share;
    const double before = 0.5 * SHAFT_TOP_BRAKES * instant_sd * instant_sd * share;

    /* Half of the pictures lie on either side; of a normal t, t^2 has the mean 1 and its square 3. */
    *mean = 0.5 * (after + before);
    *sd = sqrt(1.5 * (after * after + before * before) - *mean * *mean);
}

double shaft_turn_rate(enum checkpoint checkpoint)
{
    switch (checkpoint) {
    case CHECKPOINT_SHAFT_BACK:
        return 300.0;
    case CHECKPOINT_TOP:
        return 27.0;
    case CHECKPOINT_ARM_DOWN:
        return 740.0;
    case CHECKPOINT_SHAFT_DOWN:
        return 1150.0;
    case CHECKPOINT_IMPACT:
    case CHECKPOINT_SHAFT_THROUGH:
        return 1412.0;
    case CHECKPOINT_ADDRESS:
    case CHECKPOINT_ARM_BACK:
    case CHECKPOINT_ARM_THROUGH:
    case CHECKPOINT_FINISH:
    case CHECKPOINT_COUNT:
    default:
        return 0.0;
    }
}

bool shaft_slope_across(struct vec3 low, struct vec3 high, double *deg)
{
    double up = high.y - low.y;
    double in = low.z - high.z;
    if (!(up * up + in * in > 1e-12)) {
        return false;
    }
    *deg = atan2(up, in) * VEC_DEG;
    return true;
}
