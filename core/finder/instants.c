/* The checkpoints' times, read from the club's turning and the body's points. */
#include <math.h>
#include <string.h>

#include "core/finder/parts.h"

#define METRES_OF_CLUB 0.95  /* hands to clubhead, middling: pixels to metres where only that is needed */
#define HANDS_SMOOTH_S 0.035 /* each way */
#define FALL_S 0.15          /* the downswing is where the hands fall most in so long */
#define FALL_LEAST 0.25      /* of the club: less is no downswing */
#define DOWN_S 0.45          /* the top is not longer before the steepest fall, impact not longer after it */
#define BACK_S 2.5           /* a backswing takes no longer */
#define THROUGH_S 1.2        /* nor the way from impact to the trail arm level */
#define ARM_S 0.05           /* each way, of the line through an arm's height */
#define TOP_S 0.07           /* each way, of the parabola through the club's turning */
#define HANDS_TOP_SD_S 0.03  /* a top that only the hands tell */
#define STILL_RATE 20.0      /* deg/s */
#define STILL_MS 0.25        /* m/s of the hands */
#define STILL_S 0.15
#define HOLD_S 0.25
#define SD_MOST_S 0.12  /* an instant less sure than this is not found */
#define DEEP_SD_S 0.015 /* from behind a level shaft points along the view: what perspective does to it */

/* Smoothed hands, px and px/s. */
struct hands {
    double u, v, speed;
    bool seen;
};

struct reading {
    const struct finder_film *film;
    const struct finder_shaft *shafts;
    struct hands *hands;
    struct finder_instant *out;
    double sense; /* +1 where the club turns as a right-hander's in going back, seen from the front */
    double px_of_metre;
    int fall; /* the frame of the steepest fall */
    int high; /* hands highest before it */
    int low;  /* hands lowest after it */
};

static int frames_of(const struct finder_film *film, double seconds)
{
    const int n = (int)lround(seconds * film->rate_hz);
    return n < 1 ? 1 : n;
}

static int within(const struct finder_film *film, int frame)
{
    return frame < 0 ? 0 : frame >= film->frames ? film->frames - 1 : frame;
}

/* ---- the hands ---- */

static void smooth_hands(struct reading *r)
{
    const struct finder_film *film = r->film;
    const int reach = (int)floor(HANDS_SMOOTH_S * film->rate_hz);

    for (int f = 0; f < film->frames; f++) {
        struct swing_mark mark;
        double u = 0.0;
        double v = 0.0;
        int count = 0;
        /* Symmetric, so that a steady motion is not bent: less reach at the film's ends and beside gaps. */
        for (int k = 0; k <= reach; k++) {
            struct swing_mark other;
            if (f - k < 0 || f + k >= film->frames || !finder_hands(film->points[f - k], &mark) ||
                !finder_hands(film->points[f + k], &other)) {
                break;
            }
            u += mark.u + other.u;
            v += mark.v + other.v;
            count += 2;
        }
        r->hands[f] = (struct hands){count ? u / count : 0.0, count ? v / count : 0.0, 0.0, count > 0};
    }
    for (int f = 1; f + 1 < film->frames; f++) {
        const struct hands *a = &r->hands[f - 1];
        const struct hands *b = &r->hands[f + 1];
        if (a->seen && b->seen) {
            r->hands[f].speed = 0.5 * film->rate_hz * hypot(b->u - a->u, b->v - a->v);
        }
    }
}

static bool find_fall(struct reading *r)
{
    const struct finder_film *film = r->film;
    const int span = frames_of(film, FALL_S);
    double best = 0.0;

    for (int f = 0; f + span < film->frames; f++) {
        if (r->hands[f].seen && r->hands[f + span].seen) {
            const double fall = (r->hands[f + span].v - r->hands[f].v) / film->club_px[f];
            if (fall > best) {
                best = fall;
                r->fall = f + span / 2;
            }
        }
    }
    if (best < FALL_LEAST) {
        return false;
    }
    r->high = r->fall;
    r->low = r->fall;
    for (int f = within(film, r->fall - frames_of(film, DOWN_S)); f < r->fall; f++) {
        if (r->hands[f].seen && (r->hands[f].v < r->hands[r->high].v || !r->hands[r->high].seen)) {
            r->high = f;
        }
    }
    for (int f = within(film, r->fall + frames_of(film, DOWN_S)); f > r->fall; f--) {
        if (r->hands[f].seen && (r->hands[f].v >= r->hands[r->low].v || !r->hands[r->low].seen)) {
            r->low = f;
        }
    }
    r->px_of_metre = film->club_px[r->fall] / METRES_OF_CLUB;
    return true;
}

