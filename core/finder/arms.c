/* Where an arm is level: its wrist at its shoulder's height. The other wrist and the grip hold the same club, so they
 * tell of the wrist's height as well: how they stand to it hangs on the way the shaft points, and is fitted over the
 * film. */
#include <math.h>

#include "core/finder/parts.h"
#include "core/finder/reading.h"

#define ARM_S 0.08      /* each way, of the curve through a wrist's height */
#define ARM_BACK_S 0.14 /* the same on the slower way back */
#define SHOULDER_S 0.2  /* and through a shoulder's */
#define HELPERS 2
#define HELP_FRAMES 20    /* that a helper must be seen in beside the shaft and the wrist */
#define HELP_WEIGHT 0.6   /* of a helper beside the wrist itself: its way to it is fitted */
#define HELP_VARIANCE 0.5 /* of the wrist's own that is left at least: hands are mistaken together */
#define SD_LEAST 0.1      /* px */

/* A point that tells of the wrist's height: c[0] + c[1] cos + c[2] sin of the shaft's angle below it. */
struct helper {
    enum point point;
    bool known;
    double c[CURVE_TERMS];
};

struct arm {
    enum point wrist, shoulder;
    bool rising;
    double reach_s;
    struct helper helpers[HELPERS];
};

static bool shaft_row(const struct finder_reading *r, int f, double row[CURVE_TERMS])
{
    const double angle = r->shafts[f].angle_deg * FINDER_PI / 180.0;

    row[0] = 1.0;
    row[1] = cos(angle);
    row[2] = sin(angle);
    return r->shafts[f].known;
}

static void fit_helper(const struct finder_reading *r, enum point wrist, struct helper *helper)
{
    struct curve_sums sums = {.terms = 3};
    double row[CURVE_TERMS];
    double left;

    for (int f = 0; f < r->film->frames; f++) {
        const struct swing_mark *own = &r->film->points[f][wrist];
        const struct swing_mark *other = &r->film->points[f][helper->point];
        if (own->seen && other->seen && shaft_row(r, f, row)) {
            finder_sums_add(&sums, row, own->v - other->v);
        }
    }
    helper->known = sums.count >= HELP_FRAMES && finder_sums_solve(&sums, helper->c, &left);
}

static struct arm arm_of(const struct finder_reading *r, enum checkpoint checkpoint)
{
    const bool trail = checkpoint == CHECKPOINT_ARM_THROUGH;
    struct arm arm = {.wrist = trail ? POINT_TRAIL_WRIST : POINT_LEAD_WRIST,
                      .shoulder = trail ? POINT_TRAIL_SHOULDER : POINT_LEAD_SHOULDER,
                      .rising = checkpoint != CHECKPOINT_ARM_DOWN,
                      .reach_s = checkpoint == CHECKPOINT_ARM_BACK ? ARM_BACK_S : ARM_S};

    arm.helpers[0].point = trail ? POINT_LEAD_WRIST : POINT_TRAIL_WRIST;
    arm.helpers[1].point = POINT_GRIP;
    for (int k = 0; k < HELPERS; k++) {
        fit_helper(r, arm.wrist, &arm.helpers[k]);
    }
    return arm;
}

/* The wrist's height by all that tells it, px downward; false where it is not seen itself. */
static bool wrist_height(const struct finder_reading *r, const struct arm *arm, int f, double *v, double *variance)
{
    const struct swing_mark *own = &r->film->points[f][arm->wrist];
    double row[CURVE_TERMS];
    const bool shaft = shaft_row(r, f, row);
    double weight = 1.0;

    *v = own->v;
    for (int k = 0; k < HELPERS && shaft; k++) {
        const struct helper *helper = &arm->helpers[k];
        const struct swing_mark *other = &r->film->points[f][helper->point];
        if (helper->known && other->seen) {
            const double ratio = fmax(own->sd, SD_LEAST) / fmax(other->sd, SD_LEAST);
            const double share = HELP_WEIGHT * ratio * ratio;
            const double told = other->v + helper->c[0] + helper->c[1] * row[1] + helper->c[2] * row[2];
            weight += share;
            *v += share / weight * (told - *v);
        }
    }
    *variance = own->sd * own->sd * fmax(1.0 / weight, HELP_VARIANCE);
    return own->seen;
}

