/* Plane geometry of the body: leans, bends and gaps. */
#include "core/posture.h"

#include <math.h>

#include "core/vec.h"

#define LENGTH_MIN 1e-9 /* shorter than this is one point found twice */

double posture_distance(struct plane_point a, struct plane_point b)
{
    double right = a.right - b.right;
    double up = a.up - b.up;
    return sqrt(right * right + up * up);
}

bool posture_lean(struct plane_point low, struct plane_point high, double *deg)
{
    if (!(posture_distance(low, high) > LENGTH_MIN)) {
        return false;
    }
    *deg = atan2(high.right - low.right, high.up - low.up) * VEC_DEG;
    return true;
}

bool posture_bend(struct plane_point a, struct plane_point joint, struct plane_point b, double *deg)
{
    double ax = a.right - joint.right;
    double ay = a.up - joint.up;
    double bx = b.right - joint.right;
    double by = b.up - joint.up;

    const double least = LENGTH_MIN * LENGTH_MIN;
    if (!(ax * ax + ay * ay > least) || !(bx * bx + by * by > least)) {
        return false;
    }
    *deg = 180.0 - atan2(fabs(ax * by - ay * bx), ax * bx + ay * by) * VEC_DEG;
    return true;
}

bool posture_shoulder_plane(struct plane_point lead, struct plane_point trail, double *deg)
{
    if (!(posture_distance(lead, trail) > LENGTH_MIN)) {
        return false;
    }
    *deg = atan2(trail.up - lead.up, fabs(trail.right - lead.right)) * VEC_DEG;
    return true;
}

bool posture_hands_gap(struct plane_point butt, struct plane_point hip, struct plane_point knee, double *gap_m)
{
    double fall = knee.up - hip.up;

    if (!(fabs(fall) > 0.05)) {
        return false; /* no thigh is so nearly level at address */
    }
    double line = hip.right + (butt.up - hip.up) / fall * (knee.right - hip.right);
    *gap_m = butt.right - line - POSTURE_HALF_THIGH_M;
    return true;
}

bool posture_elbow_gap(struct plane_point shoulder, struct plane_point hip, struct plane_point elbow, double *gap)
{
    double hx = hip.right - shoulder.right;
    double hy = hip.up - shoulder.up;
    double length = sqrt(hx * hx + hy * hy);

    if (!(length > LENGTH_MIN)) {
        return false;
    }
    *gap = (hx * (elbow.up - shoulder.up) - hy * (elbow.right - shoulder.right)) / length;
    return true;
}
