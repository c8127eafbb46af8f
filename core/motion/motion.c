/* From a motion record to its summary: memory, the order of the steps, and whether the points can be a golfer. */
#include "core/motion/motion.h"

#include <math.h>
#include <string.h>

#include "core/motion/parts.h"

#define LEAST_S 0.5 /* no swing is shorter */
#define LEAST_SAMPLES 16
#define NECK_MIN_M 0.55 /* above the ankles, bent over a ball: a small child's */
#define NECK_MAX_M 2.1
#define WRONG_SIDE 0.3     /* of the line's length: a side this far on the wrong side is swapped */
#define FILTER_PAD_MAX 400 /* MOTION_RATE_MAX over 6 Hz */

NAMES(motion_issue, enum motion_issue, MOTION_ISSUE_NAMES);
NAMES(motion_segment, enum motion_segment, MOTION_SEGMENT_NAMES);

/* The grip can be told from the butt and the clubhead. */
static bool has_point(const struct motion_record *record, int point)
{
    return record->at[point] != NULL ||
           (point == POINT_GRIP && record->at[POINT_BUTT] != NULL && record->at[POINT_CLUBHEAD] != NULL);
}

/* Bytes of one array, so that the next begins aligned. */
static size_t room(size_t count, size_t size)
{
    return (count * size + sizeof(double) - 1) / sizeof(double) * sizeof(double);
}

/* Past it the filter's padding would not fit its memory. Not so for NaN. */
static bool rate_fits(const struct motion_record *record)
{
    return record->rate_hz >= MOTION_RATE_MIN && record->rate_hz <= MOTION_RATE_MAX;
}

size_t motion_work_bytes(const struct motion_record *record)
{
    if (record->count < 1 || record->count > MOTION_SAMPLES_MAX || !rate_fits(record)) {
        return 0;
    }
    size_t n = (size_t)record->count;
    size_t places = room(n, sizeof(struct vec3));
    size_t flags = room(n, sizeof(bool));
    size_t tracks = 2; /* hands and hub */
    for (int p = 0; p < POINT_COUNT; p++) {
        tracks += has_point(record, p);
    }
    return tracks * (places + flags) + (RAW_COUNT + 1) * places + flags +
           (MOTION_SERIES + 3) * room(n, sizeof(double)) + 6 * room(FILTER_PAD_MAX, sizeof(double));
}

static void *take(unsigned char **next, size_t count, size_t size)
{
    void *at = *next;
    *next += room(count, size);
    return at;
}

static void track_take(unsigned char **next, size_t n, struct motion_track *track)
{
    track->at = take(next, n, sizeof *track->at);
    track->ok = take(next, n, sizeof *track->ok);
}

static void work_init(struct motion_work *work, const struct motion_record *record, void *memory,
                      struct motion_summary *out)
{
    static const enum point raw_points[RAW_COUNT] = {POINT_GRIP, POINT_BUTT, POINT_CLUBHEAD};
    unsigned char *next = memory;
    size_t n = (size_t)record->count;

    *work = (struct motion_work){.record = record, .out = out, .n = record->count, .rate = record->rate_hz};
    for (int p = 0; p < POINT_COUNT; p++) {
        if (has_point(record, p)) {
            track_take(&next, n, &work->points[p]);
        }
    }
    track_take(&next, n, &work->hands);
    track_take(&next, n, &work->hub);
    for (int r = 0; r < RAW_COUNT; r++) {
        if (has_point(record, (int)raw_points[r])) {
            work->raw[r] = take(&next, n, sizeof *work->raw[r]);
        }
    }
    work->scratch = take(&next, n, sizeof *work->scratch);
    work->repeats = take(&next, n, sizeof *work->repeats);
    for (int s = 0; s < MOTION_SERIES; s++) {
        work->series[s] = take(&next, n, sizeof *work->series[s]);
    }
    work->filter = take(&next, 3 * n + (size_t)6 * FILTER_PAD_MAX, sizeof *work->filter);
}

/* A place while the player stands: at the start, or at the record's first sample that shows it. */
static bool standing(const struct motion_work *work, enum point point, struct vec3 *out)
{
    const struct motion_track *track = &work->points[point];
    int from = work->has_start ? (int)work->start : work->from;

    for (int i = from; track->at != NULL && i < (int)work->top; i++) {
        if (track->ok[i]) {
            *out = track->at[i];
            return true;
        }
    }
    return false;
}

