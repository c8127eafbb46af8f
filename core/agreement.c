/* Kappa of two and of many, each from sums over swings, so that one swing is quickly left out. */
#include "core/agreement.h"

#include <math.h>
#include <stdlib.h>

#define Z95 1.96
#define TINY 1e-12

/* ---- of two ---- */

struct pair_sums {
    double said[AGREEMENT_CATEGORIES][AGREEMENT_CATEGORIES];
    double total;
};

static void pair_add(struct pair_sums *sums, const struct agreement_pair *swing, int categories, double sign)
{
    for (int i = 0; i < categories; i++) {
        for (int j = 0; j < categories; j++) {
            sums->said[i][j] += sign * swing->said[i][j];
            sums->total += sign * swing->said[i][j];
        }
    }
}

/* 1 for the same, less the farther apart. */
static double likeness(int i, int j, int categories, bool weighted)
{
    return !weighted ? (double)(i == j) : 1 - (double)abs(i - j) / (categories - 1);
}

/* False when chance alone would always agree. */
static bool pair_kappa(const struct pair_sums *sums, int categories, bool weighted, double *agreed, double *kappa)
{
    double first[AGREEMENT_CATEGORIES] = {0};
    double second[AGREEMENT_CATEGORIES] = {0};
    double chance = 0;
    *agreed = 0;
    if (sums->total <= 0) {
        return false;
    }
    for (int i = 0; i < categories; i++) {
        for (int j = 0; j < categories; j++) {
            const double share = sums->said[i][j] / sums->total;
            first[i] += share;
            second[j] += share;
            *agreed += share * likeness(i, j, categories, weighted);
        }
    }
    for (int i = 0; i < categories; i++) {
        for (int j = 0; j < categories; j++) {
            chance += first[i] * second[j] * likeness(i, j, categories, weighted);
        }
    }
    *kappa = chance < 1 - TINY ? (*agreed - chance) / (1 - chance) : 0;
    return chance < 1 - TINY;
}

/* ---- of many ---- */

struct many_sums {
    double said[AGREEMENT_CATEGORIES];
    double total, alike; /* alike: the sum over swings of the share of pairs that say the same */
    int swings;
};

static void many_add(struct many_sums *sums, const struct agreement_many *swing, int categories, int sign)
{
    double raters = 0;
    double squares = 0;
    for (int i = 0; i < categories; i++) {
        raters += swing->said[i];
        squares += (double)swing->said[i] * swing->said[i];
    }
    if (raters < 2) {
        return; /* nobody to agree with */
    }
    for (int i = 0; i < categories; i++) {
        sums->said[i] += sign * swing->said[i];
    }
    sums->total += sign * raters;
    sums->alike += sign * (squares - raters) / (raters * (raters - 1));
    sums->swings += sign;
}

static bool many_kappa(const struct many_sums *sums, int categories, double *agreed, double *kappa)
{
    double chance = 0;
    *agreed = 0;
    if (sums->swings <= 0) {
        return false;
    }
    *agreed = sums->alike / sums->swings;
    for (int i = 0; i < categories; i++) {
        chance += sums->said[i] / sums->total * (sums->said[i] / sums->total);
    }
    *kappa = chance < 1 - TINY ? (*agreed - chance) / (1 - chance) : 0;
    return chance < 1 - TINY;
}

/* ---- both ---- */

/* What leaving out each swing once gave. */
struct jackknife {
    double sum, squares;
    int tried, failed;
};

static void jackknife_take(struct jackknife *jackknife, bool defined, double kappa)
{
    jackknife->tried++;
    jackknife->failed += !defined;
    jackknife->sum += kappa;
    jackknife->squares += kappa * kappa;
}

static void jackknife_end(const struct jackknife *jackknife, struct agreement *out)
{
    const int n = jackknife->tried;
    out->bounded = out->defined && n >= 2 && jackknife->failed == 0;
    if (out->bounded) {
        const double variance = fmax(0, jackknife->squares - jackknife->sum * jackknife->sum / n) * (n - 1) / n;
        out->low = fmax(-1, out->kappa - Z95 * sqrt(variance));
        out->high = fmin(1, out->kappa + Z95 * sqrt(variance));
    }
}

struct agreement agreement_of_pair(const struct agreement_pair *swings, int count, int categories, bool weighted)
{
    struct agreement out = {.agreed = 0};
    struct pair_sums sums = {.total = 0};
    struct jackknife jackknife = {.tried = 0};
    for (int i = 0; i < count; i++) {
        pair_add(&sums, &swings[i], categories, 1);
    }
    out.defined = pair_kappa(&sums, categories, weighted, &out.agreed, &out.kappa);
    for (int i = 0; i < count; i++) {
        double agreed;
        double kappa = 0;
        pair_add(&sums, &swings[i], categories, -1);
        const bool defined = pair_kappa(&sums, categories, weighted, &agreed, &kappa);
        pair_add(&sums, &swings[i], categories, 1);
        jackknife_take(&jackknife, defined, kappa);
    }
    jackknife_end(&jackknife, &out);
    return out;
}

struct agreement agreement_of_many(const struct agreement_many *swings, int count, int categories)
{
    struct agreement out = {.agreed = 0};
    struct many_sums sums = {.total = 0};
    struct jackknife jackknife = {.tried = 0};
    for (int i = 0; i < count; i++) {
        many_add(&sums, &swings[i], categories, 1);
    }
    out.defined = many_kappa(&sums, categories, &out.agreed, &out.kappa);
    for (int i = 0; i < count; i++) {
        struct many_sums without = sums;
        double agreed;
        double kappa = 0;
        many_add(&without, &swings[i], categories, -1);
        if (without.swings < sums.swings) {
            const bool defined = many_kappa(&without, categories, &agreed, &kappa);
            jackknife_take(&jackknife, defined, kappa);
        }
    }
    jackknife_end(&jackknife, &out);
    return out;
}

NAMES(opinion, enum opinion, OPINION_NAMES);
NAMES_PARSE(opinion, enum opinion, OPINION_NAMES);
