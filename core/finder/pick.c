/* The rays of a picture: the best runs along lines that pass the hands within their error, each then fitted. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/finder/parts.h"

#define OFFSETS_MAX 17
#define OFFSET_SDS 2.5 /* how far from the hands a line may pass */
#define RINGS_MIN 4.0  /* a run that counts for less is none */
#define START_MAX 0.36 /* of the club: a run that starts farther out did not start in the hands */
#define APART_DEG 5.0  /* two rays nearer than this are one */
#define FAN_COUNTS 13  /* sixteenths of a fan's run: it must be so much better than a thin line */
#define NARROW_COUNTS 0.8
#define FIT_PASSES 4
#define SD_FLOOR_PX 0.18 /* small pixels: sampling and the shaft's bend */
#define SD_OF_FAN 0.12   /* of the fan's width: its middle is found no better */

/* Columns by which a line that passes `offset` small pixels beside the hands is turned at a ring. */
static bool shift_at(const struct finder_work *work, int row, double offset, int *out)
{
    const double sine = offset / (double)work->radius[row];

    if (fabs(sine) > 0.8) {
        return false;
    }
    *out = (int)lround(asin(sine) * FINDER_COLUMNS / (2.0 * FINDER_PI));
    return abs(*out) < FINDER_PAD;
}

/* Best run of every direction, for one channel and one offset: out from the hands, up to where the sum is highest. */
static void accumulate(struct finder_work *work, int channel, int which, double offset)
{
    short *restrict run = work->run;
    short *restrict high = work->high;

    memset(work->run, 0, sizeof work->run);
    memset(work->high, 0, sizeof work->high);
    for (int j = 0; j < FINDER_ROWS; j++) {
        int shift;
        if (!shift_at(work, j, offset, &shift)) {
            continue;
        }
        const short *restrict score = work->score[channel][j] + FINDER_PAD + shift;
        for (int i = 0; i < FINDER_COLUMNS; i++) {
            const short sum = (short)(run[i] + score[i]);
            run[i] = sum;
            high[i] = sum > high[i] ? sum : high[i];
        }
    }
    const short code = (short)(channel * OFFSETS_MAX + which);
    const short less = channel == 0 ? 16 : FAN_COUNTS;
    for (int i = 0; i < FINDER_COLUMNS; i++) {
        const short value = (short)(high[i] * less / 16);
        const bool better = value > work->total[i];
        work->total[i] = better ? value : work->total[i];
        work->who[i] = better ? code : work->who[i];
    }
}

/* Offsets looked at: odd, the middle one through the hands. */
static int offset_count(const struct finder_work *work, double *step)
{
    const double reach = fmin(OFFSET_SDS * work->sd, 0.12 * work->club);
    int each = (int)ceil(reach / 1.8);

    each = each < 1 ? 1 : each > OFFSETS_MAX / 2 ? OFFSETS_MAX / 2 : each;
    *step = fmax(reach / each, 0.5);
    return 2 * each + 1;
}

/* A straight line through what answers: across = offset + slope * along, in the turned frame of a direction. */
struct fit {
    double offset, slope;
    double sd_slope;
    int used;
};

/* The answer's centre across the line at one ring, near where the line runs. Returns its weight. */
static double centre_at(const struct finder_work *work, int channel, int row, double direction, double across,
                        double *along, double *found)
{
    const float *answer = work->answer[channel][row];
    const double radius = work->radius[row];
    const double fan = finder_fan(channel) / 360.0 * 2.0 * FINDER_PI * radius;
    const double reach = 1.3 * finder_thin(work) + 0.6 * fan;
    const double columns = FINDER_COLUMNS / (2.0 * FINDER_PI);
    const double sine = across / radius;
    double sum = 0.0;
    double moment = 0.0;

    if (fabs(sine) > 0.8) {
        return 0.0;
    }
    const double middle = (direction + asin(sine)) * columns;
    const int half = (int)fmin(FINDER_PAD, ceil(reach / radius * columns));
    for (int k = -half; k <= half; k++) {
        const int column = (int)lround(middle) + k;
        const double value = answer[column & (FINDER_COLUMNS - 1)];
        const double beside = radius * sin(column / columns - direction);
        if (value > 0.5 && fabs(beside - across) <= reach) {
            sum += value;
            moment += value * beside;
        }
    }
    if (sum <= 0.0) {
        return 0.0;
    }
    *found = moment / sum;
    *along = sqrt(fmax(0.0, radius * radius - *found * *found));
    return fmin(1.0, sum / (2.0 * half + 1.0));
}