static void put(struct reading *r, enum checkpoint checkpoint, double frame, double sd_s)
{
    if (isfinite(frame) && frame >= 0.0 && frame <= r->film->frames - 1 && sd_s <= SD_MOST_S) {
        r->out[checkpoint] = (struct finder_instant){true, frame / r->film->rate_hz, sd_s};
    }
}

/* ---- the club's turning ---- */

/* The club between two known frames: a cubic with the turning at both ends. */
static double angle_between(const struct finder_shaft *a, const struct finder_shaft *b, double share, double dt)
{
    const double t = share;
    const double t2 = t * t;
    const double t3 = t2 * t;

    return (2.0 * t3 - 3.0 * t2 + 1.0) * a->angle_deg + (t3 - 2.0 * t2 + t) * dt * a->rate_deg_s +
           (3.0 * t2 - 2.0 * t3) * b->angle_deg + (t3 - t2) * dt * b->rate_deg_s;
}

/* Height of the clubhead over the hands, in club's lengths. */
static double above(double angle_deg)
{
    return -sin(angle_deg * FINDER_PI / 180.0);
}

/* Where the shaft is level between frame f and f + 1, rising or falling. */
static bool level_between(const struct reading *r, int f, bool rising, double *frame, double *sd_s)
{
    const struct finder_shaft *a = &r->shafts[f];
    const struct finder_shaft *b = &r->shafts[f + 1];
    const double dt = 1.0 / r->film->rate_hz;
    double low = 0.0;
    double high = 1.0;

    if (!a->known || !b->known || (above(a->angle_deg) < 0.0) != rising || (above(b->angle_deg) < 0.0) == rising) {
        return false;
    }
    for (int step = 0; step < 30; step++) {
        const double middle = 0.5 * (low + high);
        const bool before = (above(angle_between(a, b, middle, dt)) < 0.0) == rising;
        low = before ? middle : low;
        high = before ? high : middle;
    }
    const double rate = fabs(b->angle_deg - a->angle_deg) / dt;
    const double bend = fabs(b->rate_deg_s - a->rate_deg_s) * dt / 24.0; /* of the cubic, on the safe side */
    *frame = f + 0.5 * (low + high);
    *sd_s = hypot(fmax(a->sd_deg, b->sd_deg), bend) / fmax(rate, 1.0);
    return true;
}

static void find_level(struct reading *r, enum checkpoint checkpoint, double from, double to, bool rising, bool last)
{
    const bool deep = r->film->view == VIEW_DOWN_THE_LINE;
    double frame;
    double sd;

    for (int f = within(r->film, (int)floor(from)); f < (int)ceil(to) && f + 1 < r->film->frames; f++) {
        if (level_between(r, f, rising, &frame, &sd) && frame >= from && frame <= to) {
            put(r, checkpoint, frame, hypot(sd, deep ? DEEP_SD_S : 0.0));
            if (!last) {
                return;
            }
        }
    }
}

struct curve {
    double c0, c1, c2; /* about the middle frame */
    double sd_c1;
};

/* Parabola through the found shafts within `reach` frames of `middle`. */
static bool fit_curve(const struct reading *r, int middle, int reach, struct curve *out)
{
    double s[5] = {0};
    double y[3] = {0};
    double squares = 0.0;
    int count = 0;
    int before = 0;

    for (int f = middle - reach; f <= middle + reach; f++) {
        if (f < 0 || f >= r->film->frames || !r->shafts[f].found) {
            continue;
        }
        const double x = f - middle;
        const double angle = r->shafts[f].angle_deg - r->shafts[middle].angle_deg;
        double power = 1.0;
        for (int k = 0; k < 5; k++) {
            s[k] += power;
            if (k < 3) {
                y[k] += power * angle;
            }
            power *= x;
        }
        squares += r->shafts[f].sd_deg * r->shafts[f].sd_deg;
        count++;
        before += x < 0.0;
    }
    const double det =
        s[0] * (s[2] * s[4] - s[3] * s[3]) - s[1] * (s[1] * s[4] - s[2] * s[3]) + s[2] * (s[1] * s[3] - s[2] * s[2]);
    if (count < 4 || before < 1 || before > count - 2 || !(fabs(det) > 1e-9)) {
        return false;
    }
    out->c0 =
        (y[0] * (s[2] * s[4] - s[3] * s[3]) - y[1] * (s[1] * s[4] - s[2] * s[3]) + y[2] * (s[1] * s[3] - s[2] * s[2])) /
        det;
    out->c1 = (-y[0] * (s[1] * s[4] - s[2] * s[3]) + y[1] * (s[0] * s[4] - s[2] * s[2]) -
               y[2] * (s[0] * s[3] - s[1] * s[2])) /
              det;
    out->c2 =
        (y[0] * (s[1] * s[3] - s[2] * s[2]) - y[1] * (s[0] * s[3] - s[1] * s[2]) + y[2] * (s[0] * s[2] - s[1] * s[1])) /
        det;
    out->sd_c1 = sqrt(squares / count * (s[0] * s[4] - s[2] * s[2]) / det);
    return true;
}

