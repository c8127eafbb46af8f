/* How much each place of the rings looks like a thin line along the ray: centre against both sides. */
#include <math.h>
#include <string.h>

#include "core/finder/parts.h"

#define SHAFT_OF_CLUB 0.0115 /* the shaft's width of the club's length, about 11 mm of 0.95 m (common practice) */
#define METRES_OF_CLUB 0.95  /* hands to clubhead, middling */
#define NOISE_OF_MEAN 2.9    /* sd of what is compared, of the mean answer to noise alone (computed) */
#define NOISE_THIN 1.6       /* grey levels: less is never believed to be the noise */
#define NOISE_FAN 0.8
#define HIDDEN_LEAST (-FINDER_ONE / 3)
#define BLOCK_ROWS 8
#define BLOCK_COLUMNS 64
#define WHOLE_COUNTS 0.25 /* of the whole picture's noise: no block is calmer */
#define STILL_TAKES 0.5F  /* of the answer, where the ground answers as much */
#define FULL 3.5F         /* times the noise: more says no more */

static const double fans[FINDER_CHANNELS] = {0.0, 5.0, 11.0, 22.0}; /* degrees */

double finder_fan(int channel)
{
    return fans[channel];
}

double finder_thin(const struct finder_work *work)
{
    return fmax(1.6, SHAFT_OF_CLUB * work->club);
}

/* ---- the body ---- */

struct segment {
    enum point from, to;
    double radius_m;
};

static const struct segment segments[] = {
    {POINT_LEAD_WRIST, POINT_LEAD_ELBOW, 0.045},      {POINT_TRAIL_WRIST, POINT_TRAIL_ELBOW, 0.045},
    {POINT_LEAD_ELBOW, POINT_LEAD_SHOULDER, 0.06},    {POINT_TRAIL_ELBOW, POINT_TRAIL_SHOULDER, 0.06},
    {POINT_LEAD_HIP, POINT_LEAD_KNEE, 0.09},          {POINT_TRAIL_HIP, POINT_TRAIL_KNEE, 0.09},
    {POINT_LEAD_KNEE, POINT_LEAD_ANKLE, 0.06},        {POINT_TRAIL_KNEE, POINT_TRAIL_ANKLE, 0.06},
    {POINT_LEAD_SHOULDER, POINT_LEAD_HIP, 0.08},      {POINT_TRAIL_SHOULDER, POINT_TRAIL_HIP, 0.08},
    {POINT_LEAD_SHOULDER, POINT_TRAIL_SHOULDER, .08}, {POINT_LEAD_HIP, POINT_TRAIL_HIP, 0.09},
};

static void mask_segment(struct finder_work *work, const struct swing_mark *a, const struct swing_mark *b,
                         double radius)
{
    const double au = (a->u - work->left) / work->shrink - 0.5 - work->u;
    const double av = (a->v - work->top) / work->shrink - 0.5 - work->v;
    const double lu = (b->u - a->u) / work->shrink;
    const double lv = (b->v - a->v) / work->shrink;
    const double squared = lu * lu + lv * lv;

    if (!isfinite(squared) || !isfinite(au) || !isfinite(av)) {
        return;
    }
    const double length = sqrt(squared);
    for (int j = 0; j < FINDER_MASK_ROWS; j++) {
        const int ring = j * (FINDER_ROWS / FINDER_MASK_ROWS);
        for (int i = 0; i < FINDER_MASK_COLUMNS; i++) {
            const int column = i * (FINDER_COLUMNS / FINDER_MASK_COLUMNS);
            const double c = work->cosine[column];
            const double s = work->sine[column];
            const double u = c * work->radius[ring] - au;
            const double v = s * work->radius[ring] - av;
            const double share = squared > 0.0 ? fmax(0.0, fmin(1.0, (u * lu + v * lv) / squared)) : 0.0;
            const double du = u - share * lu;
            const double dv = v - share * lv;
            if (du * du + dv * dv > radius * radius) {
                continue;
            }
            const bool along = fabs(c * lv - s * lu) <= 0.35 * length; /* a disc lies along every ray */
            const unsigned char kind = along ? FINDER_ALONG : FINDER_CROSSED;
            work->mask[j][i] = work->mask[j][i] > kind ? work->mask[j][i] : kind;
        }
    }
}

