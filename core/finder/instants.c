/* The checkpoints' times, read from the club's turning and the body's points. */
#include <math.h>
#include <string.h>

#include "core/finder/curves.h"
#include "core/finder/parts.h"

#define METRES_OF_CLUB 0.95  /* hands to clubhead, middling: pixels to metres where only that is needed */
#define HANDS_SMOOTH_S 0.035 /* each way */
#define FALL_S 0.15          /* the downswing is where the hands fall most in so long */
#define FALL_LEAST 0.25      /* of the club: less is no downswing */
#define DOWN_S 0.45          /* the top is not longer before the steepest fall, impact not longer after it */
#define BACK_S 2.5           /* a backswing takes no longer */
#define THROUGH_S 1.2        /* nor the way from impact to the trail arm level */
#define ARM_S 0.08           /* each way, of the curve through an arm's height */
#define TOP_S 0.15           /* each way, of the curve through the club's turning */
#define HANDS_TOP_S 0.25     /* and through the hands' height */
#define HANDS_TOP_SD_S 0.012 /* a top that only the hands tell */
#define DEEP_TOP_S 0.006     /* from behind the club seems to turn about so much before it does */
#define LOW_S 0.08           /* each way, of the curve through the hands' lowest place */
#define LOW_TO_IMPACT_S 0.010
#define LOW_SD_S 0.009
#define REACH_S 0.04 /* each way, of the curve through the clubhead's reach to the ball's side */
#define REACH_TO_IMPACT_S 0.0127
#define REACH_SD_S 0.004
#define MOVED_DEG 1.5      /* of the club: it has left its rest */
#define REST_DEG 2.0       /* of the club at rest, at most */
#define REST_S 0.4         /* looked at to know where the clubhead rests */
#define ADDRESS_HOLD_S 0.2 /* a rest before the swing is no shorter */
#define FINISH_HOLD_S 0.3  /* nor one after it */
#define REST_SD_S 0.012
#define DEEP_REST_SD_S 0.09 /* from behind the club seems to rest where it only turns along the view */
#define HANDS_REST 0.09     /* of the club: what the hands seem to move while they rest, at most */
#define LEVEL_S 0.2         /* coming down and going through the club is level no longer before and after impact */
#define SD_MOST_S 0.12      /* an instant less sure than this is not found */
#define DEEP_SD_S 0.015     /* from behind a level shaft points along the view: what perspective does to it */

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
        /* From behind, a bridge between frames says nothing of a shaft that points at the camera. */
        const bool seen = !deep || (r->shafts[f].found && r->shafts[f + 1].found);
        if (seen && level_between(r, f, rising, &frame, &sd) && frame >= from && frame <= to) {
            put(r, checkpoint, frame, hypot(sd, deep ? DEEP_SD_S : 0.0));
            if (!last) {
                return;
            }
        }
    }
}

/* Calls a frame's number the time from another. */
static double since(const struct reading *r, double frame, double middle)
{
    return (frame - middle) / r->film->rate_hz;
}

/* The club's angle in the frames where it is found, within `reach` of `middle`. */
static void angles_near(const struct reading *r, double middle, double reach_s, struct curve *out)
{
    const int first = within(r->film, (int)ceil(middle - reach_s * r->film->rate_hz));

    out->count = 0;
    for (int f = first; f < r->film->frames && since(r, f, middle) <= reach_s; f++) {
        if (r->shafts[f].found) {
            finder_curve_add(out, since(r, f, middle), r->shafts[f].angle_deg);
        }
    }
}

/* The hands' height as given, not smoothed: a curve is laid through it. */
static void heights_near(const struct reading *r, double middle, double reach_s, struct curve *out)
{
    const int first = within(r->film, (int)ceil(middle - reach_s * r->film->rate_hz));
    struct swing_mark hands;

    out->count = 0;
    for (int f = first; f < r->film->frames && since(r, f, middle) <= reach_s; f++) {
        if (finder_hands(r->film->points[f], &hands)) {
            finder_curve_add(out, since(r, f, middle), hands.v);
        }
    }
}

/* Twice: the second time about the first answer. */
static bool turn_near(const struct reading *r, bool club, double reach_s, double *frame, double *sd_s)
{
    struct curve curve;
    double off;

    for (int round = 0; round < 2; round++) {
        if (club) {
            angles_near(r, *frame, reach_s, &curve);
        } else {
            heights_near(r, *frame, reach_s, &curve);
        }
        if (!finder_curve_instant(&curve, CURVE_TURNS, -0.08, 0.08, &off, sd_s)) {
            return false;
        }
        *frame += off * r->film->rate_hz;
    }
    return true;
}