/* The top: where the club turns about, near the hands' highest place; else the hands alone. */
static void find_top(struct reading *r)
{
    const struct finder_film *film = r->film;
    const int reach = frames_of(film, 0.25);
    const int from = within(film, r->high - reach);
    const int to = within(film, r->fall);
    int best = -1;
    struct curve curve;

    for (int f = from; f <= to && film->view == VIEW_FACE_ON; f++) {
        if (r->shafts[f].known && (best < 0 || r->sense * (r->shafts[f].angle_deg - r->shafts[best].angle_deg) > 0.0)) {
            best = f;
        }
    }
    const int window = frames_of(film, TOP_S) < 2 ? 2 : frames_of(film, TOP_S);
    if (best > from && best < to && fit_curve(r, best, window, &curve) && r->sense * curve.c2 < 0.0) {
        const double off = -curve.c1 / (2.0 * curve.c2);
        const double sd = curve.sd_c1 / fabs(2.0 * curve.c2) / film->rate_hz;
        if (fabs(off) <= window) {
            put(r, CHECKPOINT_TOP, best + off, hypot(sd, 0.004));
            return;
        }
    }
    put(r, CHECKPOINT_TOP, r->high, fmax(HANDS_TOP_SD_S, 0.5 / film->rate_hz));
}

/* ---- the arms ---- */

/* Height of a wrist over its shoulder, px; false where either is not seen. */
static bool arm_above(const struct reading *r, int frame, enum point wrist, enum point shoulder, double *out,
                      double *sd)
{
    const struct swing_mark *w = &r->film->points[frame][wrist];
    const struct swing_mark *s = &r->film->points[frame][shoulder];

    if (!w->seen || !s->seen) {
        return false;
    }
    *out = s->v - w->v;
    *sd = hypot(w->sd, s->sd);
    return true;
}

/* A line through the heights about a crossing: where it is level, in frames. */
static bool arm_line(const struct reading *r, int f, enum point wrist, enum point shoulder, double *frame, double *sd_s)
{
    const int reach = frames_of(r->film, ARM_S);
    double n = 0.0;
    double x = 0.0;
    double y = 0.0;
    double xx = 0.0;
    double xy = 0.0;
    double variance = 0.0;

    for (int k = f - reach; k <= f + 1 + reach; k++) {
        double height;
        double sd;
        if (k < 0 || k >= r->film->frames || !arm_above(r, k, wrist, shoulder, &height, &sd)) {
            continue;
        }
        n += 1.0;
        x += k - f;
        y += height;
        xx += (double)(k - f) * (k - f);
        xy += (k - f) * height;
        variance += sd * sd;
    }
    const double spread = xx - x * x / n;
    if (n < 3.0 || !(spread > 0.0)) {
        return false;
    }
    const double slope = (xy - x * y / n) / spread;
    const double off = (x - y / slope) / n;
    *frame = f + off;
    /* Half of a joint's error is slow and does not go away over the window. */
    *sd_s = sqrt(variance / n * (0.5 + 0.5 / n)) / fabs(slope) / r->film->rate_hz;
    return isfinite(off) && fabs(off) <= reach + 1.0;
}

static void find_arm(struct reading *r, enum checkpoint checkpoint, enum point wrist, enum point shoulder, double from,
                     double to, bool rising, bool last)
{
    for (int f = within(r->film, (int)ceil(from)); f < (int)floor(to) && f + 1 < r->film->frames; f++) {
        double here;
        double next;
        double sd;
        double frame;
        if (arm_above(r, f, wrist, shoulder, &here, &sd) && arm_above(r, f + 1, wrist, shoulder, &next, &sd) &&
            (here < 0.0) == rising && (next < 0.0) != rising && arm_line(r, f, wrist, shoulder, &frame, &sd)) {
            put(r, checkpoint, frame, sd);
            if (!last && r->out[checkpoint].found) {
                return;
            }
        }
    }
}

