/* Mean squares of a point's misfits without the largest, against those of normal ones, drawn to what is usual where few
 * speak. One in seven may be a slip without moving it much. */
#include "core/finder/check_scale.h"

#include <math.h>

#define KEPT 0.85
#define OF_KEPT 0.5206  /* mean square of the smallest 85 % of normal values */
#define FREEDOM 0.9     /* degrees of freedom of a misfit */
#define GAPS_STATED 3.0 /* misfits that what is stated of gaps counts for */
#define STATED 8.0      /* of all residuals together */
#define USUAL 16.0      /* that what is usual in a swing counts for, of one point */
#define LEAST 0.3
#define HAND 1.1 /* what a mark is held against is marked as well */
#define MOST 1.5

struct misfits {
    int count;
    double squared[2 * SCENE_SIDES * CHECKPOINT_COUNT * POINT_COUNT];
};

/* Mean of the smallest; reorders. */
static double smallest_mean(struct misfits *misfits, int kept)
{
    double *values = misfits->squared;
    double sum = 0.0;
    for (int gap = misfits->count / 2; gap > 0; gap /= 2) { /* Shell's sort */
        for (int i = gap; i < misfits->count; i++) {
            double value = values[i];
            int k = i;
            for (; k >= gap && values[k - gap] > value; k -= gap) {
                values[k] = values[k - gap];
            }
            values[k] = value;
        }
    }
    for (int i = 0; i < kept; i++) {
        sum += values[i];
    }
    return sum / kept;
}

/* usual: what it is drawn to, as if so many misfits said so. */
static struct scale scale_of(struct misfits *misfits, double usual, double weight)
{
    double known = weight + misfits->count;
    int kept = (int)(KEPT * misfits->count + 0.5);
    double own = kept > 0 ? smallest_mean(misfits, kept) / OF_KEPT : 0.0;
    double square = (weight * usual * usual + misfits->count * own) / known;
    return (struct scale){fmin(fmax(sqrt(square), LEAST), MOST), FREEDOM * known};
}

static void add_gaps(const struct scene *scene, enum point point, enum scene_side side, struct misfits *out)
{
    for (int i = 0; i < 2 * CHECKPOINT_COUNT; i++) {
        struct scene_gap gap;
        if (scene_gap(scene, (enum checkpoint)(i / 2), point, side, i % 2, &gap)) {
            out->squared[out->count++] = gap.gap * gap.gap / (gap.mark_sd * gap.mark_sd + gap.film_sd * gap.film_sd);
        }
    }
}

void scale_gaps(struct scene *scene)
{
    for (int i = 0; i < POINT_COUNT * SCENE_SIDES; i++) {
        enum point point = (enum point)(i / SCENE_SIDES);
        enum point other = scene_other(point);
        enum scene_side side = (enum scene_side)(i % SCENE_SIDES);
        struct misfits misfits;
        if (other < point) { /* done with its other side */
            continue;
        }
        misfits.count = 0;
        add_gaps(scene, point, side, &misfits);
        if (other != point) {
            add_gaps(scene, other, side, &misfits);
        }
        struct scale scale = scale_of(&misfits, 1.0, GAPS_STATED);
        scene->gap_times[point][side] = scene->gap_times[other][side] = fmin(scale.times, 1.0);
        scene->gap_freedom[point][side] = scene->gap_freedom[other][side] = scale.freedom;
    }
}

static void add_residuals(const struct adjust_moment *moments, enum point point, enum scene_side side,
                          struct misfits *out)
{
    for (int i = 0; i < 2 * CHECKPOINT_COUNT; i++) {
        const struct adjust_test *test = &moments[i / 2].tests[point][side];
        if (test->known[i % 2] > 0.0) {
            out->squared[out->count++] = test->left[i % 2] * test->left[i % 2] / test->known[i % 2];
        }
    }
}

void scale_residuals(const struct adjust_moment moments[CHECKPOINT_COUNT], struct scale out[POINT_COUNT][SCENE_SIDES])
{
    struct misfits misfits;
    misfits.count = 0;
    for (int i = 0; i < POINT_COUNT * SCENE_SIDES; i++) {
        add_residuals(moments, (enum point)(i / SCENE_SIDES), (enum scene_side)(i % SCENE_SIDES), &misfits);
    }
    double usual = scale_of(&misfits, 1.0, STATED).times;
    for (int i = 0; i < POINT_COUNT * SCENE_SIDES; i++) {
        enum point point = (enum point)(i / SCENE_SIDES);
        enum scene_side side = (enum scene_side)(i % SCENE_SIDES);
        misfits.count = 0;
        add_residuals(moments, point, side, &misfits);
        if (scene_other(point) != point) {
            add_residuals(moments, scene_other(point), side, &misfits);
        }
        out[point][side] = scale_of(&misfits, usual, USUAL);
    }
}

struct scale scale_of_mark(const struct scale *scale, const struct adjust_test *test, double hand)
{
    const double known = fmax(test->known[0], test->known[1]);
    return (struct scale){fmax(scale->times, HAND * hand * sqrt(known)), scale->freedom};
}

/* Degrees of freedom of a w to which residual and gap speak by their weights (Satterthwaite 1946). */
static double freedom_of(const struct scene *scene, const struct scale *scale, const struct adjust_test *test,
                         enum point point, enum scene_side side, bool film)
{
    double residual = 0.0;
    double gap = 0.0;
    for (int way = 0; way < 2; way++) {
        double part = film ? 1.0 - test->share[way] : test->share[way];
        residual += part * part * test->known[way] / (scale->times * scale->times);
        gap += test->apart[way];
    }
    if (!(gap > 0.0)) {
        return scale->freedom;
    }
    double of_gap = gap / (residual + gap);
    return 1.0 / ((1.0 - of_gap) * (1.0 - of_gap) / scale->freedom + of_gap * of_gap / scene->gap_freedom[point][side]);
}

double scale_w(const struct scene *scene, const struct scale *scale, const struct adjust_test *test, enum point point,
               enum scene_side side, bool film)
{
    double off[2];
    double times = scene->gap_times[point][side];
    struct adjust_test stated = *test;
    for (int way = 0; way < 2; way++) {
        stated.apart[way] *= times * times;
    }
    double own = adjust_w(test, scale->times, film, off);
    double freedom = freedom_of(scene, scale, test, point, side, film);
    own = sqrt(freedom *
               log1p(own * own / freedom)); /* F of 2 and that many has the tail (1 + w2 / freedom)^(-freedom / 2) */
    return fmax(own, adjust_w(&stated, fmax(1.0, scale->times), film, off));
}
