/* The club in a motion record: whether it is one, when it meets the ball, the plane it swings in, and its own top. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/motion/parts.h"
#include "core/shaft.h"

#define NEAR_FASTEST_S 0.06  /* impact lies this near to the clubhead's fastest moment */
#define TOP_FIT_S 0.04       /* half the stretch of the parabola at the top */
#define TOP_FIT_WIDEN 2.5    /* the parabola is laid where noise looks highest (simulated on research vector 12) */
#define TOP_ROUNDED_S 0.0015 /* the filter rounds a top whose two sides differ (the same) */
#define TOP_APART_S 0.35     /* the club's top lies this near to the hands' */
#define MISSED_M 0.08
#define FIT_MAX 256

static double club_length_at(const struct motion_work *work, int i)
{
    return vec_norm(vec_sub(work->points[POINT_CLUBHEAD].at[i], work->points[POINT_GRIP].at[i]));
}

static bool club_ok(const struct motion_work *work, int i)
{
    return work->points[POINT_CLUBHEAD].ok[i] && work->points[POINT_GRIP].ok[i];
}

/* A club keeps its length: a marker that does not is on something else. */
static bool club_is_rigid(struct motion_work *work)
{
    double least = HUGE_VAL;
    double most = 0.0;
    double sum = 0.0;
    int count = 0;
    int from = work->has_start ? (int)work->start : (int)(work->top - 0.5 * work->rate);
    int to = (int)(work->low + 0.2 * work->rate);

    for (int i = from > 0 ? from : 0; i < work->n && i <= to; i++) {
        if (club_ok(work, i)) {
            double length = club_length_at(work, i);
            least = fmin(least, length);
            most = fmax(most, length);
            sum += length;
            count++;
        }
    }
    if (count < 3) {
        return false;
    }
    double mean = sum / count;
    double varies = (most - least) / mean;
    if (varies > MOTION_CLUB_LENGTH_VARIES || mean < 0.3 || mean > 1.5) {
        motion_note(work, MOTION_CLUB_LENGTH, true, POINT_COUNT, varies);
        return false;
    }
    work->out->club_length = mean;
    return true;
}

static int fastest_head(const struct motion_work *work)
{
    const struct motion_track *head = &work->points[POINT_CLUBHEAD];
    int around = (int)(0.2 * work->rate) + 1;
    int best = work->fast;
    double fastest = 0.0;

    for (int i = work->fast - around; i <= work->fast + around; i++) {
        if (i < 1 || i + 1 >= work->n || !head->ok[i - 1] || !head->ok[i + 1]) {
            continue;
        }
        double speed = vec_norm(vec_sub(head->at[i + 1], head->at[i - 1]));
        if (speed > fastest) {
            fastest = speed;
            best = i;
        }
    }
    return best;
}

/* Where the ball lies, or where the clubhead stood before the take-away. */
static bool ball_place(const struct motion_work *work, bool *is_ball, struct vec3 *out)
{
    const struct motion_track *ball = &work->points[POINT_BALL];

    *is_ball = false;
    for (int i = (int)work->top; ball->at != NULL && i >= 0; i--) {
        if (ball->ok[i]) {
            *is_ball = true;
            *out = ball->at[i];
            return true;
        }
    }
    int start = (int)work->start;
    if (work->has_start && work->points[POINT_CLUBHEAD].ok[start]) {
        *out = work->points[POINT_CLUBHEAD].at[start];
        return true;
    }
    return false;
}

/* The clubhead passing the ball, on the samples as they were, nearest to its fastest moment. */
static void find_impact(struct motion_work *work)
{
    const struct vec3 *head = work->raw[RAW_CLUBHEAD];
    const bool *ok = work->points[POINT_CLUBHEAD].ok;
    int fastest = fastest_head(work);
    int around = (int)(NEAR_FASTEST_S * work->rate) + 2;
    bool is_ball;
    struct vec3 ball;
    int best = -1;

    if (!ball_place(work, &is_ball, &ball)) {
        motion_note(work, MOTION_NO_IMPACT, false, POINT_COUNT, 0.0);
        return;
    }
    for (int i = fastest - around; i <= fastest + around; i++) {
        bool passes =
            i - 1 > work->top && i < work->n && ok[i - 1] && ok[i] && head[i - 1].x <= ball.x && head[i].x > ball.x;
        if (passes && (best < 0 || abs(i - fastest) < abs(best - fastest))) {
            best = i;
        }
    }
    if (best < 0) {
        motion_note(work, MOTION_NO_IMPACT, false, POINT_COUNT, 0.0);
        return;
    }
    double share = (ball.x - head[best - 1].x) / (head[best].x - head[best - 1].x);
    struct vec3 at = vec_add(head[best - 1], vec_scale(vec_sub(head[best], head[best - 1]), share));
    double miss = hypot(at.y - ball.y, at.z - ball.z);
    if (is_ball && miss > MISSED_M) {
        motion_note(work, MOTION_MISSED_BALL, false, POINT_COUNT, miss);
    }
    work->has_impact = true;
    work->impact = best - 1 + share;
    work->cut = best - 1;
}

/* Filters the club's points anew, on each side of impact by itself. */
static void filter_beside_impact(struct motion_work *work)
{
    static const enum point points[RAW_COUNT] = {POINT_GRIP, POINT_BUTT, POINT_CLUBHEAD};

    for (int r = 0; r < RAW_COUNT; r++) {
        struct motion_track *track = &work->points[points[r]];
        if (work->raw[r] == NULL) {
            continue;
        }
        memcpy(track->at, work->raw[r], (size_t)work->n * sizeof *track->at);
        motion_filter(work, MOTION_CLUB_HZ, track->at, track->ok, 0, work->cut + 1);
        motion_filter(work, MOTION_CLUB_HZ, track->at, track->ok, work->cut + 1, work->n);
    }
}

