/* From raw samples to filled and filtered tracks, and what noise the filter took out. */
#include <math.h>
#include <string.h>

#include "core/motion/parts.h"
#include "core/shaft.h"

#define REPEAT_MOVES_M 0.002 /* a repeated frame matters when the player moves this much around it */
#define HANDS_SEEN_MIN 0.5   /* share of the record that must show the hands */

static const enum point raw_points[RAW_COUNT] = {POINT_GRIP, POINT_BUTT, POINT_CLUBHEAD};

static bool sample_seen(const struct motion_record *record, enum point point, int i)
{
    const struct vec3 *at = &record->at[point][i];
    return (record->seen[point] == NULL || record->seen[point][i]) && isfinite(at->x) && isfinite(at->y) &&
           isfinite(at->z);
}

static bool same_place(struct vec3 a, struct vec3 b)
{
    return a.x == b.x && a.y == b.y && a.z == b.z;
}

/* Whether every point of a frame stands where it stood the frame before. */
static bool frame_repeats(const struct motion_record *record, int i)
{
    int compared = 0;

    for (int p = 0; p < POINT_COUNT; p++) {
        if (record->at[p] == NULL || p == POINT_BALL || !sample_seen(record, (enum point)p, i) ||
            !sample_seen(record, (enum point)p, i - 1)) {
            continue;
        }
        if (!same_place(record->at[p][i], record->at[p][i - 1])) {
            return false;
        }
        compared++;
    }
    return compared > 0;
}

/* Whether anything moves from sample a to sample b. */
static bool frames_move(const struct motion_record *record, int a, int b)
{
    for (int p = 0; p < POINT_COUNT; p++) {
        if (record->at[p] != NULL && sample_seen(record, (enum point)p, a) && sample_seen(record, (enum point)p, b) &&
            vec_norm(vec_sub(record->at[p][b], record->at[p][a])) > REPEAT_MOVES_M) {
            return true;
        }
    }
    return false;
}

/* A camera that falls behind writes the last frame again: such frames hold no measurement. */
static void find_repeats(struct motion_work *work)
{
    const struct motion_record *record = work->record;
    int begin = 0;

    memset(work->repeats, 0, (size_t)work->n * sizeof *work->repeats);
    for (int i = 1; i < work->n; i++) {
        if (!frame_repeats(record, i)) {
            begin = i;
            continue;
        }
        int before = begin > 0 ? begin - 1 : 0;
        int after = i + 1 < work->n ? i + 1 : i;
        work->repeats[i] = frames_move(record, before, i) && frames_move(record, i, after);
    }
}

void motion_filter(struct motion_work *work, double cutoff_hz, struct vec3 *at, const bool *ok, int from, int to)
{
    struct series_filter filter;

    if (!series_filter_design(cutoff_hz, work->rate, &filter)) {
        return; /* so slow a record holds nothing above the corner */
    }
    for (int i = from; i < to;) {
        int end = i;
        while (end < to && ok[end]) {
            end++;
        }
        if (end > i) {
            series_filter_run3(&filter, &at[i].x, end - i, work->filter);
        }
        i = end + 1;
    }
}

/* Copies a point and fills its short gaps. seen is scratch. */
static void fill_point(struct motion_work *work, enum point point, bool *seen)
{
    const struct motion_record *record = work->record;
    struct motion_track *track = &work->points[point];
    int longest = (int)(SERIES_GAP_S * work->rate);

    bool whole = true;
    for (int i = 0; i < work->n; i++) {
        seen[i] = sample_seen(record, point, i) && (point == POINT_BALL || !work->repeats[i]);
        track->ok[i] = seen[i];
        track->at[i] = seen[i] ? record->at[point][i] : vec_make(0.0, 0.0, 0.0);
        whole = whole && seen[i];
    }
    if (!whole) {
        (void)series_fill3(&track->at[0].x, work->n, seen, track->ok, longest);
    }
}

/* The hands' middle lies a hand's breadth down the club from its butt. */
static void grip_from_butt(struct motion_work *work)
{
    const struct motion_track *butt = &work->points[POINT_BUTT];
    const struct motion_track *head = &work->points[POINT_CLUBHEAD];
    struct motion_track *grip = &work->points[POINT_GRIP];

    for (int i = 0; i < work->n; i++) {
        struct vec3 along;
        grip->ok[i] = butt->ok[i] && head->ok[i] && vec_unit(vec_sub(head->at[i], butt->at[i]), &along);
        grip->at[i] = grip->ok[i] ? vec_add(butt->at[i], vec_scale(along, SHAFT_BUTT_TO_GRIP_M)) : butt->at[i];
    }
}

