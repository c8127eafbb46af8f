/* The hands of a film and the swing's rough place in it; what the instants' files share. */
#include "core/finder/reading.h"

#include <math.h>

#include "core/finder/parts.h"

#define HANDS_SMOOTH_S 0.035 /* each way */
#define FALL_S 0.15          /* the downswing is where the hands fall most in so long */
#define FALL_LEAST 0.25      /* of the club: less is no downswing */
#define DOWN_S 0.45          /* the top is not longer before the steepest fall, impact not longer after it */
#define SD_MOST_S 0.12       /* an instant less sure than this is not found */

int finder_frames_of(const struct finder_film *film, double seconds)
{
    const int n = (int)lround(seconds * film->rate_hz);
    return n < 1 ? 1 : n;
}

int finder_within(const struct finder_film *film, int frame)
{
    return frame < 0 ? 0 : frame >= film->frames ? film->frames - 1 : frame;
}

static void smooth_hands(struct finder_reading *r)
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
        r->hands[f] = (struct finder_hands_at){count ? u / count : 0.0, count ? v / count : 0.0, count > 0};
    }
}

bool finder_read_hands(struct finder_reading *r)
{
    const struct finder_film *film = r->film;
    const int span = finder_frames_of(film, FALL_S);
    double best = 0.0;

    smooth_hands(r);
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
    for (int f = finder_within(film, r->fall - finder_frames_of(film, DOWN_S)); f < r->fall; f++) {
        if (r->hands[f].seen && (r->hands[f].v < r->hands[r->high].v || !r->hands[r->high].seen)) {
            r->high = f;
        }
    }
    for (int f = finder_within(film, r->fall + finder_frames_of(film, DOWN_S)); f > r->fall; f--) {
        if (r->hands[f].seen && (r->hands[f].v >= r->hands[r->low].v || !r->hands[r->low].seen)) {
            r->low = f;
        }
    }
    return true;
}

void finder_put(struct finder_reading *r, enum checkpoint checkpoint, double frame, double sd_s)
{
    if (isfinite(frame) && frame >= 0.0 && frame <= r->film->frames - 1 && sd_s <= SD_MOST_S) {
        r->out[checkpoint] = (struct finder_instant){true, frame / r->film->rate_hz, sd_s};
    }
}

/* Calls a frame's number the time from another. */
double finder_since(const struct finder_reading *r, double frame, double middle)
{
    return (frame - middle) / r->film->rate_hz;
}

/* The club's angle in the frames where it is found, within `reach` of `middle`. */
void finder_angles_near(const struct finder_reading *r, double middle, double reach_s, struct curve *out)
{
    const int first = finder_within(r->film, (int)ceil(middle - reach_s * r->film->rate_hz));

    out->count = 0;
    for (int f = first; f < r->film->frames && finder_since(r, f, middle) <= reach_s; f++) {
        if (r->shafts[f].found) {
            finder_curve_add(out, finder_since(r, f, middle), r->shafts[f].angle_deg);
        }
    }
}
