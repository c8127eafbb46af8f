/* P(sum of weighted severities reaches the threshold), for normal measures.
 *
 * Each weighted severity is a normal clamped to [0, w]: an atom at 0, an atom at w and a density between. Every choice
 * of atom or density for each sign is one term. Atoms only shift the threshold; one density is its distribution, two
 * are an integral over the narrower between the kinks of the other, three one more integral about that. So nothing is
 * smeared, however narrow a sign is. Of more than three the narrowest count together as one normal.
 *
 * That is for independent signs. Those that share marks differ from it by what joint draws differ from the same draws
 * taken apart. */
#include <math.h>
#include <stddef.h>

#include "core/fault.h"
#include "core/vec.h"

#define REACH 3.9     /* sd about its mean over which a density is integrated */
#define SLIGHT 0.01   /* a term this improbable is rounder: three densities count as two */
#define NOTHING 1e-10 /* and one this improbable is left out */
#define TINY 1e-12

/* A weighted severity: normal (mean, sd) clamped to [0, top]; the masses at 0, between and at top. */
struct clamped {
    double mean, sd, top;
    double at_zero, between, at_top;
};

/* Gauss-Legendre on [-1, 1]. */
#define NODES 10
static const double legendre_node[NODES] = {
    -0.9739065285171717, -0.8650633666889845, -0.6794095682990244, -0.4333953941292472, -0.1488743389816312,
    0.1488743389816312,  0.4333953941292472,  0.6794095682990244,  0.8650633666889845,  0.9739065285171717};
static const double legendre_mass[NODES] = {
    0.0666713443086887, 0.1494513491505805, 0.2190863625159821, 0.2692667193099962, 0.2955242247147529,
    0.2955242247147529, 0.2692667193099962, 0.2190863625159821, 0.1494513491505805, 0.0666713443086887};

static double normal_below(double z)
{
    if (z <= -6.5) {
        return 0;
    }
    return z >= 6.5 ? 1 : 0.5 * erfc(-z * 0.70710678118654752);
}

/* Integral of the standard normal distribution function from minus infinity to z. */
static double normal_area(double z)
{
    if (z <= -6.5) {
        return 0;
    }
    return z >= 6.5 ? z : z * normal_below(z) + 0.39894228040143268 * exp(-0.5 * z * z);
}

/* Mean and sd of the severity before clamping. False when that side is never wrong. */
static bool severity_line(const struct uncertain_sign *sign, double *mean, double *sd)
{
    const struct measure_range *range = &sign->range;
    const struct maybe *ok = sign->side == SIDE_LOW ? &range->ok_low : &range->ok_high;
    const struct maybe *strong = sign->side == SIDE_LOW ? &range->strong_low : &range->strong_high;
    if (!ok->given || !strong->given) {
        return false;
    }
    double span = strong->value - ok->value;
    *mean = (sign->mean - ok->value) / span;
    *sd = fabs(sign->sd / span);
    return true;
}

double fault_expected_severity(const struct uncertain_sign *sign)
{
    double mean;
    double sd;
    if (!severity_line(sign, &mean, &sd)) {
        return 0;
    }
    if (sd < TINY) {
        return range_severity(&sign->range, sign->side, sign->mean);
    }
    double expected = 1 - sd * (normal_area((1 - mean) / sd) - normal_area(-mean / sd));
    return expected < 0 ? 0 : expected > 1 ? 1 : expected;
}

static double normal_density(double z)
{
    return 0.39894228040143268 * exp(-0.5 * z * z);
}

/* P(0 < Y < t and Y < top): what the density alone has there. */
static double one_below(const struct clamped *y, double t)
{
    if (t <= 0) {
        return 0;
    }
    return t >= y->top ? y->between : normal_below((t - y->mean) / y->sd) - y->at_zero;
}

/* The part of [from, to] where the density of y is worth integrating. False when there is none. */
static bool within_reach(const struct clamped *y, double *from, double *to)
{
    *from = fmax(*from, y->mean - REACH * y->sd);
    *to = fmin(*to, y->mean + REACH * y->sd);
    return *from < *to;
}

/* The same of the sum of two densities. The narrower is integrated over, from where the other is below its top to where
 * it is above 0: between, all is smooth. */