struct sums {
    double w, x, y, xx, xy;
};

static bool solve(const struct sums *s, struct fit *fit)
{
    const double spread = s->xx - s->x * s->x / s->w;

    if (!(spread > 1e-6)) {
        return false;
    }
    fit->slope = (s->xy - s->x * s->y / s->w) / spread;
    fit->offset = (s->y - fit->slope * s->x) / s->w;
    return true;
}

/* Fits a line to a run, from where the search saw it; what lies far off is left out from the second pass on. */
static bool fit_run(const struct finder_work *work, int channel, int first, int last, double direction, double offset,
                    struct fit *fit)
{
    double limit = 1e9;

    *fit = (struct fit){offset, 0.0, 0.0, 0};
    for (int pass = 0; pass < FIT_PASSES; pass++) {
        const struct fit before = *fit;
        struct sums s = {0.0, 0.0, 0.0, 0.0, 0.0};
        double squares = 0.0;
        int used = 0;
        for (int j = first; j <= last; j++) {
            double along = 0.0;
            double found = 0.0;
            const double guess = before.offset + before.slope * work->radius[j];
            const double weight = centre_at(work, channel, j, direction, guess, &along, &found);
            if (weight <= 0.0) {
                continue;
            }
            const double off = found - before.offset - before.slope * along;
            if (fabs(off) > limit) {
                continue;
            }
            s.w += weight;
            s.x += weight * along;
            s.y += weight * found;
            s.xx += weight * along * along;
            s.xy += weight * along * found;
            squares += weight * off * off;
            used++;
        }
        if (used < 3 || !solve(&s, fit)) {
            return false;
        }
        const double scatter = sqrt(squares / s.w);
        const double spread = (s.xx - s.x * s.x / s.w) / s.w; /* of the places along, squared */
        limit = fmax(1.0, 2.5 * scatter);
        fit->used = used;
        fit->sd_slope = hypot(scatter / sqrt(0.7 * used), SD_FLOOR_PX) / sqrt(spread);
    }
    return true;
}

/* The run along a fitted line, told anew: first and last ring, and whether the picture ends there. */
struct run {
    int first, last;
    double sum;
    bool open;
};

static bool run_of(const struct finder_work *work, int channel, double direction, double offset, struct run *out)
{
    double sum = 0.0;
    int first = -1;
    int open_rings = 0; /* clear ones before the run: there the shaft would show */

    *out = (struct run){0, -1, 0.0, false};
    for (int j = 0; j < FINDER_ROWS; j++) {
        const double sine = offset / (double)work->radius[j];
        if (fabs(sine) > 0.8) {
            continue;
        }
        const int column =
            (int)lround((direction + asin(sine)) * FINDER_COLUMNS / (2.0 * FINDER_PI)) & (FINDER_COLUMNS - 1);
        const double score = (double)work->score[channel][j][FINDER_PAD + column] / FINDER_ONE;
        sum += score;
        if (first < 0 && score > 0.15) {
            first = j;
        }
        open_rings += first < 0 && finder_body_at(work, j, column) == FINDER_CLEAR;
        if (sum > out->sum) {
            const int next = j + 1;
            out->sum = sum;
            out->last = j;
            out->open = next < FINDER_ROWS && next + 1 < work->limit[column] &&
                        finder_body_at(work, next, column) == FINDER_CLEAR;
        }
    }
    out->first = first;
    return first >= 0 && out->last > first && out->sum >= RINGS_MIN &&
           (FINDER_RING_FIRST * work->club + open_rings * work->step) < START_MAX * work->club;
}

