/* Partial pooling by empirical Bayes. */
#include "core/pooling.h"

#include <math.h>

#define STEPS 200

/* The .975 quantile of Student's t (Abramowitz & Stegun 26.7.5); 1e-3 at 4 degrees of freedom, 1e-5 from 10 on. */
static double t_quantile(int freedom)
{
    const double z = 1.959963984540054;
    const double z2 = z * z;
    const double v = freedom;
    if (freedom < 3) {
        return freedom == 1 ? 12.706204736432095 : 4.302652729911275;
    }
    return z + z * (z2 + 1) / (4 * v) + z * ((5 * z2 + 16) * z2 + 3) / (96 * v * v) +
           z * (((3 * z2 + 19) * z2 + 17) * z2 - 15) / (384 * v * v * v) +
           z * ((((79 * z2 + 776) * z2 + 1482) * z2 - 1920) * z2 - 945) / (92160 * v * v * v * v);
}

struct sums {
    double weight, mean, squares; /* squares: weighted, about the mean */
};

static struct sums sums_at(const struct pooling_trial *trials, int count, double tau2)
{
    struct sums sums = {.weight = 0};
    for (int i = 0; i < count; i++) {
        const double weight = 1 / (trials[i].se * trials[i].se + tau2);
        sums.weight += weight;
        sums.mean += weight * trials[i].value;
    }
    sums.mean /= sums.weight;
    for (int i = 0; i < count; i++) {
        const double away = trials[i].value - sums.mean;
        sums.squares += away * away / (trials[i].se * trials[i].se + tau2);
    }
    return sums;
}

/* The squares fall as tau^2 rises. */
static double tau2_find(const struct pooling_trial *trials, int count)
{
    const double expected = count - 1;
    double low = 0;
    double high = 1;
    if (sums_at(trials, count, 0).squares <= expected) {
        return 0;
    }
    for (int i = 0; i < STEPS && sums_at(trials, count, high).squares > expected; i++) {
        high *= 2;
    }
    for (int i = 0; i < STEPS; i++) {
        const double middle = (low + high) / 2;
        if (sums_at(trials, count, middle).squares > expected) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return (low + high) / 2;
}

struct pooling pooling_of(struct pooling_trial *trials, int count)
{
    const double tau2 = tau2_find(trials, count);
    const struct sums sums = sums_at(trials, count, tau2);
    const double scale = fmax(1, sums.squares / (count - 1));
    const double half = t_quantile(count - 1) * sqrt(scale / sums.weight);
    for (int i = 0; i < count; i++) {
        const double own = trials[i].se * trials[i].se;
        trials[i].pooled = (tau2 * trials[i].value + own * sums.mean) / (tau2 + own);
    }
    return (struct pooling){.mean = sums.mean, .low = sums.mean - half, .high = sums.mean + half, .tau = sqrt(tau2)};
}