/* The top: where the club turns about; from behind it may only seem to, so there the hands' highest place leads. */
static void find_top(struct reading *r)
{
    const struct finder_film *film = r->film;
    const int to = within(film, r->fall);
    const double frame_s = 1.0 / film->rate_hz;
    double hands = r->high;
    double club = -1.0;
    double hands_sd;
    double club_sd = 0.0;

    if (film->view == VIEW_FACE_ON) {
        for (int f = within(film, r->high - frames_of(film, 0.25)); f <= to; f++) {
            if (r->shafts[f].known &&
                (club < 0.0 || r->sense * (r->shafts[f].angle_deg - r->shafts[(int)club].angle_deg) > 0.0)) {
                club = f;
            }
        }
        if (club >= 0.0 && turn_near(r, true, TOP_S, &club, &club_sd) && club_sd < 0.02) {
            put(r, CHECKPOINT_TOP, club, hypot(club_sd, 0.003));
            return;
        }
    }
    if (!turn_near(r, false, HANDS_TOP_S, &hands, &hands_sd) || fabs(hands - r->high) > 0.12 * film->rate_hz) {
        hands = r->high;
    }
    hands_sd = hypot(HANDS_TOP_SD_S, 0.1 * frame_s);
    club = hands;
    if (turn_near(r, true, TOP_S, &club, &club_sd) && club_sd < 0.008) {
        club += DEEP_TOP_S * film->rate_hz;
        club_sd = hypot(club_sd, 0.006);
        if (fabs(club - hands) * frame_s < 2.5 * hypot(club_sd, hands_sd)) {
            const double share = hands_sd * hands_sd / (hands_sd * hands_sd + club_sd * club_sd);
            put(r, CHECKPOINT_TOP, hands + share * (club - hands), club_sd * sqrt(share));
            return;
        }
    }
    put(r, CHECKPOINT_TOP, hands, hands_sd);
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

/* A curve through the heights about a crossing: where it is level, in frames. */
static bool arm_curve(const struct reading *r, int f, enum point wrist, enum point shoulder, double *frame,
                      double *sd_s)
{
    struct curve curve = {.count = 0};
    const int reach = frames_of(r->film, ARM_S) < 2 ? 2 : frames_of(r->film, ARM_S);
    double c[CURVE_TERMS] = {0};
    double variance = 0.0;
    double at = 0.5 / r->film->rate_hz;

    for (int k = f - reach; k <= f + 1 + reach; k++) {
        double height;
        double sd;
        if (k >= 0 && k < r->film->frames && arm_above(r, k, wrist, shoulder, &height, &sd)) {
            finder_curve_add(&curve, since(r, k, f), height);
            variance += sd * sd;
        }
    }
    if (curve.count < 5 || !finder_curve_fit(&curve, 3, c)) {
        return false;
    }
    for (int step = 0; step < 8; step++) {
        at -= (c[0] + at * (c[1] + at * (c[2] + at * c[3]))) / (c[1] + at * (2.0 * c[2] + at * 3.0 * c[3]));
    }
    const double slope = c[1] + at * (2.0 * c[2] + at * 3.0 * c[3]);
    *frame = f + at * r->film->rate_hz;
    /* Half of a joint's error is slow and does not go away over the window. */
    *sd_s = sqrt(variance / curve.count * (0.5 + 1.1 / curve.count)) / fabs(slope);
    return isfinite(at) && fabs(at) <= ARM_S;
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
            (here < 0.0) == rising && (next < 0.0) != rising && arm_curve(r, f, wrist, shoulder, &frame, &sd)) {
            put(r, checkpoint, frame, sd);
            if (!last && r->out[checkpoint].found) {
                return;
            }
        }
    }
}

/* ---- rest ---- */

/* Whether the hands stay where they are from frame to frame, as far as the joints' errors let it be seen. */
static bool hands_rest(const struct reading *r, int from, int to)
{
    const struct hands *a = &r->hands[within(r->film, from)];
    const struct hands *b = &r->hands[within(r->film, to)];
    return a->seen && b->seen && hypot(b->u - a->u, b->v - a->v) < HANDS_REST * r->film->club_px[within(r->film, from)];
}

/* The middle of the club's angles found in [from, to]. False where few are, or where it does not rest. */
static bool rest_angle(const struct reading *r, int from, int to, double *out)
{
    struct curve curve = {.count = 0};
    struct curve off = {.count = 0};

    for (int f = within(r->film, from); f <= within(r->film, to); f++) {
        if (r->shafts[f].found) {
            finder_curve_add(&curve, 0.0, r->shafts[f].angle_deg);
        }
    }
    *out = finder_curve_median(&curve);
    for (int n = 0; n < curve.count; n++) {
        finder_curve_add(&off, 0.0, fabs(curve.y[n] - *out));
    }
    return curve.count >= 4 && finder_curve_median(&off) <= 0.5 * REST_DEG && hands_rest(r, from, to);
}