/* A run in one channel near a line, fitted and told anew. */
struct line {
    int channel;
    double direction, offset; /* radians; small pixels */
    double sd;                /* radians */
    struct run run;
};

static bool settle_line(const struct finder_work *work, struct line *line)
{
    struct fit fit;

    if (!run_of(work, line->channel, line->direction, line->offset, &line->run) ||
        !fit_run(work, line->channel, line->run.first, line->run.last, line->direction, line->offset, &fit)) {
        return false;
    }
    const double turn = atan(fit.slope);
    if (fabs(turn) > 0.15 || fabs(fit.offset) > 0.3 * work->club) { /* not the line that was seen */
        return false;
    }
    line->direction += turn;
    line->offset = fit.offset * cos(turn);
    line->sd = fit.sd_slope;
    return run_of(work, line->channel, line->direction, line->offset, &line->run);
}

/* The geometric mean of two shares: how much of the club answers, and how much of the run does. A club that points
 * toward the camera is short and answers at every ring; clutter answers here and there over a long way. */
static double score_of(const struct finder_work *work, const struct run *run)
{
    const double whole = (FINDER_RING_LAST - 0.1 - FINDER_GRIP) * work->club / work->step;
    const double grip = (FINDER_GRIP - FINDER_RING_FIRST) * work->club / work->step;
    const double rings = fmax(RINGS_MIN, run->last + 1 - grip);

    return sqrt(fmin(1.0, run->sum / whole) * fmin(1.0, run->sum / rings));
}

/* One ray of the column that scored best. A fan that a narrower channel sees nearly as well is no fan. */
static bool ray_of(const struct finder_work *work, int column, const double *offsets, struct finder_ray *out)
{
    struct line line = {.channel = work->who[column] / OFFSETS_MAX,
                        .direction = column * 2.0 * FINDER_PI / FINDER_COLUMNS,
                        .offset = offsets[work->who[column] % OFFSETS_MAX]};

    if (!settle_line(work, &line)) {
        return false;
    }
    for (int channel = 0; channel < line.channel; channel++) {
        struct line narrow = {.channel = channel, .direction = line.direction, .offset = line.offset};
        if (settle_line(work, &narrow) && narrow.run.sum >= NARROW_COUNTS * line.run.sum) {
            line = narrow;
        }
    }
    const double k = work->shrink;
    const double fan = finder_fan(line.channel);
    const double middle = 0.5 * (double)(work->radius[line.run.first] + work->radius[line.run.last]);
    out->angle_deg = fmod(line.direction * 180.0 / FINDER_PI + 720.0, 360.0);
    out->sd_deg = hypot(line.sd * 180.0 / FINDER_PI, SD_OF_FAN * fan);
    out->u = (work->u - line.offset * sin(line.direction) + 0.5) * k + work->left;
    out->v = (work->v + line.offset * cos(line.direction) + 0.5) * k + work->top;
    out->from_px = ((double)work->radius[line.run.first] - 0.5 * work->step) * k;
    out->to_px = ((double)work->radius[line.run.last] + 0.5 * work->step) * k;
    out->score = score_of(work, &line.run);
    out->width_px = (finder_thin(work) + fan / 180.0 * FINDER_PI * middle) * k;
    out->fan_deg = fan;
    finder_head(work, line.direction, line.offset, line.run.last, &out->head_px, &out->head_sd_px);
    out->head_px *= k;
    out->head_sd_px *= k;
    out->end_open = line.run.open;
    return true;
}

static double apart(double a, double b)
{
    const double d = fabs(fmod(a - b + 540.0, 360.0) - 180.0);
    return d;
}

