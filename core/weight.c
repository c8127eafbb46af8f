/* The static centre of mass from a segment table. */
#include "core/weight.h"

#include <math.h>

struct segment {
    double mass;   /* fraction of the body */
    double centre; /* from the proximal end, fraction of the segment */
};

static const struct segment hand = {0.006, 0.506};
static const struct segment forearm = {0.016, 0.430};
static const struct segment upper_arm = {0.028, 0.436};
static const struct segment total_arm = {0.050, 0.530};
static const struct segment foot = {0.0145, 0.500};
static const struct segment shank = {0.0465, 0.433};
static const struct segment thigh = {0.100, 0.433};
static const struct segment trunk = {0.497, 0.500};
static const double head_mass = 0.081; /* centre 1.0 from C7: at the ear, where `head` is marked */

double weight_picture_sd(enum checkpoint checkpoint)
{
    if (checkpoint == CHECKPOINT_ADDRESS || checkpoint == CHECKPOINT_FINISH) {
        return WEIGHT_PICTURE_STILL_SD;
    }
    if (checkpoint == CHECKPOINT_ARM_BACK || checkpoint == CHECKPOINT_ARM_THROUGH) {
        return WEIGHT_PICTURE_MOVING_SD;
    }
    return 0.0;
}

struct sum {
    double mass, x, y;
};

static void add_point(struct sum *sum, double mass, struct weight_point at)
{
    sum->mass += mass;
    sum->x += mass * at.x;
    sum->y += mass * at.y;
}

static void add_segment(struct sum *sum, const struct segment *segment, struct weight_point proximal,
                        struct weight_point distal)
{
    struct weight_point centre = {true, proximal.x + segment->centre * (distal.x - proximal.x),
                                  proximal.y + segment->centre * (distal.y - proximal.y)};
    add_point(sum, segment->mass, centre);
}

static struct weight_point middle(struct weight_point a, struct weight_point b)
{
    return (struct weight_point){a.seen && b.seen, 0.5 * (a.x + b.x), 0.5 * (a.y + b.y)};
}

static bool add_arm(struct sum *sum, struct weight_point shoulder, struct weight_point elbow, struct weight_point wrist,
                    struct weight_point grip)
{
    if (!wrist.seen && !grip.seen) {
        return false;
    }
    struct weight_point end = wrist.seen ? wrist : grip;
    if (!elbow.seen) {
        add_segment(sum, &total_arm, shoulder, end);
        return true;
    }
    add_segment(sum, &upper_arm, shoulder, elbow);
    add_segment(sum, &forearm, elbow, end);
    add_segment(sum, &hand, end, grip.seen ? grip : end);
    return true;
}

static void add_leg(struct sum *sum, struct weight_point hip, struct weight_point knee, struct weight_point ankle,
                    struct weight_point toe)
{
    add_segment(sum, &thigh, hip, knee);
    add_segment(sum, &shank, knee, ankle);
    add_segment(sum, &foot, ankle, toe.seen ? toe : ankle);
}

bool weight_com(const struct weight_point p[POINT_COUNT], double *x, double *y)
{
    static const enum point needed[] = {POINT_HEAD,       POINT_LEAD_SHOULDER, POINT_TRAIL_SHOULDER,
                                        POINT_LEAD_HIP,   POINT_TRAIL_HIP,     POINT_LEAD_KNEE,
                                        POINT_TRAIL_KNEE, POINT_LEAD_ANKLE,    POINT_TRAIL_ANKLE};
    struct sum sum = {0.0, 0.0, 0.0};

    for (size_t i = 0; i < sizeof needed / sizeof needed[0]; i++) {
        if (!p[needed[i]].seen) {
            return false;
        }
    }
    add_point(&sum, head_mass, p[POINT_HEAD]);
    add_segment(&sum, &trunk, middle(p[POINT_LEAD_SHOULDER], p[POINT_TRAIL_SHOULDER]),
                middle(p[POINT_LEAD_HIP], p[POINT_TRAIL_HIP]));
    if (!add_arm(&sum, p[POINT_LEAD_SHOULDER], p[POINT_LEAD_ELBOW], p[POINT_LEAD_WRIST], p[POINT_GRIP]) ||
        !add_arm(&sum, p[POINT_TRAIL_SHOULDER], p[POINT_TRAIL_ELBOW], p[POINT_TRAIL_WRIST], p[POINT_GRIP])) {
        return false;
    }
    add_leg(&sum, p[POINT_LEAD_HIP], p[POINT_LEAD_KNEE], p[POINT_LEAD_ANKLE], p[POINT_LEAD_TOE]);
    add_leg(&sum, p[POINT_TRAIL_HIP], p[POINT_TRAIL_KNEE], p[POINT_TRAIL_ANKLE], p[POINT_TRAIL_TOE]);
    *x = sum.x / sum.mass;
    *y = sum.y / sum.mass;
    return isfinite(*x) && isfinite(*y);
}

bool weight_share(const struct weight_point points[POINT_COUNT], double least, double *share)
{
    double x;
    double y;

    if (!weight_com(points, &x, &y)) {
        return false;
    }
    double stance = points[POINT_LEAD_ANKLE].x - points[POINT_TRAIL_ANKLE].x;
    if (!(fabs(stance) > fmax(least, 1e-9))) {
        return false;
    }
    *share = (x - points[POINT_TRAIL_ANKLE].x) / stance;
    return isfinite(*share);
}
