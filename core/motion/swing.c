/* Which part of the record is the swing, and its top, low point and start by the hands alone. */
#include <math.h>
#include <string.h>

#include "core/motion/parts.h"

#define SWING_SPEED_MIN_MS 2.0 /* slower hands are no full swing (common practice) */
#define SWINGS_APART_S 1.0     /* of two fast moments nearer than this the faster is the swing */
#define SWING_LIKE 0.5         /* a moment this fast, of the fastest, is another swing */
#define BACK_OF_FAST_S 1.2     /* the top lies this near before the fastest moment */
#define TOP_NEAR_HIGH_S 0.17   /* and this near to the highest point (seen on real swings) */
#define BEFORE_TOP_S 4.0       /* how far before the top a start is looked for */
#define BALL_NEAR_M 0.15       /* the clubhead's lane past the ball */
#define QUIET_S 0.2
#define STILL_MS 0.1
#define MOVING_MS 0.25 /* a threshold above this is no stillness */
#define LOW_AFTER_FAST_S 0.15
#define START_WAY_M 0.04
#define START_PUSH 2.0   /* way over speed, times this: a push that is there at once ... */
#define START_GENTLE 3.0 /* ... or that grows from nothing */
#define START_BENT 1.5   /* a forward press before the take-away makes the path longer than the way */
#define START_SD_S 0.006
#define START_SLOW_SD_S 0.04

/* Speed of a track, m/s; -1 in a gap. */
static void speed_of(const struct motion_work *work, const struct vec3 *at, const bool *ok, double *speed)
{
    int n = work->n;

    for (int i = 0; i < n; i++) {
        int a = i > 0 && ok[i - 1] ? i - 1 : i;
        int b = i + 1 < n && ok[i + 1] ? i + 1 : i;
        speed[i] = ok[i] && b > a ? vec_norm(vec_sub(at[b], at[a])) * work->rate / (b - a) : -1.0;
    }
}

/* Whether no faster moment lies within SWINGS_APART_S. */
static bool stands_out(const double *speed, int at, int n, int apart)
{
    int from = at > apart ? at - apart : 0;
    int to = at + apart < n ? at + apart : n - 1;

    for (int i = from; i <= to; i++) {
        if (speed[i] > speed[at] || (speed[i] == speed[at] && i < at)) {
            return false;
        }
    }
    return true;
}

/* Whether the clubhead passes close by the ball, as it lay before, around a fast moment. */
static bool passes_ball(const struct motion_work *work, int at)
{
    const struct motion_track *ball = &work->points[POINT_BALL];
    const struct motion_track *head = &work->points[POINT_CLUBHEAD];
    int around = (int)(0.15 * work->rate) + 1;
    int lay = -1;

    if (ball->at == NULL || head->at == NULL) {
        return false;
    }
    for (int i = at - around; i >= 0 && lay < 0; i--) {
        lay = ball->ok[i] ? i : -1;
    }
    for (int i = at - around; lay >= 0 && i <= at + around; i++) {
        if (i >= 1 && i < work->n && head->ok[i] && head->ok[i - 1] && head->at[i - 1].x <= ball->at[lay].x &&
            head->at[i].x > ball->at[lay].x) {
            struct vec3 off = vec_sub(head->at[i], ball->at[lay]);
            return hypot(off.y, off.z) < BALL_NEAR_M;
        }
    }
    return false;
}

/* Chooses among the fast moments: one that passes the ball, else the fastest. */
static bool choose_swing(struct motion_work *work, const double *speed)
{
    int apart = (int)(SWINGS_APART_S * work->rate);
    double fastest = 0.0;
    int count = 0;
    int before = -1;

    for (int i = 0; i < work->n; i++) {
        fastest = fmax(fastest, speed[i]);
    }
    if (!(fastest >= SWING_SPEED_MIN_MS)) {
        motion_note(work, MOTION_NO_SWING, true, POINT_COUNT, fastest);
        return false;
    }
    work->fast = -1;
    for (int i = 0; i < work->n; i++) {
        if (speed[i] < SWING_LIKE * fastest || !stands_out(speed, i, work->n, apart)) {
            continue;
        }
        bool hits = passes_ball(work, i);
        if (work->fast < 0 || (hits && !work->out->by_impact) ||
            (hits == work->out->by_impact && speed[i] > speed[work->fast])) {
            work->from = before < 0 ? 0 : before + apart / 2;
            work->fast = i;
            work->out->by_impact = hits;
        }
        before = i;
        count++;
    }
    work->to = work->n;
    for (int i = work->fast + apart; i < work->n && work->to == work->n; i++) {
        if (speed[i] >= SWING_LIKE * fastest && stands_out(speed, i, work->n, apart)) {
            work->to = i - apart / 2;
        }
    }
    work->out->swing_count = count;
    if (count > 1) {
        motion_note(work, MOTION_OTHER_SWINGS, false, POINT_COUNT, count - 1);
    }
    return work->fast >= 0;
}

/* The hands' highest point before they are fastest: after a swing they may rise higher still. The top by the hands is
 * their deepest speed minimum near it; a ripple on the way down is none. */