static double two_below(const struct clamped *narrow, const struct clamped *wide, double t)
{
    if (t <= 0) {
        return 0;
    }
    if (t >= narrow->top + wide->top) {
        return narrow->between * wide->between;
    }
    double from = fmax(0, t - wide->top);
    double to = fmin(narrow->top, t);
    double p = one_below(narrow, from) * wide->between;
    if (!within_reach(narrow, &from, &to)) {
        return p;
    }
    double half = (to - from) / 2;
    for (int q = 0; q < NODES; q++) {
        double at = from + half * (1 + legendre_node[q]);
        double density = normal_density((at - narrow->mean) / narrow->sd) / narrow->sd;
        p += half * legendre_mass[q] * density * one_below(wide, t - at);
    }
    return p;
}

/* The same of three densities. */
static double three_below(const struct clamped y[3], double t)
{
    double from = 0;
    double to = fmin(y[0].top, t);
    double p = 0;
    if (!within_reach(&y[0], &from, &to)) {
        return 0;
    }
    double half = (to - from) / 2;
    for (int q = 0; q < NODES; q++) {
        double at = from + half * (1 + legendre_node[q]);
        double density = normal_density((at - y[0].mean) / y[0].sd) / y[0].sd;
        p += half * legendre_mass[q] * density * two_below(&y[1], &y[2], t - at);
    }
    return p;
}

/* The two narrowest of n densities, y[0] and y[1], become one: a normal of their mean and variance, kept in order of
 * sd. Returns what the masses must be multiplied with. */
static double join_narrowest(struct clamped *y, int n)
{
    struct clamped both = {.mean = 0};
    double variance = 0;
    for (int i = 0; i < 2; i++) {
        double low = -y[i].mean / y[i].sd;
        double high = (y[i].top - y[i].mean) / y[i].sd;
        double slope = (normal_density(low) - normal_density(high)) / y[i].between;
        double bend = (low * normal_density(low) - high * normal_density(high)) / y[i].between;
        both.mean += y[i].mean + y[i].sd * slope;
        variance += y[i].sd * y[i].sd * fmax(1 + bend - slope * slope, TINY);
        both.top += y[i].top;
    }
    both.sd = sqrt(variance);
    both.at_zero = normal_below(-both.mean / both.sd);
    both.between = normal_below((both.top - both.mean) / both.sd) - both.at_zero;
    double scale = y[0].between * y[1].between / both.between;
    int place = 0;
    for (; place + 2 < n && y[place + 2].sd < both.sd; place++) {
        y[place] = y[place + 2];
    }
    y[place] = both;
    for (int i = place + 1; i + 1 < n; i++) {
        y[i] = y[i + 1];
    }
    return scale;
}

/* P(sum of n densities < t), each in (0, top); y is in order of sd, and used up. */
static double densities_below(struct clamped *y, int n, double t, int most)
{
    double scale = 1;
    for (; n > most; n--) {
        scale *= join_narrowest(y, n);
    }
    switch (n) {
    case 0:
        return t > TINY ? 1 : 0;
    case 1:
        return scale * one_below(&y[0], t);
    case 2:
        return scale * two_below(&y[0], &y[1], t);
    default:
        return scale * three_below(y, t);
    }
}

/* P(sum of n clamped normals < t); y is in order of sd. */
static double sum_below(const struct clamped *y, int n, double t)
{
    int terms = 1;
    for (int i = 0; i < n; i++) {
        terms *= 3;
    }
    double p = 0;
    for (int term = 0; term < terms; term++) {
        struct clamped densities[SIGNS_MAX];
        int count = 0;
        double left = t;
        double atoms = 1;
        double likely = 1;
        for (int i = 0, choice = term; i < n && likely > NOTHING && left > 0; i++, choice /= 3) {
            double mass = choice % 3 == 0 ? y[i].between : choice % 3 == 1 ? y[i].at_zero : y[i].at_top;
            likely *= mass;
            if (choice % 3 == 0) {
                densities[count++] = y[i];
                continue;
            }
            atoms *= mass;
            left -= choice % 3 == 2 ? y[i].top : 0;
        }
        if (likely > NOTHING && left > TINY) {
            p += atoms * densities_below(densities, count, left, likely < SLIGHT ? 2 : 3);
        }
    }
    return p;
}