/* The plane of the clubhead from the shaft level before impact to level after it. */
static bool find_plane(struct motion_work *work, struct plane *plane)
{
    const struct motion_track *head = &work->points[POINT_CLUBHEAD];
    const struct motion_track *grip = &work->points[POINT_GRIP];
    int from = work->cut;
    int to = work->cut + 1;
    int n = 0;

    while (from > work->top && club_ok(work, from) && head->at[from].y < grip->at[from].y) {
        from--;
    }
    while (to + 1 < work->n && to < work->low + 0.3 * work->rate && club_ok(work, to) &&
           head->at[to].y < grip->at[to].y) {
        to++;
    }
    for (int i = from; i <= to && n < work->n; i++) {
        if (head->ok[i]) {
            work->scratch[n++] = head->at[i];
        }
    }
    if (!plane_fit(work->scratch, n, plane)) {
        return false;
    }
    work->out->plane_slope_deg = plane->slope_deg;
    work->out->plane_direction_deg = plane->direction_deg;
    work->out->plane_rms_m = plane->rms;
    return true;
}

/* Least squares parabola through x[at - half ... at + half]: where its top lies, and its second derivative per sample
 * squared. */
static bool parabola_fit(const double *x, int at, int half, double *offset, double *bend)
{
    double s2 = 0.0;
    double s4 = 0.0;
    double y0 = 0.0;
    double y1 = 0.0;
    double y2 = 0.0;
    int m = 2 * half + 1;

    for (int k = -half; k <= half; k++) {
        double t = (double)k * k;
        s2 += t;
        s4 += t * t;
        y0 += x[at + k];
        y1 += k * x[at + k];
        y2 += t * x[at + k];
    }
    double c = (y2 - s2 * y0 / m) / (s4 - s2 * s2 / m);
    double b = y1 / s2;
    *bend = 2.0 * c;
    *offset = -b / (2.0 * c);
    return isfinite(*offset) && c < 0.0;
}

/* Timing error of the top: how fast the club's angle may seem to turn by the points' own errors, over how fast its
 * true speed changes there. */
static double top_sd(const struct motion_work *work, double bend, int half)
{
    double change = fabs(bend) * work->rate * work->rate; /* rad/s^2 */
    double moving = sqrt(2.0) * MOTION_MOVING_SD_M / work->out->club_length / MOTION_MOVING_S;
    double white =
        sqrt(2.0) * work->out->noise_m / work->out->club_length * work->rate / half * sqrt(3.0 / (2 * half + 1));

    return hypot(hypot(moving, TOP_FIT_WIDEN * white) / change, TOP_ROUNDED_S);
}

/* The largest angle of the club in its plane, backward from where it began. */
static void find_club_top(struct motion_work *work, const struct plane *plane)
{
    double *angle = work->series[3];
    struct vec3 along = vec_make(1.0, 0.0, 0.0);
    struct vec3 across;
    int apart = (int)(TOP_APART_S * work->rate);
    int from = (int)work->top - apart;
    int to = (int)work->top + apart;
    int half = (int)(TOP_FIT_S * work->rate);
    double offset;
    double bend;

    along = vec_sub(along, vec_scale(plane->normal, vec_dot(along, plane->normal)));
    if (!vec_unit(along, &along)) {
        return;
    }
    across = vec_cross(plane->normal, along);
    half = half < 2 ? 2 : half;
    from = from > half ? from : half;
    to = to < work->cut - half ? to : work->cut - half;
    int best = -1;
    for (int i = from - half; i <= to + half; i++) {
        if (!club_ok(work, i)) {
            return;
        }
        struct vec3 shaft = vec_sub(work->points[POINT_CLUBHEAD].at[i], work->points[POINT_GRIP].at[i]);
        double now = atan2(vec_dot(shaft, across), vec_dot(shaft, along));
        if (i > from - half) {
            now = angle[i - 1] + remainder(now - angle[i - 1], 2.0 * VEC_PI);
        }
        angle[i] = now;
    }
    /* The downswing decides which way is back. */
    double sign = angle[to + half] < angle[(int)work->top] ? 1.0 : -1.0;
    for (int i = from - half; i <= to + half; i++) {
        angle[i] *= sign;
    }
    for (int i = from; i <= to; i++) {
        best = best < 0 || angle[i] > angle[best] ? i : best;
    }
    if (best <= from || best >= to || !parabola_fit(angle, best, half, &offset, &bend) || fabs(offset) > half) {
        return;
    }
    work->top = best + offset;
    work->out->events[CHECKPOINT_TOP] = (struct motion_time){true, work->top / work->rate, top_sd(work, bend, half)};
}

void motion_find_club(struct motion_work *work)
{
    struct plane plane;

    work->cut = work->n - 1;
    if (work->points[POINT_GRIP].at == NULL || work->points[POINT_CLUBHEAD].at == NULL || !club_is_rigid(work)) {
        motion_note(work, MOTION_NO_IMPACT, false, POINT_COUNT, 0.0);
        return;
    }
    work->out->has_club = true;
    motion_find_start(work, work->points[POINT_CLUBHEAD].at, work->points[POINT_CLUBHEAD].ok);
    find_impact(work);
    if (!work->has_impact) {
        return;
    }
    filter_beside_impact(work);
    if (find_plane(work, &plane)) {
        find_club_top(work, &plane);
        motion_find_start(work, work->points[POINT_CLUBHEAD].at, work->points[POINT_CLUBHEAD].ok);
    }
}