/* The first of three frames found in a row, from `from` on and before `before`, whose angle is off its rest. */
static int leaves(const struct reading *r, int from, int before, double rest)
{
    int row = 0;
    int first = -1;

    for (int f = from; f < before; f++) {
        if (!r->shafts[f].found) {
            continue;
        }
        row = fabs(r->shafts[f].angle_deg - rest) > MOVED_DEG ? row + 1 : 0;
        first = row == 1 ? f : first;
        if (row == 3) {
            return first;
        }
    }
    return -1;
}

/* Where the club leaves its rest: a rest is looked for back from the top, and after it the instant from which the
 * club's turning grows as the square of time. */
static void find_address(struct reading *r, double before)
{
    const struct finder_film *film = r->film;
    const int hold = frames_of(film, ADDRESS_HOLD_S) < 4 ? 4 : frames_of(film, ADDRESS_HOLD_S);
    const bool deep = film->view == VIEW_DOWN_THE_LINE;
    struct curve curve;
    double rest;
    double off;
    double sd;

    for (int f = (int)before - hold; f >= 0 && before - f < BACK_S * film->rate_hz; f--) {
        if (!rest_angle(r, f, f + hold, &rest)) {
            continue;
        }
        if (!rest_angle(r, f - 2 * hold, f, &off)) {
            off = rest;
        }
        const int left = leaves(r, f, (int)before, off);
        if (left < 0) {
            return;
        }
        angles_near(r, left, 0.35, &curve);
        while (curve.count > 0 && curve.x[curve.count - 1] > 0.09) {
            curve.count--;
        }
        if (finder_curve_instant(&curve, CURVE_BEGINS, -0.3, 0.03, &off, &sd)) {
            put(r, CHECKPOINT_ADDRESS, left + off * film->rate_hz, hypot(sd, deep ? DEEP_REST_SD_S : REST_SD_S));
        }
        return;
    }
}

/* Where the club comes to rest after the swing; the film may end in that rest. */
static void find_finish(struct reading *r, double after)
{
    const struct finder_film *film = r->film;
    const int hold = frames_of(film, FINISH_HOLD_S) < 4 ? 4 : frames_of(film, FINISH_HOLD_S);
    const int least = hold / 2 < 4 ? 4 : hold / 2;
    const bool deep = film->view == VIEW_DOWN_THE_LINE;
    struct curve all;
    struct curve curve = {.count = 0};
    double rest;
    double off;
    double sd;

    for (int f = (int)after + frames_of(film, 0.2); f + least < film->frames; f++) {
        if (!rest_angle(r, f, f + hold, &rest)) {
            continue;
        }
        int come = f;
        while (come > (int)after && !(r->shafts[come].found && fabs(r->shafts[come].angle_deg - rest) > MOVED_DEG)) {
            come--;
        }
        angles_near(r, come, 0.45, &all);
        for (int n = 0; n < all.count; n++) {
            if (all.x[n] >= -0.09) {
                finder_curve_add(&curve, all.x[n], all.y[n]);
            }
        }
        if (finder_curve_instant(&curve, CURVE_ENDS, -0.03, 0.42, &off, &sd)) {
            put(r, CHECKPOINT_FINISH, come + off * film->rate_hz, hypot(sd, deep ? DEEP_REST_SD_S : REST_SD_S));
        } else {
            put(r, CHECKPOINT_FINISH, f, DEEP_REST_SD_S);
        }
        return;
    }
}

/* ---- impact ---- */

/* Where the clubhead is to the side, in a frame or between two, px. */
static double head_u(const struct reading *r, int f, double share)
{
    const double angle =
        angle_between(&r->shafts[f], &r->shafts[f + 1], share, 1.0 / r->film->rate_hz) * FINDER_PI / 180.0;
    return (1.0 - share) * r->hands[f].u + share * r->hands[f + 1].u + r->film->club_px[f] * cos(angle);
}

/* The middle of the clubhead's places to the side while it rests before the swing. */
static bool head_at_rest(const struct reading *r, double address, double *out)
{
    struct curve curve = {.count = 0};

    for (int f = within(r->film, (int)(address - REST_S * r->film->rate_hz)); f < (int)address && f + 1 < r->film->frames; f++) {
        if (r->shafts[f].found && r->shafts[f + 1].found && r->hands[f].seen) {
            finder_curve_add(&curve, 0.0, head_u(r, f, 0.0));
        }
    }
    *out = finder_curve_median(&curve);
    return curve.count >= 3;
}

