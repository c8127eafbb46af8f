/* P(sum of weighted severities reaches the threshold), for independent normal measures.
 *
 * Each weighted severity is a normal clamped to [0, w]: an atom at 0, an atom at w and a density between. Every choice
 * of atom or density for each sign is one term. Atoms only shift the threshold; one density is its distribution, two
 * are an integral over the narrower between the kinks of the other, three one more integral about that. So nothing is
 * smeared, however narrow a sign is. Of more than three the narrowest count together as one normal. */
#include <math.h>

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

double fault_probability(const struct uncertain_sign *signs, int n, double threshold)
{
    double sound = normal_probability(signs, n, threshold);
    if (n > SIGNS_MAX) {
        return sound;
    }
    double blind;
    double mixed = mixed_probability(signs, n, threshold, sound);
    double silent = silent_probability(signs, n, threshold, &blind);
    /* As far as the fault looks present: a value far off weighs less toward its being there than toward its not being
     * ruled out. */
    return mixed - blind * sound * (mixed - silent);
}