static bool shoulder_height(const struct finder_reading *r, const struct arm *arm, int f, double *v, double *variance)
{
    const struct swing_mark *own = &r->film->points[f][arm->shoulder];

    *v = own->v;
    *variance = own->sd * own->sd;
    return own->seen;
}

/* Wrist or shoulder as a curve about frame f; its mean variance. */
static bool height_curve(const struct finder_reading *r, const struct arm *arm, bool wrist, int f,
                         double c[CURVE_TERMS], double *variance, int *count)
{
    struct curve curve = {.count = 0};
    const int reach = (int)fmax(2.0, finder_frames_of(r->film, wrist ? arm->reach_s : SHOULDER_S));
    double sum = 0.0;
    double v;
    double one;

    for (int k = f - reach; k <= f + 1 + reach; k++) {
        if (k >= 0 && k < r->film->frames &&
            (wrist ? wrist_height(r, arm, k, &v, &one) : shoulder_height(r, arm, k, &v, &one))) {
            finder_curve_add(&curve, finder_since(r, k, f), v);
            sum += one;
        }
    }
    *count = curve.count;
    *variance = curve.count > 0 ? sum / curve.count : 0.0;
    return curve.count >= 5 && finder_curve_fit(&curve, wrist ? 3 : 2, c);
}

/* Where the wrist's curve crosses the shoulder's, which is slow and so read over a longer while. In frames. */
static bool crossing(const struct finder_reading *r, const struct arm *arm, int f, double *frame, double *sd_s)
{
    double c[CURVE_TERMS] = {0};
    double still[CURVE_TERMS] = {0};
    double variance[2];
    int count[2];
    double at = 0.5 / r->film->rate_hz;
    double slope = 1.0;

    if (!height_curve(r, arm, true, f, c, &variance[0], &count[0]) ||
        !height_curve(r, arm, false, f, still, &variance[1], &count[1])) {
        return false;
    }
    for (int k = 0; k < 3; k++) {
        c[k] -= still[k];
    }
    for (int step = 0; step < 8; step++) {
        slope = c[1] + at * (2.0 * c[2] + at * 3.0 * c[3]);
        at -= (c[0] + at * (c[1] + at * (c[2] + at * c[3]))) / slope;
    }
    *frame = f + at * r->film->rate_hz;
    /* Half of a joint's error is slow and does not go away over the window. */
    *sd_s = 1.12 * sqrt(variance[0] * (0.5 + 1.5 / count[0]) + variance[1] * (0.5 + 1.5 / count[1])) / fabs(slope);
    return isfinite(at) && fabs(at) <= arm->reach_s;
}

/* Height of the wrist over the shoulder, px; false where either is not seen. */
static bool above(const struct finder_reading *r, const struct arm *arm, int f, double *out)
{
    double wrist;
    double shoulder;
    double variance;

    if (!wrist_height(r, arm, f, &wrist, &variance) || !shoulder_height(r, arm, f, &shoulder, &variance)) {
        return false;
    }
    *out = shoulder - wrist;
    return true;
}

void finder_arm_level(struct finder_reading *r, enum checkpoint checkpoint, double from, double to, bool last)
{
    const struct arm arm = arm_of(r, checkpoint);

    for (int f = finder_within(r->film, (int)ceil(from)); f < (int)floor(to) && f + 1 < r->film->frames; f++) {
        double here;
        double next;
        double sd;
        double frame;
        if (above(r, &arm, f, &here) && above(r, &arm, f + 1, &next) && (here < 0.0) == arm.rising &&
            (next < 0.0) != arm.rising && crossing(r, &arm, f, &frame, &sd)) {
            finder_put(r, checkpoint, frame, sd);
            if (!last && r->out[checkpoint].found) {
                return;
            }
        }
    }
}