/* From the front: the clubhead crosses the upright through its place at address. */
static bool impact_by_club(struct reading *r, double from, double to, double rest_u)
{
    for (int f = (int)ceil(from); f < (int)to && f + 1 < r->film->frames; f++) {
        const struct finder_shaft *a = &r->shafts[f];
        const struct finder_shaft *b = &r->shafts[f + 1];
        if (!a->known || !b->known || above(a->angle_deg) > 0.0 || above(b->angle_deg) > 0.0) {
            continue;
        }
        const double here = r->sense * (head_u(r, f, 0.0) - rest_u);
        const double next = r->sense * (head_u(r, f, 1.0) - rest_u);
        if (here <= 0.0 && next > 0.0) {
            double low = 0.0;
            double high = 1.0;
            for (int step = 0; step < 30; step++) {
                const double middle = 0.5 * (low + high);
                const bool before = r->sense * (head_u(r, f, middle) - rest_u) <= 0.0;
                low = before ? middle : low;
                high = before ? high : middle;
            }
            const double length = r->film->club_px[f];
            const double sd_px = hypot(0.04 * length, fmax(a->sd_deg, b->sd_deg) * FINDER_PI / 180.0 * length);
            put(r, CHECKPOINT_IMPACT, f + low, hypot(sd_px / (next - here), 0.25) / r->film->rate_hz);
            return true;
        }
    }
    return false;
}

/* From behind: the clubhead's reach to the ball's side is largest a little before impact, in perspective. */
static bool impact_by_reach(struct reading *r, double middle)
{
    struct curve curve = {.count = 0};
    double c[CURVE_TERMS];
    const double reach = REACH_S * r->film->rate_hz;

    for (int f = within(r->film, (int)ceil(middle - reach)); f < r->film->frames && f <= middle + reach; f++) {
        if (r->shafts[f].found && r->shafts[f].head) {
            finder_curve_add(&curve, since(r, f, middle), r->sense * r->shafts[f].u);
        }
    }
    if (curve.count < 4 || !finder_curve_fit(&curve, 2, c) || !(c[2] < 0.0) || !(fabs(c[1]) < 2.0 * REACH_S * -c[2])) {
        return false;
    }
    const double at = -c[1] / (2.0 * c[2]) + REACH_TO_IMPACT_S;
    put(r, CHECKPOINT_IMPACT, middle + at * r->film->rate_hz, REACH_SD_S);
    return true;
}

static void find_impact(struct reading *r, double top)
{
    const struct finder_film *film = r->film;
    const double address =
        r->out[CHECKPOINT_ADDRESS].found ? r->out[CHECKPOINT_ADDRESS].time_s * film->rate_hz : frames_of(film, REST_S);
    struct curve curve;
    double c[CURVE_TERMS];
    double low = r->low;
    double rest;

    if (film->view == VIEW_FACE_ON && head_at_rest(r, address, &rest) &&
        impact_by_club(r, fmax(top, r->fall - 1.0), r->low + 0.12 * film->rate_hz, rest)) {
        return;
    }
    heights_near(r, r->low, LOW_S, &curve);
    if (finder_curve_fit(&curve, 2, c) && c[2] < 0.0 && fabs(c[1]) < -2.0 * LOW_S * c[2]) {
        low += -c[1] / (2.0 * c[2]) * film->rate_hz;
    }
    low += LOW_TO_IMPACT_S * film->rate_hz;
    if (film->view != VIEW_DOWN_THE_LINE || !impact_by_reach(r, low)) {
        put(r, CHECKPOINT_IMPACT, low, hypot(LOW_SD_S, 0.2 / film->rate_hz));
    }
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

int finder_instants(const struct finder_film *film, const struct finder_shaft *shafts, void *work,
                    struct finder_instant out[CHECKPOINT_COUNT])
{
    struct reading r = {.film = film, .shafts = shafts, .hands = work, .out = out};
    int found = 0;

    if (!finder_film_is_good(film) || shafts == NULL || work == NULL || out == NULL) {
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
    find_level(&r, CHECKPOINT_SHAFT_DOWN, fmax(top, meet - LEVEL_S * film->rate_hz), meet, false, true);
    find_level(&r, CHECKPOINT_SHAFT_THROUGH, meet, fmin(end, meet + LEVEL_S * film->rate_hz), true, false);
    find_arm(&r, CHECKPOINT_ARM_BACK, POINT_LEAD_WRIST, POINT_LEAD_SHOULDER, begin, top, true, !resting);
    find_arm(&r, CHECKPOINT_ARM_DOWN, POINT_LEAD_WRIST, POINT_LEAD_SHOULDER, top, meet, false, true);
    find_arm(&r, CHECKPOINT_ARM_THROUGH, POINT_TRAIL_WRIST, POINT_TRAIL_SHOULDER, meet, end, true, false);
    keep_order(out);
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        found += out[c].found;
    }
    return found;
}
