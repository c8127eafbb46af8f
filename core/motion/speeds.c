/* How fast the segments turn, when each is fastest, and what is kept for drawing.
 *
 * Pelvis and chest: the rotation of their joint centres' axes about the trunk, + toward the target. Lead arm and club:
 * the size of their direction's turning. One definition among several, and the order depends on it (docs/measures.md).
 */
#include <math.h>

#include "core/motion/parts.h"

#define WANDER_S 0.086 /* of the moving error, twice differentiated behind the filter (simulated) */
#define BEND_S 0.04
#define PEAK_SD_MIN_S 0.012 /* the filter moves a peak whose sides differ (simulated) */
#define PEAK_SD_MAX_S 0.1
#define AFTER_S 0.05    /* a segment may peak this long after impact */
#define PROMINENCE 0.02 /* of the range, of a peak: how flat it is goes into its error */
#define BROAD 0.6       /* pelvis and chest: of the fastest, what is taken as one broad peak */
#define BROAD_SD 1.5    /* of how much of the peak the speed's noise is, over its width (simulated) */
#define EFFECTIVE_CORNER                                                                                               \
    0.66 /* of the filter's corner: where the noise that passes turns (simulated)                                      \
          */

static const enum point ends[MOTION_SEGMENT_COUNT][2] = {{POINT_TRAIL_HIP, POINT_LEAD_HIP},
                                                         {POINT_TRAIL_SHOULDER, POINT_LEAD_SHOULDER},
                                                         {POINT_LEAD_SHOULDER, POINT_LEAD_WRIST},
                                                         {POINT_GRIP, POINT_CLUBHEAD}};

/* Axes of the pelvis or the chest at a sample. */
static bool body_frame(const struct motion_work *work, enum motion_segment segment, int i, struct vec_frame *out)
{
    const struct motion_track *trail = &work->points[ends[segment][0]];
    const struct motion_track *lead = &work->points[ends[segment][1]];
    const struct motion_track *hips[2] = {&work->points[POINT_TRAIL_HIP], &work->points[POINT_LEAD_HIP]};
    struct vec3 up = vec_make(0.0, 1.0, 0.0);

    if (!trail->ok[i] || !lead->ok[i]) {
        return false;
    }
    if (hips[0]->at != NULL && hips[1]->at != NULL && hips[0]->ok[i] && hips[1]->ok[i] && work->hub.ok[i]) {
        up = vec_sub(work->hub.at[i], vec_scale(vec_add(hips[0]->at[i], hips[1]->at[i]), 0.5));
    }
    return vec_frame_of(vec_sub(trail->at[i], lead->at[i]), up, out);
}

static void body_speed(const struct motion_work *work, enum motion_segment segment, int from, int to, double *speed)
{
    struct vec_frame frames[3];
    bool known[3] = {false, false, false};

    speed[from] = speed[to - 1] = -HUGE_VAL; /* the ends have no speed of their own */
    for (int i = from; i < to; i++) {
        int k = i % 3;
        int here = (i + 2) % 3;
        int before = (i + 1) % 3;
        known[k] = body_frame(work, segment, i, &frames[k]);
        if (i < from + 2) {
            continue;
        }
        speed[i - 1] = -HUGE_VAL;
        if (known[k] && known[here] && known[before]) {
            struct vec3 turn = vec_rotation_speed(&frames[before], &frames[k], 2.0 / work->rate);
            speed[i - 1] = VEC_DEG * vec_dot(turn, frames[here].y);
        }
    }
}

static bool direction_at(const struct motion_track *a, const struct motion_track *b, int i, struct vec3 *out)
{
    return a->ok[i] && b->ok[i] && vec_unit(vec_sub(b->at[i], a->at[i]), out);
}

/* Turning of a line's direction; one-sided beside `cut`, which it never crosses. */
static void line_speed(const struct motion_work *work, enum motion_segment segment, int from, int to, int cut,
                       double *speed)
{
    const struct motion_track *a = &work->points[ends[segment][0]];
    const struct motion_track *b = &work->points[ends[segment][1]];

    for (int i = from; i < to; i++) {
        int low = i <= cut ? from : cut + 1;
        int high = i <= cut && cut < to - 1 ? cut : to - 1;
        int before = i > low ? i - 1 : i;
        int after = i < high ? i + 1 : i;
        struct vec3 p;
        struct vec3 q;
        speed[i] = -HUGE_VAL;
        if (after > before && direction_at(a, b, before, &p) && direction_at(a, b, after, &q)) {
            double turn = atan2(vec_norm(vec_cross(p, q)), vec_dot(p, q));
            speed[i] = VEC_DEG * turn * work->rate / (after - before);
        }
    }
    /* The one-sided step beside the cut lags half a sample behind it: carry it on by the trend. */
    if (cut > from + 1 && cut < to && isfinite(speed[cut]) && isfinite(speed[cut - 1])) {
        speed[cut] = fmax(0.0, 2.0 * speed[cut] - speed[cut - 1]);
    }
}

