/* The checkpoints' times, read from the club's turning and the body's points. */
#include <math.h>
#include <string.h>

#include "core/finder/curves.h"
#include "core/finder/parts.h"
#include "core/finder/reading.h"

#define BACK_S 2.5           /* a backswing takes no longer */
#define THROUGH_S 1.2        /* nor the way from impact to the trail arm level */
#define TOP_S 0.15           /* each way, of the curve through the club's turning */
#define HANDS_TOP_S 0.25     /* and through the hands' height */
#define HANDS_TOP_SD_S 0.012 /* a top that only the hands tell */
#define DEEP_TOP_S 0.006     /* from behind the club seems to turn about so much before it does */
#define LOW_S 0.08           /* each way, of the curve through the hands' lowest place */
#define LOW_TO_IMPACT_S 0.010
#define LOW_SD_S 0.009
#define REACH_S 0.04 /* each way, of the curve through the clubhead's reach to the ball's side */
#define REACH_TO_IMPACT_S 0.0127
#define REACH_SD_S 0.005
#define RETURN_S 0.035 /* each way, of the hands' lowest place: the clubhead passes its place at address */
#define RETURN_GAP_S 0.0125
#define RETURN_LOW 0.013 /* of the club, so much lower than at rest */
#define RETURN_SD_S 0.0025
#define REST_S 0.4       /* looked at to know where the clubhead rests */
#define LEVEL_S 0.2      /* coming down and going through the club is level no longer before and after impact */
#define DEEP_BACK_S 0.17 /* each way, of the curve through the heights of a shaft seen from behind */
#define DEEP_DOWN_S 0.07
#define DEEP_BACK_SD_S 0.008 /* and what its level is off at least */
#define DEEP_DOWN_SD_S 0.003

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
static bool level_between(const struct finder_reading *r, int f, bool rising, double *frame, double *sd_s)
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

static void find_level(struct finder_reading *r, enum checkpoint checkpoint, double from, double to, bool rising,
                       bool last)
{
    double frame;
    double sd;

    for (int f = finder_within(r->film, (int)floor(from)); f < (int)ceil(to) && f + 1 < r->film->frames; f++) {
        if (level_between(r, f, rising, &frame, &sd) && frame >= from && frame <= to) {
            finder_put(r, checkpoint, frame, sd);
            if (!last) {
                return;
            }
        }
    }
}

/* The hands' height as given, not smoothed: a curve is laid through it. */
static void heights_near(const struct finder_reading *r, double middle, double reach_s, struct curve *out)
{
    const int first = finder_within(r->film, (int)ceil(middle - reach_s * r->film->rate_hz));
    struct swing_mark hands;

    out->count = 0;
    for (int f = first; f < r->film->frames && finder_since(r, f, middle) <= reach_s; f++) {
        if (finder_hands(r->film->points[f], &hands)) {
            finder_curve_add(out, finder_since(r, f, middle), hands.v);
        }
    }
}

/* Twice: the second time about the first answer. */
static bool turn_near(const struct finder_reading *r, bool club, double reach_s, double *frame, double *sd_s)
{
    struct curve curve;
    double off;

    for (int round = 0; round < 2; round++) {
        if (club) {
            finder_angles_near(r, *frame, reach_s, &curve);
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
static void find_top(struct finder_reading *r)
{
    const struct finder_film *film = r->film;
    const int to = finder_within(film, r->fall);
    const double frame_s = 1.0 / film->rate_hz;
    double hands = r->high;
    double club = -1.0;
    double hands_sd;
    double club_sd = 0.0;

    if (film->view == VIEW_FACE_ON) {
        for (int f = finder_within(film, r->high - finder_frames_of(film, 0.25)); f <= to; f++) {
            if (r->shafts[f].known &&
                (club < 0.0 || r->sense * (r->shafts[f].angle_deg - r->shafts[(int)club].angle_deg) > 0.0)) {
                club = f;
            }
        }
        if (club >= 0.0 && turn_near(r, true, TOP_S, &club, &club_sd) && club_sd < 0.02) {
            finder_put(r, CHECKPOINT_TOP, club, hypot(club_sd, 0.004));
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
            finder_put(r, CHECKPOINT_TOP, hands + share * (club - hands), club_sd * sqrt(share));
            return;
        }
    }
    finder_put(r, CHECKPOINT_TOP, hands, hands_sd);
}

/* ---- impact ---- */

/* Where the clubhead is to the side, in a frame or between two, px. */
static double head_u(const struct finder_reading *r, int f, double share)
{
    const double angle =
        angle_between(&r->shafts[f], &r->shafts[f + 1], share, 1.0 / r->film->rate_hz) * FINDER_PI / 180.0;
    return (1.0 - share) * r->hands[f].u + share * r->hands[f + 1].u + r->film->club_px[f] * cos(angle);
}

/* The middle of the clubhead's places to the side while it rests before the swing. */
static bool head_at_rest(const struct finder_reading *r, double address, double *out)
{
    struct curve curve = {.count = 0};

    for (int f = finder_within(r->film, (int)(address - REST_S * r->film->rate_hz));
         f < (int)address && f + 1 < r->film->frames; f++) {
        if (r->shafts[f].found && r->shafts[f + 1].found && r->hands[f].seen) {
            finder_curve_add(&curve, 0.0, head_u(r, f, 0.0));
        }
    }
    *out = finder_curve_median(&curve);
    return curve.count >= 3;
}

/* From the front: the clubhead crosses the upright through its place at address. */
static bool impact_by_club(struct finder_reading *r, double from, double to, double rest_u)
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
            finder_put(r, CHECKPOINT_IMPACT, f + low, hypot(sd_px / (next - here), 0.3) / r->film->rate_hz);
            return true;
        }
    }
    return false;
}