/* ---- stillness ---- */

static bool still(const struct reading *r, int frame)
{
    const struct finder_shaft *shaft = &r->shafts[frame];
    return r->hands[frame].seen && r->hands[frame].speed < STILL_MS * r->px_of_metre &&
           (!shaft->known || fabs(shaft->rate_deg_s) < STILL_RATE + 2.0 * shaft->sd_deg * 5.0);
}

/* How far the motion has come at a frame from where it rested: degrees of the club, or its like of the hands. */
static double moved(const struct reading *r, int frame, double rest_angle, double rest_u, double rest_v)
{
    const double metres = hypot(r->hands[frame].u - rest_u, r->hands[frame].v - rest_v) / r->px_of_metre;
    const double hands = metres * 90.0; /* the hands go about a metre in turning the club by a quarter and more */
    const double club = r->shafts[frame].known ? fabs(r->shafts[frame].angle_deg - rest_angle) : 0.0;
    return club > 0.0 ? club : hands;
}

/* The last still frame before the motion: back from the top to the first rest, then to where the motion began as far as
 * its first degrees tell, which grow as the square of time. */
static void find_address(struct reading *r, double before)
{
    const struct finder_film *film = r->film;
    const int hold = frames_of(film, STILL_S);
    int run = 0;
    int rest = -1;

    for (int f = within(film, (int)before); f > 0 && before - f < BACK_S * film->rate_hz; f--) {
        run = still(r, f) ? run + 1 : 0;
        if (run >= hold) {
            rest = f + run / 2;
            break;
        }
    }
    if (rest < 0) {
        return;
    }
    double at[2] = {-1.0, -1.0};
    for (int f = rest; f < (int)before; f++) {
        const double far = moved(r, f, r->shafts[rest].angle_deg, r->hands[rest].u, r->hands[rest].v);
        at[0] = at[0] < 0.0 && far >= 4.0 ? f : at[0];
        if (far >= 16.0) {
            at[1] = f;
            break;
        }
    }
    if (at[0] < 0.0 || at[1] < 0.0) {
        return;
    }
    put(r, CHECKPOINT_ADDRESS, fmax(2.0 * at[0] - at[1], rest - hold), 0.03);
}

/* The hands' first hold after the swing; the film may end in it. */
static void find_finish(struct reading *r, double after)
{
    const struct finder_film *film = r->film;
    const int hold = frames_of(film, HOLD_S);
    int run = 0;

    for (int f = within(film, (int)after + frames_of(film, 0.2)); f + 1 < film->frames; f++) {
        const bool rests = r->hands[f].seen && r->hands[f].speed < STILL_MS * r->px_of_metre;
        run = rests ? run + 1 : 0;
        if (run >= hold || (run > 0 && f + 2 == film->frames && 2 * run >= hold)) {
            put(r, CHECKPOINT_FINISH, f - run + 1, 0.06);
            return;
        }
    }
}

/* ---- impact ---- */

/* Middle of the clubhead's places while it rests at address. */
static bool head_at_rest(const struct reading *r, double address, double *u, double *v)
{
    const int from = within(r->film, (int)address - frames_of(r->film, 0.3));
    int count = 0;

    *u = *v = 0.0;
    for (int f = from; f <= (int)address && f < r->film->frames; f++) {
        if (r->shafts[f].head && r->hands[f].seen) {
            *u += r->shafts[f].u;
            *v += r->shafts[f].v;
            count++;
        }
    }
    if (count > 0) {
        *u /= count;
        *v /= count;
    }
    return count > 0;
}

/* How far the clubhead is past its place at address, along the way it then goes, px. */
static double past(const struct reading *r, int f, double share, double rest_u, double length)
{
    const double angle =
        angle_between(&r->shafts[f], &r->shafts[f + 1], share, 1.0 / r->film->rate_hz) * FINDER_PI / 180.0;
    const double hand = (1.0 - share) * r->hands[f].u + share * r->hands[f + 1].u;
    return r->sense * (hand + length * cos(angle) - rest_u);
}