/* The trunk between the middles of shoulders and hips, which both sides' segments leave open. */
static void mask_trunk(struct finder_work *work, const struct swing_mark *points, double radius)
{
    const struct swing_mark *a = &points[POINT_LEAD_SHOULDER];
    const struct swing_mark *b = &points[POINT_TRAIL_SHOULDER];
    const struct swing_mark *c = &points[POINT_LEAD_HIP];
    const struct swing_mark *d = &points[POINT_TRAIL_HIP];

    if (a->seen && b->seen && c->seen && d->seen) {
        const struct swing_mark top = {.u = 0.5 * (a->u + b->u), .v = 0.5 * (a->v + b->v)};
        const struct swing_mark bottom = {.u = 0.5 * (c->u + d->u), .v = 0.5 * (c->v + d->v)};
        mask_segment(work, &top, &bottom, radius);
    }
}

void finder_mask(struct finder_work *work, const struct swing_mark *points)
{
    const double metre = work->club / METRES_OF_CLUB;

    memset(work->mask, FINDER_CLEAR, sizeof work->mask);
    for (size_t k = 0; k < sizeof segments / sizeof *segments; k++) {
        const struct swing_mark *a = &points[segments[k].from];
        const struct swing_mark *b = &points[segments[k].to];
        if (a->seen && b->seen) {
            mask_segment(work, a, b, segments[k].radius_m * metre);
        }
    }
    if (points[POINT_HEAD].seen) {
        mask_segment(work, &points[POINT_HEAD], &points[POINT_HEAD], 0.17 * metre);
    }
    mask_trunk(work, points, 0.17 * metre);
}

/* ---- a ring's answer ---- */

static float lower(float a, float b)
{
    return a < b ? a : b;
}

static float higher(float a, float b)
{
    return a < b ? b : a;
}

/* Windows of whole columns: the centre 2 * half + 1, then a gap on either side, then a flank. */
struct window {
    int half, gap, flank;
};

static struct window window_of(const struct finder_work *work, int channel, int row)
{
    const double columns = FINDER_COLUMNS / (2.0 * FINDER_PI * work->radius[row]); /* of a small pixel */
    const double fan = fans[channel] / 360.0 * FINDER_COLUMNS;
    const double thin = finder_thin(work) * columns;
    struct window out;

    out.half = (int)floor(0.5 * (thin + fan));
    out.gap = (int)ceil(0.35 * thin + 0.15 * fan);
    out.flank = (int)ceil(fmax(2.0, 0.8 * thin + 0.5 * fan));
    const int room = FINDER_PAD - 1;
    if (out.half + out.gap + out.flank > room) { /* a short club's first rings */
        out.half = room / 3;
        out.gap = room / 6;
        out.flank = room / 3;
    }
    return out;
}

/* Signed: how much the centre stands out from the side that it stands out from less; 0 when it lies between them. */
static void ring_answer(const float *restrict prefix, struct window w, float *restrict out)
{
    const float centre_share = 1.0F / (float)(2 * w.half + 1);
    const float flank_share = 1.0F / (float)w.flank;
    const float *c0 = prefix + FINDER_PAD - w.half;
    const float *c1 = prefix + FINDER_PAD + w.half + 1;
    const float *a0 = prefix + FINDER_PAD - w.half - w.gap - w.flank;
    const float *a1 = prefix + FINDER_PAD - w.half - w.gap;
    const float *b0 = prefix + FINDER_PAD + w.half + 1 + w.gap;
    const float *b1 = prefix + FINDER_PAD + w.half + 1 + w.gap + w.flank;

    for (int i = 0; i < FINDER_COLUMNS; i++) {
        const float centre = (c1[i] - c0[i]) * centre_share;
        const float a = centre - (a1[i] - a0[i]) * flank_share;
        const float b = centre - (b1[i] - b0[i]) * flank_share;
        out[i] = higher(0.0F, lower(a, b)) + lower(0.0F, higher(a, b));
    }
}

