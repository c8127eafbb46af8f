/* A level shaft seen from behind, where the club points at the camera and turns in the picture in no time: not by its
 * angle, which then says nothing, but by how high its end stands over the hands before and after. */
#include <math.h>

#include "core/finder/parts.h"
#include "core/finder/reading.h"

#define SINE_LEAST 0.3 /* a line nearer to level than this is short or no club */
#define GAP_S 0.2      /* no longer between a club below the hands and one above them */
#define GAP_FRAMES 2.0
#define REACH_FRAMES 2.6 /* each way, of the curve through the heights, at least */
#define OFF_LEAST 0.06   /* of the club: a height so far off the others' curve is left out ... */
#define OFF_SD 2.2       /* ... if it is so many times what they scatter */
#define LEFT_OUT 4       /* at most */
#define PAST_S 0.03      /* heights are followed so far past the stretch in which the level is looked for */
#define SCATTER 0.02     /* of the club, at least */
#define SIDE_LEAST 2     /* heights on each side of the crossing */

/* The end's height over the hands in club's lengths, falling ones turned round. An error of the hands along the shaft
 * makes it longer or shorter and does not move the crossing. */
static bool height_at(const struct finder_reading *r, int frame, bool rising, double *out)
{
    const struct finder_shaft *shaft = &r->shafts[frame];
    const double sine = sin(shaft->angle_deg * FINDER_PI / 180.0);

    *out = (rising ? -1.0 : 1.0) * shaft->length_px * sine / r->film->club_px[frame];
    return shaft->found && fabs(sine) >= SINE_LEAST;
}

/* Where a straight line between two neighbours first passes level in [from, to], in frames. */
static bool first_crossing(const struct finder_reading *r, double from, double to, bool rising, double *frame)
{
    const double gap = fmax(GAP_FRAMES, GAP_S * r->film->rate_hz);
    double before = 0.0;
    double height;
    int last = -1;

    for (int f = finder_within(r->film, (int)floor(from)); f <= finder_within(r->film, (int)ceil(to)); f++) {
        if (!height_at(r, f, rising, &height)) {
            continue;
        }
        if (last >= 0 && before < 0.0 && height > 0.0 && f - last <= gap) {
            *frame = last + (f - last) * before / (before - height);
            return true;
        }
        last = f;
        before = height;
    }
    return false;
}

static double at_curve(const double c[CURVE_TERMS], double x)
{
    return c[0] + x * (c[1] + x * (c[2] + x * c[3]));
}

static bool on_both_sides(const struct curve *curve)
{
    int before = 0;

    for (int n = 0; n < curve->count; n++) {
        before += curve->x[n] < 0.0;
    }
    return before >= SIDE_LEAST && curve->count - before >= SIDE_LEAST;
}

/* A cubic through the heights, a parabola where there are few; what lies far off is left out. scatter: what remains. */
static bool curve_of_most(struct curve *curve, double c[CURVE_TERMS], double *scatter)
{
    for (int out = 0; out <= LEFT_OUT && on_both_sides(curve); out++) {
        const int degree = curve->count > 4 ? 3 : 2;
        double squares = 0.0;
        int worst = 0;
        for (int k = 0; k < CURVE_TERMS; k++) {
            c[k] = 0.0;
        }
        if (!finder_curve_fit(curve, degree, c)) {
            return false;
        }
        for (int n = 0; n < curve->count; n++) {
            const double off = curve->y[n] - at_curve(c, curve->x[n]);
            squares += off * off;
            worst = fabs(off) > fabs(curve->y[worst] - at_curve(c, curve->x[worst])) ? n : worst;
        }
        *scatter = sqrt(squares / fmax(1.0, curve->count - degree - 1));
        if (out == LEFT_OUT ||
            !(fabs(curve->y[worst] - at_curve(c, curve->x[worst])) > fmax(OFF_LEAST, OFF_SD * *scatter))) {
            return true;
        }
        curve->count--;
        for (int n = worst; n < curve->count; n++) {
            curve->x[n] = curve->x[n + 1];
            curve->y[n] = curve->y[n + 1];
        }
    }
    return false;
}

void finder_deep_level(struct finder_reading *r, enum checkpoint checkpoint, double from, double to, double reach_s,
                       double sd_s)
{
    const bool rising = checkpoint == CHECKPOINT_SHAFT_BACK;
    const double reach = fmax(reach_s * r->film->rate_hz, REACH_FRAMES);
    double scatter = 0.0;
    double slope = 0.0;
    double frame;

    if (!first_crossing(r, from, to, rising, &frame)) {
        return;
    }
    for (int round = 0; round < 2; round++) { /* the second time about the first answer */
        struct curve curve = {.count = 0};
        double c[CURVE_TERMS];
        double at = 0.0;
        for (int f = finder_within(r->film, (int)ceil(fmax(from, frame - reach)));
             f <= finder_within(r->film, (int)floor(fmin(to + PAST_S * r->film->rate_hz, frame + reach))); f++) {
            double height;
            if (height_at(r, f, rising, &height)) {
                finder_curve_add(&curve, finder_since(r, f, frame), height);
            }
        }
        if (!curve_of_most(&curve, c, &scatter)) {
            return;
        }
        for (int step = 0; step < 8; step++) {
            slope = c[1] + at * (2.0 * c[2] + at * 3.0 * c[3]);
            at -= at_curve(c, at) / slope;
        }
        if (!(slope > 0.0) || !(fabs(at) <= GAP_S)) {
            return;
        }
        frame += at * r->film->rate_hz;
    }
    finder_put(r, checkpoint, frame, hypot(fmax(scatter, SCATTER) / slope, sd_s));
}
