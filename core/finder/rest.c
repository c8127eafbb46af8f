/* Where the club's motion begins and where it ends. */
#include <math.h>

#include "core/finder/reading.h"

#define BACK_S 2.5         /* a backswing takes no longer */
#define MOVED_DEG 1.5      /* of the club: it has left its rest */
#define REST_DEG 2.0       /* of the club at rest, at most */
#define ADDRESS_HOLD_S 0.2 /* a rest before the swing is no shorter */
#define FINISH_HOLD_S 0.3  /* nor one after it */
#define REST_SD_S 0.012
#define DEEP_REST_SD_S 0.09 /* from behind the club seems to rest where it only turns along the view */
#define HANDS_REST 0.09     /* of the club: what the hands seem to move while they rest, at most */

/* Whether the hands stay where they are from frame to frame, as far as the joints' errors let it be seen. */
static bool hands_rest(const struct finder_reading *r, int from, int to)
{
    const struct finder_hands_at *a = &r->hands[finder_within(r->film, from)];
    const struct finder_hands_at *b = &r->hands[finder_within(r->film, to)];
    return a->seen && b->seen &&
           hypot(b->u - a->u, b->v - a->v) < HANDS_REST * r->film->club_px[finder_within(r->film, from)];
}

/* The middle of the club's angles found in [from, to]. False where few are, or where it does not rest. */
static bool rest_angle(const struct finder_reading *r, int from, int to, double *out)
{
    struct curve curve = {.count = 0};
    struct curve off = {.count = 0};

    for (int f = finder_within(r->film, from); f <= finder_within(r->film, to); f++) {
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
static int leaves(const struct finder_reading *r, int from, int before, double rest)
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
void finder_address(struct finder_reading *r, double before)
{
    const struct finder_film *film = r->film;
    const int hold = finder_frames_of(film, ADDRESS_HOLD_S) < 4 ? 4 : finder_frames_of(film, ADDRESS_HOLD_S);
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
        finder_angles_near(r, left, 0.35, &curve);
        while (curve.count > 0 && curve.x[curve.count - 1] > 0.09) {
            curve.count--;
        }
        if (finder_curve_instant(&curve, CURVE_BEGINS, -0.3, 0.03, &off, &sd)) {
            finder_put(r, CHECKPOINT_ADDRESS, left + off * film->rate_hz, hypot(sd, deep ? DEEP_REST_SD_S : REST_SD_S));
        }
        return;
    }
}

/* Where the club comes to rest after the swing; the film may end in that rest. */
void finder_finish(struct finder_reading *r, double after)
{
    const struct finder_film *film = r->film;
    const int hold = finder_frames_of(film, FINISH_HOLD_S) < 4 ? 4 : finder_frames_of(film, FINISH_HOLD_S);
    const int least = hold / 2 < 4 ? 4 : hold / 2;
    const bool deep = film->view == VIEW_DOWN_THE_LINE;
    struct curve all;
    struct curve curve = {.count = 0};
    double rest;
    double off;
    double sd;

    for (int f = (int)after + finder_frames_of(film, 0.2); f + least < film->frames; f++) {
        if (!rest_angle(r, f, f + hold, &rest)) {
            continue;
        }
        int come = deep ? f : finder_within(film, f + hold);
        while (come > (int)after && hands_rest(r, come, f + hold) &&
               !(r->shafts[come].found && fabs(r->shafts[come].angle_deg - rest) > MOVED_DEG)) {
            come--;
        }
        finder_angles_near(r, come, 0.45, &all);
        for (int n = 0; n < all.count; n++) {
            if (all.x[n] >= -0.09) {
                finder_curve_add(&curve, all.x[n], all.y[n]);
            }
        }
        if (finder_curve_instant(&curve, CURVE_ENDS, -0.03, 0.42, &off, &sd)) {
            finder_put(r, CHECKPOINT_FINISH, come + off * film->rate_hz, hypot(sd, deep ? DEEP_REST_SD_S : REST_SD_S));
        } else {
            finder_put(r, CHECKPOINT_FINISH, f, DEEP_REST_SD_S);
        }
        return;
    }
}