/* Takes the best column, and leaves its neighbours out from then on. */
static int best_column(struct finder_work *work)
{
    int best = -1;
    short high = (short)(RINGS_MIN * FINDER_ONE * 0.85);

    for (int i = 0; i < FINDER_COLUMNS; i++) {
        if (work->total[i] > high) {
            high = work->total[i];
            best = i;
        }
    }
    if (best < 0) {
        return -1;
    }
    const double fan = finder_fan(work->who[best] / OFFSETS_MAX);
    const int half = (int)((0.5 * APART_DEG + 0.3 * fan) / 360.0 * FINDER_COLUMNS);
    for (int k = -half; k <= half; k++) {
        work->total[(best + k) & (FINDER_COLUMNS - 1)] = 0;
    }
    return best;
}

/* By score, best first. */
static void keep(struct finder_ray *rays, int *count, const struct finder_ray *ray)
{
    for (int i = 0; i < *count; i++) {
        if (apart(rays[i].angle_deg, ray->angle_deg) < APART_DEG) {
            if (rays[i].score >= ray->score) {
                return;
            }
            memmove(&rays[i], &rays[i + 1], (size_t)(*count - i - 1) * sizeof *rays);
            (*count)--;
            break;
        }
    }
    int at = *count;
    while (at > 0 && rays[at - 1].score < ray->score) {
        at--;
    }
    if (at >= FINDER_RAYS) {
        return;
    }
    const int kept = *count < FINDER_RAYS ? *count : FINDER_RAYS - 1;
    memmove(&rays[at + 1], &rays[at], (size_t)(kept - at) * sizeof *rays);
    rays[at] = *ray;
    *count = kept + 1;
}

int finder_pick(struct finder_work *work, struct finder_ray out[FINDER_RAYS])
{
    double offsets[OFFSETS_MAX];
    double step;
    const int offset_n = offset_count(work, &step);
    int count = 0;

    memset(work->total, 0, sizeof work->total);
    memset(work->who, 0, sizeof work->who);
    for (int k = 0; k < offset_n; k++) {
        const int beside =
            (k + 1) / 2 * (k % 2 ? 1 : -1); /* 0, 1, -1, 2, ...: of equals the nearest to the hands wins */
        offsets[k] = beside * step;
        for (int channel = 0; channel < FINDER_CHANNELS; channel++) {
            if (channel == 0 || abs(beside) % 2 == 0) {
                accumulate(work, channel, k, offsets[k]);
            }
        }
    }
    for (int tries = 0; tries < 3 * FINDER_RAYS; tries++) {
        struct finder_ray ray;
        const int column = best_column(work);
        if (column < 0) {
            break;
        }
        if (ray_of(work, column, offsets, &ray)) {
            keep(out, &count, &ray);
        }
    }
    return count;
}

size_t finder_frame_bytes(void)
{
    return sizeof(struct finder_work);
}

static bool good_picture(const struct finder_picture *picture)
{
    return picture->grey != NULL && picture->width >= FINDER_SIDE_MIN && picture->width <= FINDER_SIDE_MAX &&
           picture->height >= FINDER_SIDE_MIN && picture->height <= FINDER_SIDE_MAX &&
           picture->stride >= (size_t)picture->width;
}

int finder_frame(const struct finder_picture *picture, const unsigned char *ground, const struct swing_mark *points,
                 double club_px, void *work, struct finder_ray out[FINDER_RAYS])
{
    struct finder_work *w = work;
    struct swing_mark hands;

    if (picture == NULL || points == NULL || work == NULL || out == NULL || !good_picture(picture)) {
        return -1;
    }
    const double longer = picture->width > picture->height ? picture->width : picture->height;
    if (!(club_px >= FINDER_CLUB_MIN && club_px <= longer) || !finder_hands(points, &hands) ||
        !(hands.u >= 0.0 && hands.u < picture->width && hands.v >= 0.0 && hands.v < picture->height)) {
        return -1;
    }
    w->shrink = (int)ceil(club_px / FINDER_SMALL_CLUB);
    w->club = club_px / w->shrink;
    w->u = hands.u;
    w->v = hands.v;
    w->sd = fmax(0.5, fmin(hands.sd, club_px)) / w->shrink;
    if (!finder_rings(w, picture, ground)) {
        return 0;
    }
    finder_mask(w, points);
    finder_answers(w);
    return finder_pick(w, out);
}