static bool body_height(const struct motion_work *work, double *height)
{
    static const enum point tops[] = {POINT_NECK, POINT_LEAD_SHOULDER, POINT_TRAIL_SHOULDER, POINT_HEAD};
    struct vec3 top;
    struct vec3 ankle;

    if (!standing(work, POINT_LEAD_ANKLE, &ankle) && !standing(work, POINT_TRAIL_ANKLE, &ankle)) {
        return false;
    }
    for (size_t i = 0; i < sizeof tops / sizeof *tops; i++) {
        if (standing(work, tops[i], &top)) {
            *height = top.y - ankle.y;
            return true;
        }
    }
    return false;
}

/* Signs: +1 as it should be, -1 clearly the other way, 0 unknown or unclear. */
static int facing(const struct motion_work *work)
{
    static const enum point feet[2][2] = {{POINT_LEAD_ANKLE, POINT_LEAD_TOE}, {POINT_TRAIL_ANKLE, POINT_TRAIL_TOE}};
    struct vec3 sum = {0.0, 0.0, 0.0};
    struct vec3 a;
    struct vec3 b;

    for (int f = 0; f < 2; f++) {
        if (standing(work, feet[f][0], &a) && standing(work, feet[f][1], &b)) {
            sum = vec_add(sum, vec_sub(b, a));
        }
    }
    if (vec_norm(sum) < 0.02 && standing(work, POINT_LEAD_HIP, &a) && standing(work, POINT_LEAD_WRIST, &b)) {
        sum = vec_sub(b, a); /* the hands hang in front */
    }
    double flat = hypot(sum.x, sum.z);
    return flat < 0.02 || fabs(sum.z) < WRONG_SIDE * flat ? 0 : sum.z > 0.0 ? 1 : -1;
}

static int sides(const struct motion_work *work)
{
    static const enum point pairs[3][2] = {{POINT_TRAIL_HIP, POINT_LEAD_HIP},
                                           {POINT_TRAIL_SHOULDER, POINT_LEAD_SHOULDER},
                                           {POINT_TRAIL_ANKLE, POINT_LEAD_ANKLE}};
    int sum = 0;

    for (int i = 0; i < 3; i++) {
        struct vec3 trail;
        struct vec3 lead;
        if (standing(work, pairs[i][0], &trail) && standing(work, pairs[i][1], &lead)) {
            struct vec3 line = vec_sub(lead, trail);
            double flat = hypot(line.x, line.z);
            sum += flat < 0.02 || fabs(line.x) < WRONG_SIDE * flat ? 0 : line.x > 0.0 ? 1 : -1;
        }
    }
    return sum > 0 ? 1 : sum < 0 ? -1 : 0;
}

/* Refuses points that are no golfer at the ball: a wrong unit or axis, the back to the ball, sides exchanged. */
static bool body_stands(struct motion_work *work)
{
    double height;

    if (body_height(work, &height) && !(height > NECK_MIN_M && height < NECK_MAX_M)) {
        motion_note(work, MOTION_NOT_A_BODY, true, POINT_COUNT, height);
        return false;
    }
    int front = facing(work);
    int side = sides(work);
    if (front < 0 && side <= 0) {
        motion_note(work, MOTION_FACES_AWAY, true, POINT_COUNT, 0.0);
        return false;
    }
    if (side < 0 || front < 0) {
        motion_note(work, MOTION_SIDES_SWAPPED, true, POINT_COUNT, 0.0);
        return false;
    }
    return true;
}

bool motion_analyse(const struct motion_record *record, void *memory, struct motion_summary *out)
{
    struct motion_work work;

    memset(out, 0, sizeof *out);
    out->rate_hz = record->rate_hz;
    out->duration_s = record->count > 1 && rate_fits(record) ? (record->count - 1) / record->rate_hz : 0.0;
    if (motion_work_bytes(record) == 0 || !(out->duration_s >= LEAST_S) || record->count < LEAST_SAMPLES) {
        work = (struct motion_work){.out = out};
        motion_note(&work, MOTION_TOO_SHORT, true, POINT_COUNT, out->duration_s);
        return false;
    }
    work_init(&work, record, memory, out);
    if (!motion_prepare(&work)) {
        motion_note(&work, MOTION_NO_HANDS, true, POINT_COUNT, 0.0);
        return false;
    }
    if (!motion_find_swing(&work) || !body_stands(&work)) {
        return false;
    }
    motion_find_club(&work);
    motion_find_checkpoints(&work);
    motion_find_speeds(&work);
    motion_find_paths(&work);
    return true;
}

double motion_lag_sd(const struct motion_peak *a, const struct motion_peak *b)
{
    const double alike = fmin(a->shared_s, b->shared_s);
    return sqrt(a->sd_s * a->sd_s + b->sd_s * b->sd_s - 2.0 * alike * alike);
}
