/* P(sum of weighted severities reaches the threshold), for independent normal measures.
 *
 * Each weighted severity is a normal clamped to [0, w]: an atom at 0, an atom at w and a density between. The atoms are
 * kept exactly; the densities are kept as masses on equal cells from 0 to the threshold and convolved; the last sign
 * enters by the exact integral of its distribution over a cell, so that one sign alone is exact and no jump is blurred.
 * A sign much narrower than a cell is replaced by the points of a Gauss-Hermite rule. */
#include <math.h>
#include <string.h>

#include "core/fault.h"
#include "core/vec.h"

#define CELLS 32
#define ATOMS_MAX 256
#define NARROW 2.5 /* cells of standard deviation below which a sign is taken as points */
#define TINY 1e-12

/* A weighted severity: normal (mean, sd) clamped to [0, top]. */
struct clamped {
    double mean, sd, top;
};

struct atom {
    double at, mass;
};

/* The distribution, below the threshold, of a sum: atoms, and density[s][k] = mass of cell k of sums with s densities
 * in them (whose shape within and round the cell is a B-spline of order s). */
struct below {
    double threshold, cell;
    int atom_count;
    struct atom atoms[ATOMS_MAX];
    int order; /* highest s in use */
    double density[SIGNS_MAX][CELLS];
};

/* Seven points for a standard normal: nodes and weights of the Gauss-Hermite rule, scaled. */
static const double hermite_node[7] = {-3.7504397177257425, -2.366759410734541, -1.1544053947399682, 0,
                                       1.1544053947399682,  2.366759410734541,  3.7504397177257425};
static const double hermite_mass[7] = {0.0005482688559722178, 0.03075712396758651, 0.2401231786050127,
                                       0.45714285714285713,   0.2401231786050127,  0.03075712396758651,
                                       0.0005482688559722178};

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

/* P(Y < t). */
static double clamped_below(const struct clamped *y, double t)
{
    if (t <= TINY) {
        return 0;
    }
    return t > y->top + TINY ? 1 : normal_below((t - y->mean) / y->sd);
}

/* Integral of P(Y < u) for u from 0 to t; start = normal_area at u = 0, end = at u = top. */
static double clamped_area(const struct clamped *y, double t, double start, double end)
{
    if (t <= 0) {
        return 0;
    }
    if (t > y->top) {
        return y->sd * (end - start) + (t - y->top);
    }
    return y->sd * (normal_area((t - y->mean) / y->sd) - start);
}

/* Merges what cannot be kept apart any more rather than dropping it. */
static void atom_add(struct below *sum, struct atom *to, int *count, double at, double mass)
{
    if (mass < TINY || at >= sum->threshold - TINY) {
        return;
    }
    if (*count < ATOMS_MAX) {
        to[(*count)++] = (struct atom){at, mass};
        return;
    }
    int nearest = 0;
    for (int i = 1; i < ATOMS_MAX; i++) {
        nearest = fabs(to[i].at - at) < fabs(to[nearest].at - at) ? i : nearest;
    }
    double both = to[nearest].mass + mass;
    to[nearest].at = (to[nearest].at * to[nearest].mass + at * mass) / both;
    to[nearest].mass = both;
}

/* to[k] += mass * from[k - shift], shift a real number of cells, split between the two nearest whole ones. */
static void add_shifted(double *to, const double *from, double shift, double mass)
{
    int whole = (int)shift;
    double part = shift - whole;
    for (int k = whole; k < CELLS; k++) {
        double left = k > whole ? from[k - whole - 1] : 0;
        to[k] += mass * ((1 - part) * from[k - whole] + part * left);
    }
}

static void add_narrow(struct below *sum, const struct clamped *y)
{
    struct atom next[ATOMS_MAX];
    int count = 0;
    double density[SIGNS_MAX][CELLS] = {{0}};
    for (int q = 0; q < 7; q++) {
        double at = y->mean + y->sd * hermite_node[q];
        at = at < 0 ? 0 : at > y->top ? y->top : at;
        for (int i = 0; i < sum->atom_count; i++) {
            atom_add(sum, next, &count, sum->atoms[i].at + at, sum->atoms[i].mass * hermite_mass[q]);
        }
        for (int s = 1; s <= sum->order && at < sum->threshold; s++) {
            add_shifted(density[s], sum->density[s], at / sum->cell, hermite_mass[q]);
        }
    }
    memcpy(sum->atoms, next, (size_t)count * sizeof next[0]);
    sum->atom_count = count;
    memcpy(sum->density, density, sizeof density);
}

/* Masses of the density between its atoms on the cells. A little sd is held back (Sheppard's correction: a binned
 * mass spread over its cell, then smoothed by the next, would be wider than the sign is). */