/* Noise of a segment's speed, differentiated once more per `more`: deg/s, deg/s^2. */
static double speed_noise(const struct motion_work *work, enum motion_segment segment, double length, int more)
{
    struct series_filter filter;
    double corner = segment == MOTION_CLUB ? MOTION_CLUB_HZ : MOTION_BODY_HZ;
    double passes = series_filter_design(corner, work->rate, &filter) ? series_filter_noise(&filter) : 1.0;
    double turns = 2.0 * VEC_PI * EFFECTIVE_CORNER * corner;
    double moving = sqrt(2.0) * MOTION_MOVING_SD_M / length / WANDER_S;
    double white = sqrt(2.0) * work->out->noise_m * passes / length * turns;

    return VEC_DEG * (more == 0 ? hypot(moving, white) : hypot(moving / WANDER_S, white * turns));
}

/* Error of a sharp peak's instant: how much the speed's slope may be wrong, over how fast that slope changes. */
static double peak_sd(const struct motion_work *work, enum motion_segment segment, double length, double bend)
{
    double noise = speed_noise(work, segment, length, 1);

    return fmin(PEAK_SD_MAX_S, hypot(PEAK_SD_MIN_S, noise / fmax(1.0, fabs(bend))));
}

/* Second derivative over a stretch that ripples do not rule, deg/s^3. */
static double bend_around(const double *speed, int at, int from, int to, double rate)
{
    int half = (int)(BEND_S * rate) + 1;

    half = half < at - from ? half : at - from;
    half = half < to - 1 - at ? half : to - 1 - at;
    double step = half / rate;
    return (speed[at - half] - 2.0 * speed[at] + speed[at + half]) / (step * step);
}

static double segment_length(const struct motion_work *work, enum motion_segment segment, int at)
{
    const struct motion_track *a = &work->points[ends[segment][0]];
    const struct motion_track *b = &work->points[ends[segment][1]];

    return fmax(0.05, vec_norm(vec_sub(b->at[at], a->at[at])));
}

/* Pelvis and chest turn fastest in a broad peak, which noise as slow as itself tilts: all of it says where its top is,
 * and whether that lies past the search. False: no such peak. */
static bool broad_peak(struct motion_work *work, enum motion_segment segment, const double *speed, int from, int to,
                       int end)
{
    struct motion_peak *peak = &work->out->peaks[segment];
    int at = from;
    double top;
    int width;

    for (int i = from; i < to; i++) {
        at = speed[i] > speed[at] ? i : at;
    }
    if (!(speed[at] > 0.0) || !series_broad_peak(speed, at, from, end, BROAD, &top, &width)) {
        return false;
    }
    if (top > to - 1) {
        *peak = (struct motion_peak){.time_s = (to - 1) / work->rate, .late = true};
        return true;
    }
    double share = speed_noise(work, segment, segment_length(work, segment, at), 0) / speed[at];
    double sd = fmin(PEAK_SD_MAX_S, hypot(PEAK_SD_MIN_S, BROAD_SD * share * width / work->rate));
    *peak = (struct motion_peak){.found = true,
                                 .time_s = top / work->rate,
                                 .sd_s = sd,
                                 .shared_s = PEAK_SD_MIN_S,
                                 .speed_deg_s = speed[(int)(top + 0.5)]};
    return true;
}

static void find_peak(struct motion_work *work, enum motion_segment segment, const double *speed, int from, int to,
                      int end)
{
    struct motion_peak *peak = &work->out->peaks[segment];
    double least = HUGE_VAL;
    double most = -HUGE_VAL;
    double offset;
    double value;

    for (int i = from; i < to; i++) {
        if (!isfinite(speed[i])) {
            return;
        }
        least = fmin(least, speed[i]);
        most = fmax(most, speed[i]);
    }
    if ((segment == MOTION_PELVIS || segment == MOTION_CHEST) && broad_peak(work, segment, speed, from, to, end)) {
        return;
    }
    const double clear = PROMINENCE * (most - least);
    int at = series_peak(speed, from, to, clear);
    if (segment == MOTION_CLUB && work->has_impact && work->cut < to && (at < 0 || speed[work->cut] >= speed[at])) {
        /* Still gaining when it meets the ball, which ends it. */
        *peak = (struct motion_peak){
            .found = true, .time_s = work->impact / work->rate, .sd_s = PEAK_SD_MIN_S, .speed_deg_s = speed[work->cut]};
        return;
    }
    if ((at < 0 || speed[at] < most) && speed[to - 1] > most - clear && most > 0.0) {
        /* A lesser peak before it is a ripple on the way. */
        *peak = (struct motion_peak){.time_s = (to - 1) / work->rate, .late = true};
        return;
    }
    if (at < 1 || at + 1 >= work->n || !series_parabola(speed[at - 1], speed[at], speed[at + 1], &offset, &value)) {
        return;
    }
    if (value <= 0.0) {
        return; /* the least turning away is no turn toward the target */
    }
    double bend = bend_around(speed, at, from, to, work->rate);
    double sd = peak_sd(work, segment, segment_length(work, segment, at), bend);
    *peak = (struct motion_peak){.found = true, .time_s = (at + offset) / work->rate, .sd_s = sd, .speed_deg_s = value};
}