static void sum_up(const float *ring, float *prefix)
{
    float sum = 0.0F;
    prefix[0] = 0.0F;
    for (int i = 0; i < FINDER_WIDE; i++) {
        sum += ring[i];
        prefix[i + 1] = sum;
    }
}

static void sum_difference(const float *ring, const float *ground, float *prefix)
{
    float sum = 0.0F;
    prefix[0] = 0.0F;
    for (int i = 0; i < FINDER_WIDE; i++) {
        sum += ring[i] - ground[i];
        prefix[i + 1] = sum;
    }
}

/* The shaft's own width. What stands still answers less; what moved answers against its ground as well. */
static void answer_thin(struct finder_work *work, int row)
{
    float *restrict out = work->answer[0][row];
    float *restrict share = work->still[row];
    const struct window w = window_of(work, 0, row);
    float *restrict picture = work->line[0];
    float *restrict ground = work->line[1];
    float *restrict moved = work->line[2];

    sum_up(work->ring[0][row], work->prefix);
    ring_answer(work->prefix, w, picture);
    if (!work->has_ground) {
        for (int i = 0; i < FINDER_COLUMNS; i++) {
            out[i] = higher(picture[i], -picture[i]);
            share[i] = 0.0F;
        }
        return;
    }
    sum_up(work->ring[1][row], work->prefix);
    ring_answer(work->prefix, w, ground);
    sum_difference(work->ring[0][row], work->ring[1][row], work->prefix);
    ring_answer(work->prefix, w, moved);
    for (int i = 0; i < FINDER_COLUMNS; i++) {
        const float now = higher(picture[i], -picture[i]);
        const float still = higher(ground[i], -ground[i]);
        const float new_here = higher(moved[i], -moved[i]) - still;
        out[i] = higher(now, new_here);
        share[i] = now >= new_here ? lower(now, still) / (now + 1e-3F) : 0.0F;
    }
}

/* A fan: in what moved, less what the ground itself answers there (a club that stands in the ground leaves its trace
 * when it goes); or in the picture itself where no ground is known. */
static void answer_fan(struct finder_work *work, int channel, int row)
{
    float *restrict out = work->answer[channel][row];
    const struct window w = window_of(work, channel, row);
    float *restrict ground = work->line[1];
    float *restrict moved = work->line[2];

    memset(work->line[1], 0, sizeof work->line[1]);
    if (work->has_ground) {
        sum_up(work->ring[1][row], work->prefix);
        ring_answer(work->prefix, w, ground);
        sum_difference(work->ring[0][row], work->ring[1][row], work->prefix);
    } else {
        sum_up(work->ring[0][row], work->prefix);
    }
    ring_answer(work->prefix, w, moved);
    for (int i = 0; i < FINDER_COLUMNS; i++) {
        out[i] = higher(0.0F, higher(moved[i], -moved[i]) - higher(ground[i], -ground[i]));
    }
}

/* Mean answer of a block, in which a shaft's few columns hardly count. */
static double mean_of(const struct finder_work *work, int channel, int row, int rows, int column, int columns)
{
    double sum = 0.0;

    for (int j = row; j < row + rows; j++) {
        float part = 0.0F;
        for (int i = column; i < column + columns; i++) {
            part += lower(work->answer[channel][j][i], 24.0F);
        }
        sum += (double)part;
    }
    return sum / (rows * columns);
}

/* Divides a block by its noise; what stands still counts less. */
static void block_over_noise(struct finder_work *work, int channel, int row, int column, double noise)
{
    const float share = (float)(1.0 / noise);

    for (int j = row; j < row + BLOCK_ROWS; j++) {
        float *restrict answer = work->answer[channel][j] + column;
        const float *restrict still = work->still[j] + column;
        for (int k = 0; k < BLOCK_COLUMNS; k++) {
            answer[k] = lower(FULL, answer[k] * share);
        }
        for (int k = 0; channel == 0 && k < BLOCK_COLUMNS; k++) {
            answer[k] *= 1.0F - STILL_TAKES * still[k];
        }
    }
}

