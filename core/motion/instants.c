/* Checkpoints as level crossings and stillness, and every point's place at them. */
#include <math.h>
#include <string.h>

#include "core/motion/parts.h"

#define POINT_SD_M 0.005     /* sqrt(MOTION_FIXED_SD_M^2 + MOTION_MOVING_SD_M^2) */
#define HANDS_TOP_SD_S 0.012 /* of the hands' speed minimum (simulated) */
#define FINISH_HOLD_S 0.3
#define FINISH_STILL_MS 0.2
#define FINISH_AFTER_S 0.2

/* a above b, m, into work->series[0]; which samples are known into ok. */
struct level {
    const struct motion_track *a, *b;
};

static bool level_at(const struct level *level, int i, double *above)
{
    if (!level->a->ok[i] || !level->b->ok[i]) {
        return false;
    }
    *above = level->a->at[i].y - level->b->at[i].y;
    return true;
}

/* A crossing between two instants: the first, or the last. rising: from below to above. */
static bool crossing(const struct motion_work *work, const struct level *level, double after, double before,
                     bool rising, bool last, struct motion_time *out)
{
    int from = (int)ceil(after);
    int to = (int)floor(before);
    bool found = false;

    if (level->a->at == NULL || level->b->at == NULL) {
        return false;
    }
    to = to < work->n - 1 ? to : work->n - 1;
    for (int i = from > 0 ? from : 0; i < to; i++) {
        double here;
        double next;
        if (!level_at(level, i, &here) || !level_at(level, i + 1, &next) || (here < 0.0) == (next < 0.0) ||
            (here < 0.0) != rising) {
            continue;
        }
        double rate = (next - here) * work->rate;
        *out = (struct motion_time){true, (i + here / (here - next)) / work->rate,
                                    sqrt(2.0) * POINT_SD_M / fmax(0.05, fabs(rate))};
        found = true;
        if (!last) {
            break;
        }
    }
    return found;
}

/* The first hold of the hands after the swing. */
static void find_finish(struct motion_work *work)
{
    int from = (int)(work->low + FINISH_AFTER_S * work->rate);
    int hold = (int)(FINISH_HOLD_S * work->rate);
    int still = 0;

    if (from >= work->to - hold) {
        return;
    }
    memcpy(work->scratch, work->hands.at, (size_t)work->n * sizeof *work->scratch);
    motion_filter(work, MOTION_START_HZ, work->scratch, work->hands.ok, (int)work->low, work->to);
    for (int i = from; i + 1 < work->to; i++) {
        bool known = work->hands.ok[i - 1] && work->hands.ok[i + 1];
        double speed = vec_norm(vec_sub(work->scratch[i + 1], work->scratch[i - 1])) * 0.5 * work->rate;
        still = known && speed < FINISH_STILL_MS ? still + 1 : 0;
        if (still >= hold) {
            work->out->events[CHECKPOINT_FINISH] =
                (struct motion_time){true, (i - hold + 1) / work->rate, 1.0 / work->rate};
            return;
        }
    }
}

static void find_crossings(struct motion_work *work)
{
    const struct motion_track *points = work->points;
    struct motion_time *events = work->out->events;
    struct level lead = {&points[POINT_LEAD_WRIST], &points[POINT_LEAD_SHOULDER]};
    struct level trail = {&points[POINT_TRAIL_WRIST], &points[POINT_TRAIL_SHOULDER]};
    struct level shaft = {&points[POINT_CLUBHEAD], &points[POINT_GRIP]};
    double begin = work->has_start ? work->start : work->from;
    double meet = work->has_impact ? work->impact : work->low;
    double end = meet + 1.0 * work->rate < work->to ? meet + 1.0 * work->rate : work->to;

    if (events[CHECKPOINT_FINISH].found) { /* what moves after it is no follow-through */
        end = fmin(end, events[CHECKPOINT_FINISH].time_s * work->rate);
    }
    if (work->has_start) {
        (void)crossing(work, &lead, begin, work->top, true, false, &events[CHECKPOINT_ARM_BACK]);
    } else {
        (void)crossing(work, &lead, begin, work->top, true, true, &events[CHECKPOINT_ARM_BACK]);
    }
    (void)crossing(work, &lead, work->top, meet, false, true, &events[CHECKPOINT_ARM_DOWN]);
    (void)crossing(work, &trail, meet, end, true, false, &events[CHECKPOINT_ARM_THROUGH]);
    if (work->out->has_club && work->has_impact) {
        (void)crossing(work, &shaft, begin, work->top, true, !work->has_start, &events[CHECKPOINT_SHAFT_BACK]);
        (void)crossing(work, &shaft, work->top, work->cut, false, true, &events[CHECKPOINT_SHAFT_DOWN]);
        (void)crossing(work, &shaft, work->cut + 1, end, true, false, &events[CHECKPOINT_SHAFT_THROUGH]);
    }
}

/* Cubic through four samples (Catmull and Rom's tangents), straight at the edge of what is known. */
static struct vec3 between(const struct vec3 *at, int i, double share, bool before, bool after, struct vec3 *slope)
{
    struct vec3 step = vec_sub(at[i + 1], at[i]);
    struct vec3 m0 = before ? vec_scale(vec_sub(at[i + 1], at[i - 1]), 0.5) : step;
    struct vec3 m1 = after ? vec_scale(vec_sub(at[i + 2], at[i]), 0.5) : step;
    double t = share;
    double t2 = t * t;
    double t3 = t2 * t;
    struct vec3 place = vec_scale(at[i], 2.0 * t3 - 3.0 * t2 + 1.0);

