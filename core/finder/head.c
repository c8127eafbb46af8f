/* The clubhead at a run's end: where the line grows wide. */
#include <math.h>

#include "core/finder/parts.h"

#define HEAD_HALF 0.03 /* of the club's length: half of the width looked at, about a clubhead's */
#define BEFORE_RINGS 5 /* the head is looked for from so far inside the run's end ... */
#define AFTER_RINGS 7  /* ... to so far outside */
#define SHAFT_RINGS 8  /* inside of that, rings that show the shaft alone */
#define HEAD_LEAST 6.0 /* grey levels over what the shaft alone gives */
#define COUNTS 0.35    /* of the greatest: rings that answer as much are the head's */
#define SD_SEEN 0.016  /* of the club's length */
#define SD_END 0.035   /* of a run's end that shows no head */

static double mean_of(const float *ring, const float *ground, int from, int to)
{
    double sum = 0.0;

    for (int i = from; i < to; i++) {
        const int at = FINDER_PAD + (i & (FINDER_COLUMNS - 1));
        sum += (double)(ring[at] - (ground != NULL ? ground[at] : 0.0F));
    }
    return sum / (to - from);
}

/* How much a head's width about the line differs from both sides of it, at one ring. */
static double wide_answer(const struct finder_work *work, double direction, double offset, int row)
{
    const double radius = work->radius[row];
    const double columns = FINDER_COLUMNS / (2.0 * FINDER_PI);
    const int middle = (int)lround((direction + asin(fmax(-0.8, fmin(0.8, offset / radius)))) * columns);
    const int half = (int)fmax(1.0, HEAD_HALF * work->club / radius * columns);
    const float *ring = work->ring[0][row];
    const float *ground = work->has_ground ? work->ring[1][row] : NULL;
    const double centre = mean_of(ring, ground, middle - half, middle + half + 1);
    const double a = centre - mean_of(ring, ground, middle - 3 * half, middle - half);
    const double b = centre - mean_of(ring, ground, middle + half + 1, middle + 3 * half + 1);

    return a * b > 0.0 ? fmin(fabs(a), fabs(b)) : 0.0;
}

void finder_head(const struct finder_work *work, double direction, double offset, int last, double *along, double *sd)
{
    const int from = last - BEFORE_RINGS > 0 ? last - BEFORE_RINGS : 0;
    const int to = last + AFTER_RINGS < FINDER_ROWS ? last + AFTER_RINGS : FINDER_ROWS - 1;
    double shaft = 0.0;
    double most = 0.0;
    double sum = 0.0;
    double moment = 0.0;
    int rings = 0;

    *along = (double)work->radius[last] + 0.5 * work->step;
    *sd = SD_END * work->club;
    for (int j = from - SHAFT_RINGS > 0 ? from - SHAFT_RINGS : 0; j < from; j++) {
        shaft += wide_answer(work, direction, offset, j);
        rings++;
    }
    shaft = rings > 0 ? shaft / rings : 0.0;
    for (int j = from; j <= to; j++) {
        most = fmax(most, wide_answer(work, direction, offset, j) - shaft);
    }
    if (most < HEAD_LEAST) {
        return;
    }
    for (int j = from; j <= to; j++) {
        const double more = wide_answer(work, direction, offset, j) - shaft - COUNTS * most;
        if (more > 0.0) {
            sum += more;
            moment += more * (double)work->radius[j];
        }
    }
    *along = moment / sum;
    *sd = SD_SEEN * work->club;
}