static bool find_top(struct motion_work *work, const double *speed, double *height)
{
    int from = work->fast - (int)(BACK_OF_FAST_S * work->rate);
    int near = (int)(TOP_NEAR_HIGH_S * work->rate) + 1;
    int high = work->fast;

    for (int i = 0; i < work->n; i++) {
        height[i] = work->hands.at[i].y;
    }
    from = from > work->from ? from : work->from;
    for (int i = from; i < work->fast; i++) {
        high = work->hands.ok[i] && height[i] > height[high] ? i : high;
    }
    if (high == work->fast || high == from) {
        return false;
    }
    work->high = motion_extreme(height, high, work->n);
    int top = high;
    for (int i = high - near; i <= high + near && i < work->fast; i++) {
        top = i >= from && speed[i] >= 0.0 && speed[i] < speed[top] ? i : top;
    }
    work->top = motion_extreme(speed, top, work->n);
    return speed[top] >= 0.0;
}

/* False when the hands never come down from the top: then that was no top of a swing. */
static bool find_low(struct motion_work *work, const double *height)
{
    int last = work->fast + (int)(LOW_AFTER_FAST_S * work->rate) + 1;
    int low = (int)work->top;

    last = last < work->n ? last : work->n - 1;
    for (int i = low; i <= last; i++) {
        low = work->hands.ok[i] && height[i] < height[low] ? i : low;
    }
    work->low = motion_extreme(height, low, work->n);
    return work->low > work->top;
}

/* The stillness that a threshold is taken from: mean + 4 sd of the quietest stretch. -1 when even that moves: the
 * record begins after the take-away. */
static double still_limit(const double *speed, int from, int to, int stretch)
{
    double best_mean = HUGE_VAL;
    double limit = STILL_MS;
    double sum = 0.0;
    double squares = 0.0;
    int run = 0;

    for (int i = from; i < to; i++) {
        if (speed[i] < 0.0) {
            run = 0;
            sum = squares = 0.0;
            continue;
        }
        sum += speed[i];
        squares += speed[i] * speed[i];
        if (++run > stretch) {
            sum -= speed[i - stretch];
            squares -= speed[i - stretch] * speed[i - stretch];
            run = stretch;
        }
        if (run == stretch && sum / stretch < best_mean) {
            best_mean = sum / stretch;
            limit = best_mean + 4.0 * sqrt(fmax(0.0, squares / stretch - best_mean * best_mean));
        }
    }
    return limit > MOVING_MS ? -1.0 : fmax(STILL_MS, limit);
}

/* The slow copy tells of a quick start too early, for it smears the start backward. From where the point has left its
 * still place on the quicker track, the way it came and its speed there say when it left: a constant push 2 s/v ago,
 * one that grows from nothing 3 s/v ago, and not before the slow copy. The truth lies between; how far they are apart
 * is how little is known. */
static void extrapolate_start(struct motion_work *work, const struct vec3 *at, const bool *ok, double slow, int fastest)
{
    int still = (int)slow;
    double path = 0.0;

    work->start = slow;
    work->start_sd_s = START_SLOW_SD_S;
    for (int i = still + 1; i < fastest && ok[i - 1] && ok[i] && ok[i + 1]; i++) {
        double way = vec_norm(vec_sub(at[i], at[still]));
        double speed = vec_norm(vec_sub(at[i + 1], at[i - 1])) * 0.5 * work->rate;
        path += vec_norm(vec_sub(at[i], at[i - 1]));
        if (way > START_WAY_M && path > START_BENT * way) {
            return; /* the hands went another way first: the distance says nothing of the time */
        }
        if (way > START_WAY_M && speed > 0.0) {
            double quick = fmax(slow, i - START_PUSH * way / speed * work->rate);
            double gentle = fmax(slow, i - START_GENTLE * way / speed * work->rate);
            work->start = 0.5 * (gentle + quick);
            work->start_sd_s = hypot(START_SD_S, 0.5 * (quick - gentle) / work->rate);
            return;
        }
    }
}

void motion_find_start(struct motion_work *work, const struct vec3 *at, const bool *ok)
{
    double *speed = work->series[1];
    int top = (int)work->top;
    int from = top - (int)(BEFORE_TOP_S * work->rate);

    from = from > work->from ? from : work->from;
    memcpy(work->scratch, at, (size_t)work->n * sizeof *at);
    motion_filter(work, MOTION_START_HZ, work->scratch, ok, from, work->to);
    speed_of(work, work->scratch, ok, speed);
    double limit = still_limit(speed, from, top, (int)(QUIET_S * work->rate) + 1);
    int fastest = top;
    for (int i = top; i > from && top - i < 1.5 * work->rate; i--) {
        fastest = speed[i] > speed[fastest] ? i : fastest;
    }
    work->has_start = false;
    for (int i = fastest; i >= from; i--) {
        if (speed[i] < 0.0) {
            return; /* a gap hides it */
        }
        if (speed[i] < limit) {
            double rise = i < fastest ? (limit - speed[i]) / (speed[i + 1] - speed[i]) : 0.0;
            extrapolate_start(work, at, ok, i + fmax(0.0, fmin(1.0, rise)), fastest);
            work->has_start = true;
            return;
        }
    }
}

bool motion_find_swing(struct motion_work *work)
{
    double *speed = work->series[0];
    double *height = work->series[2];

    speed_of(work, work->hands.at, work->hands.ok, speed);
    if (!choose_swing(work, speed)) {
        return false;
    }
    if (!find_top(work, speed, height) || !find_low(work, height)) {
        motion_note(work, MOTION_NO_SWING, true, POINT_COUNT, speed[work->fast]);
        return false;
    }
    work->out->hands_speed_ms = speed[work->fast];
    motion_find_start(work, work->hands.at, work->hands.ok);
    return true;
}