/* rms per axis of what the filter took from a point, 0 when nothing is known. */
static double residual(const struct motion_work *work, enum point point)
{
    const struct motion_track *track = &work->points[point];
    double sum = 0.0;
    int count = 0;

    for (int i = 0; i < work->n; i++) {
        if (track->ok[i] && sample_seen(work->record, point, i) && !work->repeats[i]) {
            struct vec3 off = vec_sub(work->record->at[point][i], track->at[i]);
            sum += vec_dot(off, off);
            count++;
        }
    }
    return count > 0 ? sqrt(sum / (3.0 * count)) : 0.0;
}

/* The middle one of the body's residuals: fast points lose some of their own motion, lost points are none. */
static double body_noise(const struct motion_work *work)
{
    double all[POINT_GRIP];
    int count = 0;

    for (int p = 0; p < POINT_GRIP; p++) {
        if (work->points[p].at == NULL) {
            continue;
        }
        double value = residual(work, (enum point)p);
        int k = count++;
        for (; k > 0 && all[k - 1] > value; k--) {
            all[k] = all[k - 1];
        }
        all[k] = value;
    }
    return count > 0 ? all[count / 2] : 0.0;
}

/* The middle of two tracks, where both are known. */
static void middle(struct motion_track *out, const struct motion_track *a, const struct motion_track *b, int n)
{
    for (int i = 0; i < n; i++) {
        out->ok[i] = a->ok[i] && b->ok[i];
        out->at[i] = vec_scale(vec_add(a->at[i], b->at[i]), 0.5);
    }
}

/* The grip as recorded, or the middle of the wrists: as a part of the body, for the hands' path. */
static bool follow_hands(struct motion_work *work)
{
    const struct motion_track *lead = &work->points[POINT_LEAD_WRIST];
    const struct motion_track *trail = &work->points[POINT_TRAIL_WRIST];
    int known = 0;

    if (work->record->at[POINT_GRIP] != NULL) {
        memcpy(work->hands.at, work->raw[RAW_GRIP], (size_t)work->n * sizeof *work->hands.at);
        memcpy(work->hands.ok, work->points[POINT_GRIP].ok, (size_t)work->n * sizeof *work->hands.ok);
        motion_filter(work, MOTION_BODY_HZ, work->hands.at, work->hands.ok, 0, work->n);
    } else if (lead->at != NULL) {
        middle(&work->hands, lead, trail->at != NULL ? trail : lead, work->n);
    } else {
        return false;
    }
    for (int i = 0; i < work->n; i++) {
        known += work->hands.ok[i];
    }
    return known >= HANDS_SEEN_MIN * work->n;
}

bool motion_prepare(struct motion_work *work)
{
    find_repeats(work);
    for (int p = 0; p < POINT_COUNT; p++) {
        if (work->record->at[p] != NULL) {
            fill_point(work, (enum point)p, work->hub.ok);
        }
    }
    if (work->record->at[POINT_GRIP] == NULL && work->points[POINT_GRIP].at != NULL) {
        grip_from_butt(work);
    }
    for (int r = 0; r < RAW_COUNT; r++) {
        if (work->raw[r] != NULL) {
            memcpy(work->raw[r], work->points[raw_points[r]].at, (size_t)work->n * sizeof *work->raw[r]);
        }
    }
    for (int p = 0; p < POINT_COUNT; p++) {
        if (work->points[p].at != NULL && p != POINT_BALL) {
            double corner = motion_is_club((enum point)p) ? MOTION_CLUB_HZ : MOTION_BODY_HZ;
            motion_filter(work, corner, work->points[p].at, work->points[p].ok, 0, work->n);
        }
    }
    work->out->noise_m = body_noise(work);
    if (work->points[POINT_LEAD_SHOULDER].at != NULL && work->points[POINT_TRAIL_SHOULDER].at != NULL) {
        middle(&work->hub, &work->points[POINT_LEAD_SHOULDER], &work->points[POINT_TRAIL_SHOULDER], work->n);
    } else {
        memset(work->hub.ok, 0, (size_t)work->n * sizeof *work->hub.ok);
    }
    return follow_hands(work);
}