/* Puts one more among n, in order of sd. */
static void insert(struct clamped *y, int n, double mean, double sd, double top)
{
    double at_zero = normal_below(-mean / sd);
    double to_top = normal_below((top - mean) / sd);
    int place = n;
    for (; place > 0 && y[place - 1].sd > sd; place--) {
        y[place] = y[place - 1];
    }
    y[place] = (struct clamped){mean, sd, top, at_zero, to_top - at_zero, 1 - to_top};
}

static double normal_probability(const struct uncertain_sign *signs, int n, double threshold)
{
    struct clamped y[SIGNS_MAX];
    int count = 0;
    double certain = 0;
    double weights = 0;
    for (int i = 0; i < n && i < SIGNS_MAX; i++) {
        double mean;
        double sd;
        double w = signs[i].weight;
        weights += w;
        if (!severity_line(&signs[i], &mean, &sd)) {
            continue;
        }
        /* More than 8 sd from where it would matter: as good as certain. */
        if (sd < TINY || mean < -8 * sd || mean - 1 > 8 * sd) {
            certain += w * range_severity(&signs[i].range, signs[i].side, signs[i].mean);
        } else {
            insert(y, count++, w * mean, w * sd, w);
        }
    }
    double left = threshold * weights - certain;
    if (left <= TINY * weights) {
        return 1;
    }
    double p = 1 - sum_below(y, count, left);
    return p < 0 ? 0 : p > 1 ? 1 : p;
}

/* One sign's marks slipped, or none's. */
static double mixed_probability(const struct uncertain_sign *signs, int n, double threshold, double sound)
{
    struct uncertain_sign other[SIGNS_MAX];
    double p = sound;
    double total = 1;
    for (int i = 0; i < n; i++) {
        other[i] = signs[i];
    }
    for (int i = 0; i < n; i++) {
        if (signs[i].slip > 0) {
            double odds = signs[i].slip / (1 - signs[i].slip); /* against all being sound */
            other[i].sd = signs[i].sd_slip;
            p += odds * normal_probability(other, n, threshold);
            other[i].sd = signs[i].sd;
            total += odds;
        }
    }
    return p / total;
}

/* What is left when the signs that rest on marks say nothing; blind receives how likely that is. */
static double silent_probability(const struct uncertain_sign *signs, int n, double threshold, double *blind)
{
    struct uncertain_sign other[SIGNS_MAX];
    *blind = 0;
    for (int i = 0; i < n; i++) {
        const struct maybe *ok = signs[i].side == SIDE_LOW ? &signs[i].range.ok_low : &signs[i].range.ok_high;
        other[i] = signs[i];
        if (signs[i].blind > 0) {
            other[i].sd = 0;
            other[i].mean = ok->given ? ok->value : signs[i].mean; /* nothing is wrong */
        }
        *blind = signs[i].blind > *blind ? signs[i].blind : *blind;
    }
    return *blind > 0 ? normal_probability(other, n, threshold) : 0;
}

/* ---- signs that share marks ---- */

/* Upper half of the normal's quantiles at (k + 1/2) / DRAWS: what each coordinate of a draw is taken from. Draw k has
 * the ones at k, k g, k g^2 ... of them (a lattice), the same in every program. */
