/* From a picture to rings round the hands, and the ground that stands still. */
#include <math.h>
#include <string.h>

#include "core/finder/parts.h"

#define BLOCK 256 /* pixels sorted at once */

static unsigned char least(unsigned char a, unsigned char b)
{
    return a < b ? a : b;
}

static unsigned char most(unsigned char a, unsigned char b)
{
    return a < b ? b : a;
}

/* Odd-even transposition sort of `count` values at each of BLOCK pixels at once; the same steps whatever the values
 * are. */
static void sort_block(unsigned char values[FINDER_GROUND_MAX][BLOCK], int count)
{
    for (int pass = 0; pass < count; pass++) {
        for (int k = pass % 2; k + 1 < count; k += 2) {
            unsigned char *restrict low = values[k];
            unsigned char *restrict high = values[k + 1];
            for (int i = 0; i < BLOCK; i++) {
                const unsigned char a = low[i];
                const unsigned char b = high[i];
                low[i] = least(a, b);
                high[i] = most(a, b);
            }
        }
    }
}

bool finder_ground(const unsigned char *const *pictures, int count, size_t pixels, unsigned char *out)
{
    unsigned char values[FINDER_GROUND_MAX][BLOCK];

    if (pictures == NULL || out == NULL || count < 1 || count > FINDER_GROUND_MAX) {
        return false;
    }
    memset(values, 0, sizeof values);
    for (size_t at = 0; at < pixels; at += BLOCK) {
        const size_t length = pixels - at < BLOCK ? pixels - at : BLOCK;
        for (int k = 0; k < count; k++) {
            memcpy(values[k], pictures[k] + at, length);
        }
        sort_block(values, count);
        memcpy(out + at, values[count / 2], length);
    }
    return true;
}

bool finder_hands(const struct swing_mark *points, struct swing_mark *out)
{
    const struct swing_mark *lead = &points[POINT_LEAD_WRIST];
    const struct swing_mark *trail = &points[POINT_TRAIL_WRIST];

    if (points[POINT_GRIP].seen) {
        *out = points[POINT_GRIP];
    } else if (lead->seen && trail->seen) {
        *out = *lead;
        out->u = 0.5 * (lead->u + trail->u);
        out->v = 0.5 * (lead->v + trail->v);
        out->sd = 0.5 * sqrt(lead->sd * lead->sd + trail->sd * trail->sd);
    } else if (lead->seen || trail->seen) {
        *out = lead->seen ? *lead : *trail;
    } else {
        return false;
    }
    return isfinite(out->u) && isfinite(out->v) && isfinite(out->sd);
}

/* Means of shrink x shrink pixels, 256 per grey level: down the columns first, a row of them at once. */
static void reduce(struct finder_work *work, const unsigned char *grey, size_t stride, unsigned short *out)
{
    const int k = work->shrink;
    const int width = work->side_u * k;
    const unsigned scale = 65536U / (unsigned)(k * k);
    unsigned short *restrict columns = work->columns;

    for (int b = 0; b < work->side_v; b++) {
        memset(columns, 0, (size_t)width * sizeof *columns);
        for (int y = 0; y < k; y++) {
            const unsigned char *restrict row = grey + (size_t)(work->top + b * k + y) * stride + (size_t)work->left;
            for (int x = 0; x < width; x++) {
                columns[x] = (unsigned short)(columns[x] + row[x]);
            }
        }
        const unsigned short *from = columns;
        for (int a = 0; a < work->side_u; a++) {
            unsigned sum = 0;
            for (int x = 0; x < k; x++) {
                sum += *from++;
            }
            out[b * work->side_u + a] = (unsigned short)((sum * scale) >> 8);
        }
    }
}

/* The part of the picture that the rings need, whole small pixels. */
static bool place_small(struct finder_work *work, const struct finder_picture *picture)
{
    const int k = work->shrink;
    const int reach = ((int)(1.12 * work->club) + 2) * k;
    const int hand_u = (int)work->u;
    const int hand_v = (int)work->v;
    const int right = hand_u + reach < picture->width ? hand_u + reach : picture->width;
    const int bottom = hand_v + reach < picture->height ? hand_v + reach : picture->height;

    work->left = hand_u - reach > 0 ? hand_u - reach : 0;
    work->top = hand_v - reach > 0 ? hand_v - reach : 0;
    work->side_u = (right - work->left) / k;
    work->side_v = (bottom - work->top) / k;
    work->u = (work->u - work->left) / k - 0.5;
    work->v = (work->v - work->top) / k - 0.5;
    return work->side_u > 4 && work->side_v > 4 && work->side_u <= FINDER_SMALL_SIDE &&
           work->side_v <= FINDER_SMALL_SIDE;
}