static void cell_masses(const struct below *sum, const struct clamped *y, double cells[CELLS])
{
    double narrowed = y->sd * y->sd - sum->cell * sum->cell / 6;
    double sd = narrowed > 0 ? sqrt(narrowed) : y->sd;
    double at_zero = normal_below(-y->mean / sd);
    double before = at_zero;
    for (int k = 0; k < CELLS; k++) {
        double edge = (k + 1) * sum->cell;
        double here = edge >= y->top ? normal_below((y->top - y->mean) / sd) : normal_below((edge - y->mean) / sd);
        cells[k] = here - before;
        before = here;
        if (edge >= y->top) {
            for (int rest = k + 1; rest < CELLS; rest++) {
                cells[rest] = 0;
            }
            return;
        }
    }
}

static void convolve(double *restrict to, const double *restrict a, const double *restrict b)
{
    for (int i = 0; i < CELLS; i++) {
        double mass = a[i];
        for (int k = 0; mass > 0 && k < CELLS - i; k++) {
            to[i + k] += mass * b[k];
        }
    }
}

static void add_wide(struct below *sum, const struct clamped *y)
{
    double cells[CELLS];
    cell_masses(sum, y, cells);
    double at_zero = normal_below(-y->mean / y->sd);
    double at_top = 1 - normal_below((y->top - y->mean) / y->sd);
    double next[SIGNS_MAX][CELLS];
    memset(next, 0, (size_t)(sum->order + 2) * sizeof next[0]);
    for (int s = 1; s <= sum->order; s++) {
        for (int k = 0; k < CELLS; k++) {
            next[s][k] += at_zero * sum->density[s][k];
        }
        if (y->top < sum->threshold) {
            add_shifted(next[s], sum->density[s], y->top / sum->cell, at_top);
        }
        convolve(next[s + 1], sum->density[s], cells);
    }
    struct atom atoms[ATOMS_MAX];
    int count = 0;
    for (int i = 0; i < sum->atom_count; i++) {
        const struct atom *atom = &sum->atoms[i];
        add_shifted(next[1], cells, atom->at / sum->cell, atom->mass);
        atom_add(sum, atoms, &count, atom->at, atom->mass * at_zero);
        atom_add(sum, atoms, &count, atom->at + y->top, atom->mass * at_top);
    }
    memcpy(sum->atoms, atoms, (size_t)count * sizeof atoms[0]);
    sum->atom_count = count;
    sum->order++;
    memcpy(sum->density, next, (size_t)(sum->order + 1) * sizeof next[0]);
}

/* P(sum + last < threshold). A cell's mass of order s is centred s/2 cells beyond its first edge; the first of its s
 * uniform spreads is integrated exactly, the others by Simpson's rule on half cells. */
static double finish(const struct below *sum, const struct clamped *last)
{
    double p = 0;
    for (int i = 0; i < sum->atom_count; i++) {
        p += sum->atoms[i].mass * clamped_below(last, sum->threshold - sum->atoms[i].at);
    }
    if (sum->order == 0) {
        return p;
    }
    enum { PAD = SIGNS_MAX + 2, NODES = 2 * CELLS + 2 * PAD };
    double area[NODES + 1];
    double spread[SIGNS_MAX][NODES + 1];
    double start = normal_area(-last->mean / last->sd);
    double end = normal_area((last->top - last->mean) / last->sd);
    for (int i = 0; i <= NODES; i++) { /* node i stands at t = (i - PAD) half cells */
        area[i] = clamped_area(last, (i - PAD) * 0.5 * sum->cell, start, end);
    }
    for (int i = 1; i < NODES; i++) {
        spread[1][i] = (area[i + 1] - area[i - 1]) / sum->cell;
    }
    for (int s = 2; s <= sum->order; s++) {
        for (int i = s; i <= NODES - s; i++) {
            spread[s][i] = (spread[s - 1][i - 1] + 4 * spread[s - 1][i] + spread[s - 1][i + 1]) / 6;
        }
    }
    for (int s = 1; s <= sum->order; s++) {
        for (int k = 0; k < CELLS; k++) {
            int node = PAD + 2 * (CELLS - k) - s;
            p += node >= s ? sum->density[s][k] * spread[s][node] : 0;
        }
    }
    return p;
}

/* The sign for the exact last step: the widest of the narrow ones, else the narrowest. */
static int choose_last(const struct clamped *y, int n, double narrow_below)
{
    int last = 0;
    for (int i = 1; i < n; i++) {
        bool narrow = y[i].sd < narrow_below;
        bool best_narrow = y[last].sd < narrow_below;
        if (narrow != best_narrow ? narrow : narrow == (y[i].sd > y[last].sd)) {
            last = i;
        }
    }
    return last;
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
            y[count++] = (struct clamped){w * mean, w * sd, w};
        }
    }
    struct below sum = {.threshold = threshold * weights - certain, .atom_count = 1, .atoms = {{0, 1}}};
    if (sum.threshold <= TINY * weights) {
        return 1;
    }
    if (count == 0) {
        return 0;
    }
    sum.cell = sum.threshold / CELLS;
    int last = choose_last(y, count, NARROW * sum.cell);
    for (int i = 0; i < count; i++) {
        if (i != last && y[i].sd < NARROW * sum.cell) {
            add_narrow(&sum, &y[i]);
        } else if (i != last) {
            add_wide(&sum, &y[i]);
        }
    }
    double p = 1 - finish(&sum, &y[last]);
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