/* From the front: the clubhead crosses the upright through its place at address. */
static bool impact_by_club(struct reading *r, double from, double to, double rest_u, double length)
{
    for (int f = (int)ceil(from); f < (int)to && f + 1 < r->film->frames; f++) {
        const struct finder_shaft *a = &r->shafts[f];
        const struct finder_shaft *b = &r->shafts[f + 1];
        if (!a->known || !b->known || above(a->angle_deg) > 0.0 || above(b->angle_deg) > 0.0) {
            continue;
        }
        const double here = past(r, f, 0.0, rest_u, length);
        const double next = past(r, f, 1.0, rest_u, length);
        if (here <= 0.0 && next > 0.0) {
            double low = 0.0;
            double high = 1.0;
            for (int step = 0; step < 30; step++) {
                const double middle = 0.5 * (low + high);
                const bool before = past(r, f, middle, rest_u, length) <= 0.0;
                low = before ? middle : low;
                high = before ? high : middle;
            }
            const double sd_px = hypot(0.05 * length, fmax(a->sd_deg, b->sd_deg) * FINDER_PI / 180.0 * length);
            put(r, CHECKPOINT_IMPACT, f + low, sd_px / (next - here) / r->film->rate_hz);
            return true;
        }
    }
    return false;
}

static void find_impact(struct reading *r, double top)
{
    const struct finder_film *film = r->film;
    double u;
    double v;
    const double address = r->out[CHECKPOINT_ADDRESS].found ? r->out[CHECKPOINT_ADDRESS].time_s * film->rate_hz : -1.0;

    if (film->view == VIEW_FACE_ON && address >= 0.0 && head_at_rest(r, address, &u, &v)) {
        const int a = within(film, (int)address);
        const double length = hypot(u - r->hands[a].u, v - r->hands[a].v);
        if (impact_by_club(r, fmax(top, r->fall - 1.0), r->low + 0.12 * film->rate_hz, u, length)) {
            return;
        }
    }
    put(r, CHECKPOINT_IMPACT, r->low, fmax(0.03, 0.5 / film->rate_hz));
}

/* An instant that would stand before one of an earlier part of the swing is not believed. Shaft and arm level may come
 * in either order within a part. */
static void keep_order(struct finder_instant *out)
{
    static const int part[CHECKPOINT_COUNT] = {0, 1, 1, 2, 3, 3, 4, 5, 5, 6};

    for (int i = 0; i < CHECKPOINT_COUNT; i++) {
        for (int k = 0; k < i; k++) {
            const bool before = part[k] < part[i] && out[k].found && out[i].time_s < out[k].time_s;
            out[i].found = out[i].found && !before;
        }
    }
}

int finder_instants(const struct finder_film *film, const struct finder_shaft *shafts, void *memory,
                    struct finder_instant out[CHECKPOINT_COUNT])
{
    struct reading r = {.film = film, .shafts = shafts, .hands = memory, .out = out};
    int found = 0;

    if (!finder_film_is_good(film) || shafts == NULL || memory == NULL || out == NULL) {
        return -1;
    }
    memset(out, 0, CHECKPOINT_COUNT * sizeof *out);
    r.sense = film->hand == HAND_LEFT ? -1.0 : 1.0;
    smooth_hands(&r);
    if (!find_fall(&r)) {
        return 0;
    }
    find_top(&r);
    const double top = out[CHECKPOINT_TOP].found ? out[CHECKPOINT_TOP].time_s * film->rate_hz : r.high;
    find_address(&r, top);
    find_impact(&r, top);
    const double begin = out[CHECKPOINT_ADDRESS].found ? out[CHECKPOINT_ADDRESS].time_s * film->rate_hz
                                                       : fmax(0.0, top - BACK_S * film->rate_hz);
    const double meet = out[CHECKPOINT_IMPACT].found ? out[CHECKPOINT_IMPACT].time_s * film->rate_hz : r.low;
    find_finish(&r, meet);
    const double end = out[CHECKPOINT_FINISH].found ? out[CHECKPOINT_FINISH].time_s * film->rate_hz
                                                    : fmin(film->frames - 1.0, meet + THROUGH_S * film->rate_hz);
    const bool resting = out[CHECKPOINT_ADDRESS].found;
    find_level(&r, CHECKPOINT_SHAFT_BACK, begin, top, true, !resting);
    find_level(&r, CHECKPOINT_SHAFT_DOWN, top, meet, false, true);
    find_level(&r, CHECKPOINT_SHAFT_THROUGH, meet, end, true, false);
    find_arm(&r, CHECKPOINT_ARM_BACK, POINT_LEAD_WRIST, POINT_LEAD_SHOULDER, begin, top, true, !resting);
    find_arm(&r, CHECKPOINT_ARM_DOWN, POINT_LEAD_WRIST, POINT_LEAD_SHOULDER, top, meet, false, true);
    find_arm(&r, CHECKPOINT_ARM_THROUGH, POINT_TRAIL_WRIST, POINT_TRAIL_SHOULDER, meet, end, true, false);
    keep_order(out);
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        found += out[c].found;
    }
    return found;
}
