/* Two-way analysis of variance of repeats. */
#include "core/reliability.h"

#include <math.h>
#include <stddef.h>

#define Z95 1.96

/* The sums of squares of an n by k table about its mean: of rows, of columns, of what is left. */
struct squares {
    double rows, columns, rest;
};

static double mean_of(const double *values, size_t count, size_t step)
{
    double sum = 0;
    for (size_t i = 0; i < count; i++) {
        sum += values[i * step];
    }
    return sum / (double)count;
}

static struct squares squares_of(const double *values, size_t n, size_t k, double mean)
{
    struct squares out = {.rows = 0};
    double all = 0;
    for (size_t i = 0; i < n; i++) {
        const double away = mean_of(values + i * k, k, 1) - mean;
        out.rows += (double)k * away * away;
    }
    for (size_t j = 0; j < k; j++) {
        const double away = mean_of(values + j, n, k) - mean;
        out.columns += (double)n * away * away;
    }
    for (size_t i = 0; i < n * k; i++) {
        all += (values[i] - mean) * (values[i] - mean);
    }
    out.rest = fmax(0, all - out.rows - out.columns);
    return out;
}

bool reliability_of(const double *values, int subjects, int repeats, struct reliability *out)
{
    const int n = subjects;
    const int k = repeats;
    *out = (struct reliability){.subjects = n, .repeats = k};
    if (n < 2 || k < 2) {
        return false;
    }
    out->mean = mean_of(values, (size_t)n * (size_t)k, 1);
    const struct squares squares = squares_of(values, (size_t)n, (size_t)k, out->mean);
    const double rows = squares.rows / (n - 1);
    const double columns = squares.columns / (k - 1);
    const double rest = squares.rest / ((n - 1) * (k - 1));
    const double agreement = rows + (k - 1) * rest + k * (columns - rest) / n;
    const double consistency = rows + (k - 1) * rest;
    if (!(agreement > 0) || !(consistency > 0)) {
        return false;
    }
    out->icc_agreement = (rows - rest) / agreement;
    out->icc_consistency = (rows - rest) / consistency;
    out->between = sqrt(fmax(0, (rows - rest) / k));
    out->within = sqrt((squares.columns + squares.rest) / (n * (k - 1)));
    out->sem = sqrt(rest);
    out->mdc = Z95 * sqrt(2) * out->sem;
    return true;
}