/* A curve thinned for drawing; only when all of it is known. */
static void keep_curve(struct motion_work *work, enum motion_segment segment, const double *speed)
{
    struct motion_summary *out = work->out;

    out->curve_known[segment] = true;
    for (int k = 0; k < out->curve_count; k++) {
        double instant = (out->curve_start_s + k * out->curve_step_s) * work->rate;
        int i = (int)instant;
        double share = instant - i;
        if (i + 1 >= work->n || !isfinite(speed[i]) || !isfinite(speed[i + 1])) {
            out->curve_known[segment] = false;
            return;
        }
        out->curves[segment][k] = speed[i] + share * (speed[i + 1] - speed[i]);
    }
}

void motion_find_speeds(struct motion_work *work)
{
    struct motion_summary *out = work->out;
    double meet = work->has_impact ? work->impact : work->low;
    int from = (int)((work->has_start ? work->start : work->top - work->rate) - 0.15 * work->rate);
    int to = (int)(meet + 0.5 * work->rate);
    int until = (int)(meet + AFTER_S * work->rate) + 1;

    from = from > 0 ? from : 0;
    to = to < work->n ? to : work->n;
    until = until < to ? until : to;
    if (to - from < 8) {
        return;
    }
    double span = to - from - 5;
    int count = span + 1.0 < MOTION_CURVE_MAX ? (int)span + 1 : MOTION_CURVE_MAX;
    out->curve_count = count;
    out->curve_start_s = (from + 2) / work->rate;
    out->curve_step_s = span / (count - 1) / work->rate;
    for (int s = 0; s < MOTION_SEGMENT_COUNT; s++) {
        double *speed = work->series[s];
        if (work->points[ends[s][0]].at == NULL || work->points[ends[s][1]].at == NULL ||
            (s == MOTION_CLUB && !out->has_club)) {
            continue;
        }
        if (s == MOTION_PELVIS || s == MOTION_CHEST) {
            body_speed(work, (enum motion_segment)s, from, to, speed);
        } else {
            line_speed(work, (enum motion_segment)s, from, to, s == MOTION_CLUB ? work->cut : to, speed);
        }
        find_peak(work, (enum motion_segment)s, speed, (int)work->top, until, to);
        keep_curve(work, (enum motion_segment)s, speed);
    }
}

static void keep_path(struct motion_work *work, enum motion_phase phase, double from, double to)
{
    struct motion_path *path = &work->out->paths[phase];
    int count = (int)(to - from) + 2;

    if (count < 4) {
        return;
    }
    count = count < MOTION_PATH_MAX ? count : MOTION_PATH_MAX;
    for (int k = 0; k < count; k++) {
        double instant = from + (to - from) * k / (count - 1);
        struct vec3 hands;
        struct vec3 hub;
        struct vec3 velocity;
        if (!motion_at(work, &work->hands, false, instant, &hands, &velocity) ||
            !motion_at(work, &work->hub, false, instant, &hub, &velocity)) {
            return;
        }
        path->hands[k] = vec_make(hands.x - hub.x, hands.y, hands.z - hub.z);
    }
    path->count = count;
}

void motion_find_paths(struct motion_work *work)
{
    const struct motion_time *through = &work->out->events[CHECKPOINT_ARM_THROUGH];

    if (work->hub.at == NULL) {
        return;
    }
    /* From checkpoint to checkpoint; without a club from the hands' highest point to their lowest. */
    double turn = work->has_impact ? work->top : work->high;
    double meet = work->has_impact ? work->impact : work->low;
    if (work->has_start) {
        keep_path(work, MOTION_BACK, work->start, turn);
    }
    keep_path(work, MOTION_DOWN, turn, meet);
    if (through->found) {
        keep_path(work, MOTION_THROUGH, meet, through->time_s * work->rate);
    }
}