/* From behind: the clubhead goes away along the view and so rises in the picture past its place at address. */
static bool impact_by_return(struct finder_reading *r, double address, double middle)
{
    const double reach = RETURN_S * r->film->rate_hz;
    struct curve rest = {.count = 0};
    double before = 0.0;
    bool passed = false;
    int last = -1;

    for (int f = finder_within(r->film, (int)(address - REST_S * r->film->rate_hz));
         f < r->film->frames && f < (int)address; f++) {
        if (r->shafts[f].found && r->shafts[f].head) {
            finder_curve_add(&rest, 0.0, r->shafts[f].v);
        }
    }
    for (int f = finder_within(r->film, (int)ceil(middle - reach)); f < r->film->frames && f <= middle + reach; f++) {
        if (rest.count < 4 || !r->shafts[f].found || !r->shafts[f].head) {
            continue;
        }
        const double low = r->shafts[f].v - finder_curve_median(&rest) - RETURN_LOW * r->film->club_px[f];
        if (last >= 0 && before > 0.0 && low <= 0.0 && f - last <= fmax(1.0, RETURN_GAP_S * r->film->rate_hz)) {
            finder_put(r, CHECKPOINT_IMPACT, last + (f - last) * before / (before - low), RETURN_SD_S);
            passed = true; /* the last time counts */
        }
        before = low;
        last = f;
    }
    return passed;
}

/* From behind: the clubhead's reach to the ball's side is largest a little before impact, in perspective. */
static bool impact_by_reach(struct finder_reading *r, double middle)
{
    struct curve curve = {.count = 0};
    double c[CURVE_TERMS];
    const double reach = REACH_S * r->film->rate_hz;

    for (int f = finder_within(r->film, (int)ceil(middle - reach)); f < r->film->frames && f <= middle + reach; f++) {
        if (r->shafts[f].found && r->shafts[f].head) {
            finder_curve_add(&curve, finder_since(r, f, middle), r->sense * r->shafts[f].u);
        }
    }
    if (curve.count < 4 || !finder_curve_fit(&curve, 2, c) || !(c[2] < 0.0) || !(fabs(c[1]) < 2.0 * REACH_S * -c[2])) {
        return false;
    }
    const double at = -c[1] / (2.0 * c[2]) + REACH_TO_IMPACT_S;
    finder_put(r, CHECKPOINT_IMPACT, middle + at * r->film->rate_hz, REACH_SD_S);
    return true;
}

static void find_impact(struct finder_reading *r, double top)
{
    const struct finder_film *film = r->film;
    const double address = r->out[CHECKPOINT_ADDRESS].found ? r->out[CHECKPOINT_ADDRESS].time_s * film->rate_hz
                                                            : finder_frames_of(film, REST_S);
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
    if (film->view != VIEW_DOWN_THE_LINE || !(impact_by_return(r, address, low) || impact_by_reach(r, low))) {
        finder_put(r, CHECKPOINT_IMPACT, low, hypot(LOW_SD_S, 0.2 / film->rate_hz));
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

int finder_instants(const struct finder_film *film, const struct finder_shaft *shafts, void *memory,
                    struct finder_instant out[CHECKPOINT_COUNT])
{
    struct finder_reading r = {.film = film, .shafts = shafts, .hands = memory, .out = out};
    int found = 0;

    if (!finder_film_is_good(film) || shafts == NULL || memory == NULL || out == NULL) {
        return -1;
    }
    memset(out, 0, CHECKPOINT_COUNT * sizeof *out);
    r.sense = film->hand == HAND_LEFT ? -1.0 : 1.0;
    if (!finder_read_hands(&r)) {
        return 0;
    }
    find_top(&r);
    const double top = out[CHECKPOINT_TOP].found ? out[CHECKPOINT_TOP].time_s * film->rate_hz : r.high;
    finder_address(&r, top);
    find_impact(&r, top);
    const double begin = out[CHECKPOINT_ADDRESS].found ? out[CHECKPOINT_ADDRESS].time_s * film->rate_hz
                                                       : fmax(0.0, top - BACK_S * film->rate_hz);
    const double meet = out[CHECKPOINT_IMPACT].found ? out[CHECKPOINT_IMPACT].time_s * film->rate_hz : r.low;
    finder_finish(&r, meet);
    const double end = out[CHECKPOINT_FINISH].found ? out[CHECKPOINT_FINISH].time_s * film->rate_hz
                                                    : fmin(film->frames - 1.0, meet + THROUGH_S * film->rate_hz);
    const bool resting = out[CHECKPOINT_ADDRESS].found;
    if (film->view == VIEW_FACE_ON) {
        find_level(&r, CHECKPOINT_SHAFT_BACK, begin, top, true, !resting);
        find_level(&r, CHECKPOINT_SHAFT_DOWN, fmax(top, meet - LEVEL_S * film->rate_hz), meet, false, true);
        find_level(&r, CHECKPOINT_SHAFT_THROUGH, meet, fmin(end, meet + LEVEL_S * film->rate_hz), true, false);
    } else { /* going through the body hides it */
        finder_deep_level(&r, CHECKPOINT_SHAFT_BACK, begin, top, DEEP_BACK_S, DEEP_BACK_SD_S);
        finder_deep_level(&r, CHECKPOINT_SHAFT_DOWN, top, meet, DEEP_DOWN_S, DEEP_DOWN_SD_S);
    }
    finder_arm_level(&r, CHECKPOINT_ARM_BACK, begin, top, !resting);
    finder_arm_level(&r, CHECKPOINT_ARM_DOWN, top, meet, true);
    finder_arm_level(&r, CHECKPOINT_ARM_THROUGH, meet, end, false);
    keep_order(out);
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        found += out[c].found;
    }
    return found;
}