/* Which ring is the first whose outer sample leaves the picture, in each direction. */
static void limits(struct finder_work *work)
{
    for (int i = 0; i < FINDER_COLUMNS; i++) {
        const double du = work->cosine[i];
        const double dv = work->sine[i];
        double far = 1e9;
        if (fabs(du) > 1e-6) {
            far = fmin(far, ((du > 0.0 ? work->side_u - 1.5 : 0.5) - work->u) / du);
        }
        if (fabs(dv) > 1e-6) {
            far = fmin(far, ((dv > 0.0 ? work->side_v - 1.5 : 0.5) - work->v) / dv);
        }
        const double rings = (far - FINDER_RING_FIRST * work->club) / work->step;
        work->limit[i] = (short)fmax(0.0, fmin(FINDER_ROWS, floor(rings)));
    }
}

/* Adds what lies at one radius in every direction, between four pixels each; places in 1/64 of a small pixel. Outside
 * the picture its rim goes on. */
static void sample_circle(struct finder_work *work, const unsigned short *small, float radius, float *out)
{
    const float most_u = 64.0F * ((float)work->side_u - 1.05F);
    const float most_v = 64.0F * ((float)work->side_v - 1.05F);
    const float middle_u = 64.0F * (float)work->u;
    const float middle_v = 64.0F * (float)work->v;
    const float reach = 64.0F * radius;
    const int stride = work->side_u;
    int *restrict places_u = work->places[0];
    int *restrict places_v = work->places[1];

    for (int i = 0; i < FINDER_COLUMNS; i++) {
        float u = middle_u + reach * work->cosine[i];
        float v = middle_v + reach * work->sine[i];
        u = u < 0.0F ? 0.0F : u;
        v = v < 0.0F ? 0.0F : v;
        places_u[i] = (int)(u > most_u ? most_u : u);
        places_v[i] = (int)(v > most_v ? most_v : v);
    }
    for (int i = 0; i < FINDER_COLUMNS; i++) {
        const int u = places_u[i];
        const int v = places_v[i];
        const int p = u & 63;
        const int q = v & 63;
        const unsigned short *at = small + (ptrdiff_t)(v >> 6) * stride + (u >> 6);
        const int upper = 64 * at[0] + p * (at[1] - at[0]);
        const int lower = 64 * at[stride] + p * (at[stride + 1] - at[stride]);
        out[i] += (float)(upper + (q * ((lower - upper) >> 6)));
    }
}

/* One ring: two samples along the ray. */
static void lay_ring(struct finder_work *work, const unsigned short *small, double radius, float *out)
{
    float *restrict columns = out + FINDER_PAD;

    memset(columns, 0, FINDER_COLUMNS * sizeof *columns);
    sample_circle(work, small, (float)(radius - 0.25 * work->step), columns);
    sample_circle(work, small, (float)(radius + 0.25 * work->step), columns);
    for (int i = 0; i < FINDER_COLUMNS; i++) {
        columns[i] = columns[i] * (0.5F / (64.0F * 256.0F)) - 128.0F;
    }
    memcpy(out, out + FINDER_COLUMNS, FINDER_PAD * sizeof *out);
    memcpy(out + FINDER_PAD + FINDER_COLUMNS, out + FINDER_PAD, FINDER_PAD * sizeof *out);
}

bool finder_rings(struct finder_work *work, const struct finder_picture *picture, const unsigned char *ground)
{
    if (!place_small(work, picture)) {
        return false;
    }
    work->has_ground = ground != NULL;
    work->step = (FINDER_RING_LAST - FINDER_RING_FIRST) * work->club / FINDER_ROWS;
    for (int i = 0; i < FINDER_COLUMNS; i++) {
        work->cosine[i] = (float)cos(2.0 * FINDER_PI * i / FINDER_COLUMNS);
        work->sine[i] = (float)sin(2.0 * FINDER_PI * i / FINDER_COLUMNS);
    }
    limits(work);
    for (int p = 0; p < (ground != NULL ? 2 : 1); p++) {
        reduce(work, p == 0 ? picture->grey : ground, picture->stride, work->small[p]);
        for (int j = 0; j < FINDER_ROWS; j++) {
            const double radius = FINDER_RING_FIRST * work->club + (j + 0.5) * work->step;
            work->radius[j] = (float)radius;
            lay_ring(work, work->small[p], radius, work->ring[p][j]);
        }
    }
    return true;
}