    place = vec_add(place, vec_scale(m0, t3 - 2.0 * t2 + t));
    place = vec_add(place, vec_scale(at[i + 1], 3.0 * t2 - 2.0 * t3));
    place = vec_add(place, vec_scale(m1, t3 - t2));
    *slope = vec_scale(step, 6.0 * t - 6.0 * t2);
    *slope = vec_add(*slope, vec_scale(m0, 3.0 * t2 - 4.0 * t + 1.0));
    *slope = vec_add(*slope, vec_scale(m1, 3.0 * t2 - 2.0 * t));
    return place;
}

bool motion_at(const struct motion_work *work, const struct motion_track *track, bool club, double instant,
               struct vec3 *at, struct vec3 *velocity)
{
    int first = 0;
    int last = work->n - 1;

    if (track->at == NULL || !(instant >= 0.0) || instant > last) {
        return false;
    }
    if (club && work->has_impact) {
        first = instant <= work->impact ? 0 : work->cut + 1;
        last = instant <= work->impact ? work->cut : last;
    }
    if (last - first < 1) {
        return false;
    }
    int i = (int)floor(instant);
    i = i < first ? first : i >= last ? last - 1 : i;
    if (!track->ok[i] || !track->ok[i + 1]) {
        return false;
    }
    double share = instant - i;
    bool before = i > first && track->ok[i - 1];
    bool after = i + 2 <= last && track->ok[i + 2];
    if (share >= 0.0 && share <= 1.0) {
        *at = between(track->at, i, share, before, after, velocity);
    } else { /* a fraction of a sample past the last one before impact */
        (void)between(track->at, i, share < 0.0 ? 0.0 : 1.0, before, after, velocity);
        *at = vec_add(track->at[share < 0.0 ? i : i + 1], vec_scale(*velocity, share < 0.0 ? share : share - 1.0));
    }
    *velocity = vec_scale(*velocity, work->rate);
    return true;
}

/* The longest stretch of a point's record within the swing that is missing, s. */
static void note_gaps(struct motion_work *work)
{
    int from = work->has_start ? (int)work->start : work->from;
    int to = (int)(work->low + 0.5 * work->rate);

    to = to < work->n ? to : work->n;
    for (int p = 0; p < POINT_COUNT; p++) {
        int longest = 0;
        int run = 0;
        for (int i = from; work->points[p].at != NULL && p != POINT_BALL && i < to; i++) {
            run = work->points[p].ok[i] ? 0 : run + 1;
            longest = run > longest ? run : longest;
        }
        if (longest > 0) {
            motion_note(work, MOTION_GAP, false, (enum point)p, longest / work->rate);
        }
    }
    int repeated = 0;
    for (int i = from; i < to; i++) {
        repeated += work->repeats[i];
    }
    if (to > from && repeated > 0) {
        motion_note(work, MOTION_REPEATED, false, POINT_COUNT, (double)repeated / (to - from));
    }
}

/* An instant that would stand before one of an earlier part of the swing is not believed. Shaft and arm level may come
 * in either order within a part. */
static void keep_order(struct motion_time *events)
{
    static const int part[CHECKPOINT_COUNT] = {0, 1, 1, 2, 3, 3, 4, 5, 5, 6};

    for (int i = 0; i < CHECKPOINT_COUNT; i++) {
        for (int k = 0; k < i; k++) {
            bool before = part[k] < part[i] && events[k].found && events[i].time_s < events[k].time_s;
            events[i].found = events[i].found && !before;
        }
    }
}

void motion_find_checkpoints(struct motion_work *work)
{
    struct motion_time *events = work->out->events;

    if (work->has_start) {
        events[CHECKPOINT_ADDRESS] = (struct motion_time){true, work->start / work->rate, work->start_sd_s};
    } else {
        motion_note(work, MOTION_NO_STILLNESS, false, POINT_COUNT, 0.0);
    }
    if (!events[CHECKPOINT_TOP].found) {
        events[CHECKPOINT_TOP] = (struct motion_time){true, work->top / work->rate, HANDS_TOP_SD_S};
    }
    if (work->has_impact) {
        double speed = fmax(1.0, work->out->hands_speed_ms);
        events[CHECKPOINT_IMPACT] =
            (struct motion_time){true, work->impact / work->rate, sqrt(2.0) * POINT_SD_M / speed};
    }
    work->out->hands_low = (struct motion_time){true, work->low / work->rate, HANDS_TOP_SD_S};
    find_finish(work);
    find_crossings(work);
    keep_order(events);
    note_gaps(work);
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        for (int p = 0; p < POINT_COUNT && events[c].found; p++) {
            struct motion_place *place = &work->out->places[c][p];
            bool club = motion_is_club((enum point)p);
            place->seen =
                p != POINT_BALL && (!club || work->out->has_club) &&
                motion_at(work, &work->points[p], club, events[c].time_s * work->rate, &place->at, &place->velocity);
        }
    }
}