#define DRAWS 256
#define GENERATOR 55
#define SURE 1e-4 /* a fault this surely there or not stays so */
static const double quantile[DRAWS / 2] = {
    0.0048958, 0.0146878, 0.0244812, 0.0342770, 0.0440761, 0.0538794, 0.0636879, 0.0735025, 0.0833242, 0.0931540,
    0.1029927, 0.1128415, 0.1227012, 0.1325728, 0.1424574, 0.1523559, 0.1622693, 0.1721988, 0.1821452, 0.1921097,
    0.2020933, 0.2120971, 0.2221222, 0.2321696, 0.2422406, 0.2523361, 0.2624575, 0.2726058, 0.2827823, 0.2929881,
    0.3032245, 0.3134929, 0.3237943, 0.3341303, 0.3445021, 0.3549110, 0.3653586, 0.3758462, 0.3863753, 0.3969474,
    0.4075641, 0.4182269, 0.4289374, 0.4396974, 0.4505086, 0.4613727, 0.4722915, 0.4832669, 0.4943008, 0.5053953,
    0.5165523, 0.5277739, 0.5390625, 0.5504201, 0.5618492, 0.5733522, 0.5849315, 0.5965898, 0.6083298, 0.6201542,
    0.6320660, 0.6440681, 0.6561638, 0.6683562, 0.6806488, 0.6930451, 0.7055488, 0.7181639, 0.7308942, 0.7437442,
    0.7567181, 0.7698207, 0.7830568, 0.7964315, 0.8099503, 0.8236187, 0.8374427, 0.8514287, 0.8655832, 0.8799134,
    0.8944265, 0.9091305, 0.9240337, 0.9391451, 0.9544740, 0.9700306, 0.9858255, 1.0018703, 1.0181772, 1.0347595,
    1.0516313, 1.0688079, 1.0863057, 1.1041427, 1.1223380, 1.1409127, 1.1598896, 1.1792937, 1.1991523, 1.2194953,
    1.2403560, 1.2617709, 1.2837806, 1.3064304, 1.3297710, 1.3538594, 1.3787600, 1.4045462, 1.4313018, 1.4591230,
    1.4881219, 1.5184291, 1.5501990, 1.5836155, 1.6189001, 1.6563239, 1.6962225, 1.7390200, 1.7852625, 1.8356715,
    1.8912292, 1.9533237, 2.0240136, 2.1065541, 2.2065752, 2.3352330, 2.5205022, 2.8856349};

static double drawn(unsigned at)
{
    at %= DRAWS;
    return at < DRAWS / 2 ? -quantile[DRAWS / 2 - 1 - at] : quantile[at - DRAWS / 2];
}

/* Uncertain signs in order of sd; the last one, the widest, is not drawn but integrated. */
struct joint {
    int count;
    double mean[SIGNS_MAX], sd[SIGNS_MAX], top[SIGNS_MAX];
    double root[SIGNS_MAX][SIGNS_MAX]; /* lower triangle: its square is the correlations */
};

/* Cholesky's root of correlations shrunk by `keep`. False when they are none. */
static bool root_of(const struct sign_shares *shared, double keep, int n, double root[SIGNS_MAX][SIGNS_MAX])
{
    for (int i = 0; i < n; i++) {
        double left = 1;
        for (int k = 0; k < i; k++) {
            double sum = keep * shared->of[i][k];
            for (int m = 0; m < k; m++) {
                sum -= root[i][m] * root[k][m];
            }
            root[i][k] = root[k][k] > 1e-6 ? sum / root[k][k] : 0;
            left -= root[i][k] * root[i][k];
        }
        if (left < -1e-9) {
            return false;
        }
        root[i][i] = sqrt(fmax(left, 0));
    }
    return true;
}

static inline double between(double value, double top)
{
    const double raised = value > 0 ? value : 0;
    return raised < top ? raised : top;
}

/* P(sum < t) of one draw: what is left for the last sign, which is normal (mean, sd). */
static double last_below(const struct joint *joint, double left, double mean, double sd)
{
    return left <= TINY ? 0 : left > joint->top[joint->count - 1] ? 1 : normal_below((left - mean) / sd);
}

/* Some draws at a time: what they leave of the threshold for the last sign, joined by the root and taken apart, and by
 * how many of its sds the others move it. */
#define LANES 8
struct lanes {
    double left[LANES], left_apart[LANES], off[LANES];
};

static void draw_lanes(const struct joint *joint, unsigned first, double t, struct lanes *out)
{
    const int last = joint->count - 1;
    double z[SIGNS_MAX][LANES];
    unsigned power = 1;
    for (int l = 0; l < LANES; l++) {
        out->left[l] = out->left_apart[l] = t;
        out->off[l] = 0;
    }
    for (int i = 0; i < last; i++, power *= GENERATOR) {
        double sum[LANES] = {0};
        for (unsigned l = 0; l < LANES; l++) {
            z[i][l] = drawn((first + l) * power);
        }
        for (int m = 0; m <= i; m++) {
            for (int l = 0; l < LANES; l++) {
                sum[l] += joint->root[i][m] * z[m][l];
            }
        }
        for (int l = 0; l < LANES; l++) {
            out->left[l] -= between(joint->mean[i] + joint->sd[i] * sum[l], joint->top[i]);
            out->left_apart[l] -= between(joint->mean[i] + joint->sd[i] * z[i][l], joint->top[i]);
            out->off[l] += joint->root[last][i] * z[i][l];
        }
    }
}