/* A thin line is held against what is about it: sky is calmer than leaves. A fan, and a thin line in the inner rings,
 * where it fills much of a block, against the whole. */
static void over_noise(struct finder_work *work, int channel)
{
    const int first = (int)((FINDER_GRIP - FINDER_RING_FIRST) * work->club / work->step);
    const double whole = NOISE_OF_MEAN * mean_of(work, channel, first, FINDER_ROWS - first, 0, FINDER_COLUMNS);
    const double least = fmax(channel == 0 ? NOISE_THIN : NOISE_FAN, WHOLE_COUNTS * whole);

    for (int j = 0; j < FINDER_ROWS; j += BLOCK_ROWS) {
        for (int i = 0; i < FINDER_COLUMNS; i += BLOCK_COLUMNS) {
            const bool local = channel == 0 && j >= 2 * BLOCK_ROWS;
            const double here = local ? NOISE_OF_MEAN * mean_of(work, 0, j, BLOCK_ROWS, i, BLOCK_COLUMNS) : whole;
            block_over_noise(work, channel, j, i, fmax(least, here));
        }
    }
}

/* Less where a segment of the body lies along the ray, or where a fan lies on the body at all. */
static void less_body(struct finder_work *work, int channel)
{
    static const float thin[] = {1.0F, 0.8F, 0.35F};
    static const float fan[] = {1.0F, 0.15F, 0.0F};
    const float *share = channel == 0 ? thin : fan;
    const int columns = FINDER_COLUMNS / FINDER_MASK_COLUMNS;

    for (int j = 0; j < FINDER_ROWS; j++) {
        const unsigned char *mask = work->mask[j * FINDER_MASK_ROWS / FINDER_ROWS];
        for (int i = 0; i < FINDER_MASK_COLUMNS; i++) {
            if (mask[i] == FINDER_CLEAR) {
                continue;
            }
            for (int k = 0; k < columns; k++) {
                work->answer[channel][j][i * columns + k] *= share[mask[i]];
            }
        }
    }
}

/* From answers to scores: nothing at the noise, the full score at three times it, a loss below. */
static void score_rows(struct finder_work *work, int channel)
{
    for (int j = 0; j < FINDER_ROWS; j++) {
        const bool hands = work->radius[j] < FINDER_GRIP * work->club;
        const float least = hands ? 0.0F : -0.5F * FINDER_ONE;
        const float scale = (hands ? 0.25F : 0.5F) * FINDER_ONE;
        const float *restrict answer = work->answer[channel][j];
        short *restrict out = work->score[channel][j];
        for (int i = 0; i < FINDER_COLUMNS; i++) {
            const float value = (answer[i] - 1.0F) * scale;
            out[FINDER_PAD + i] = (short)(int)lower(2.0F * scale, higher(least, value));
        }
        /* Before the body a club may be hidden: that speaks less against it. */
        for (int i = 0; i < FINDER_COLUMNS; i++) {
            const bool body = channel == 0 && finder_body_at(work, j, i) != FINDER_CLEAR;
            const short value = out[FINDER_PAD + i];
            out[FINDER_PAD + i] = j >= work->limit[i] ? 0 : body && value < HIDDEN_LEAST ? HIDDEN_LEAST : value;
        }
        memcpy(out, out + FINDER_COLUMNS, FINDER_PAD * sizeof *out);
        memcpy(out + FINDER_PAD + FINDER_COLUMNS, out + FINDER_PAD, FINDER_PAD * sizeof *out);
    }
}

void finder_answers(struct finder_work *work)
{
    for (int channel = 0; channel < FINDER_CHANNELS; channel++) {
        for (int row = 0; row < FINDER_ROWS; row++) {
            if (channel == 0) {
                answer_thin(work, row);
            } else {
                answer_fan(work, channel, row);
            }
        }
        over_noise(work, channel);
        less_body(work, channel);
        score_rows(work, channel);
    }
}