/* What P(sum of the clamped normals < t) loses because their draws are joined by the root. */
static double joint_loss(const struct joint *joint, double t)
{
    const int last = joint->count - 1;
    const double sd = joint->sd[last] * fmax(joint->root[last][last], 1e-6);
    double together = 0;
    double apart = 0;
    for (unsigned k = 0; k < DRAWS; k += LANES) {
        struct lanes draws;
        draw_lanes(joint, k, t, &draws);
        for (int l = 0; l < LANES; l++) {
            together += last_below(joint, draws.left[l], joint->mean[last] + joint->sd[last] * draws.off[l], sd);
            apart += last_below(joint, draws.left_apart[l], joint->mean[last], joint->sd[last]);
        }
    }
    return apart / DRAWS - together / DRAWS;
}

/* Puts the uncertain signs in order of sd, with their correlations. Returns what the certain ones leave of the
 * threshold. */
static double joint_of(const struct uncertain_sign *signs, int n, double threshold, const struct sign_shares *shared,
                       struct joint *out, struct sign_shares *sorted)
{
    int order[SIGNS_MAX];
    double mean[SIGNS_MAX];
    double sd[SIGNS_MAX];
    double left = 0;
    out->count = 0;
    for (int i = 0; i < n; i++) {
        const double w = signs[i].weight;
        left += threshold * w;
        if (!severity_line(&signs[i], &mean[i], &sd[i])) {
            continue;
        }
        if (sd[i] < TINY) {
            left -= w * range_severity(&signs[i].range, signs[i].side, signs[i].mean);
            continue;
        }
        int place = out->count++;
        for (; place > 0 && signs[order[place - 1]].weight * sd[order[place - 1]] > w * sd[i]; place--) {
            order[place] = order[place - 1];
        }
        order[place] = i;
    }
    for (int a = 0; a < out->count; a++) {
        const int i = order[a];
        out->mean[a] = signs[i].weight * mean[i];
        out->sd[a] = signs[i].weight * sd[i];
        out->top[a] = signs[i].weight;
        for (int b = 0; b < a; b++) {
            const int k = order[b];
            const bool opposed = signs[i].side != signs[k].side;
            sorted->of[a][b] = (opposed ? -1 : 1) * (i > k ? shared->of[i][k] : shared->of[k][i]);
        }
    }
    return left;
}

/* What P(score >= threshold) gains because the signs' errors are not independent. */
static double shared_gain(const struct uncertain_sign *signs, int n, double threshold, const struct sign_shares *shared)
{
    struct joint joint;
    struct sign_shares sorted;
    const double left = joint_of(signs, n, threshold, shared, &joint, &sorted);
    if (joint.count < 2) {
        return 0;
    }
    double keep = 1;
    while (!root_of(&sorted, keep, joint.count, joint.root)) {
        keep *= 0.95;
    }
    return joint_loss(&joint, left);
}

double fault_probability(const struct uncertain_sign *signs, int n, double threshold, const struct sign_shares *shared)
{
    double sound = normal_probability(signs, n, threshold);
    if (n > SIGNS_MAX) {
        return sound;
    }
    double blind;
    double mixed = mixed_probability(signs, n, threshold, sound);
    double silent = silent_probability(signs, n, threshold, &blind);
    if (shared != NULL && sound > SURE && sound < 1 - SURE) {
        /* The draws tell the difference better than the whole; slips are rare, so it is that of sound marks. */
        const double gain = shared_gain(signs, n, threshold, shared);
        sound = fmin(1, fmax(0, sound + gain));
        mixed = fmin(1, fmax(0, mixed + gain));
    }
    /* As far as the fault looks present: a value far off weighs less toward its being there than toward its not being
     * ruled out. */
    return mixed - blind * sound * (mixed - silent);
}
