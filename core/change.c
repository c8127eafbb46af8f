/* Did it change, and how well does a measure repeat? */
#include "core/change.h"

#include <math.h>
#include <stddef.h>

#define Z95 1.96

static double squared(double x)
{
    return x * x;
}

double change_needed(const struct change_set *before, const struct change_set *after, bool same_setup)
{
    double variance = squared(before->se_random) + squared(after->se_random);
    if (!same_setup) {
        variance += squared(before->sd_systematic) + squared(after->sd_systematic);
    }
    return Z95 * sqrt(variance);
}

/* How far outside of what is fine; 0 inside. */
static double excess(const struct measure_range *range, double value)
{
    double out = 0;
    if (range->ok_low.given) {
        out = fmax(out, range->ok_low.value - value);
    }
    if (range->ok_high.given) {
        out = fmax(out, value - range->ok_high.value);
    }
    return out;
}

struct change_result change_judge(const struct change_set *before, const struct change_set *after, bool same_setup,
                                  const struct measure_range *range)
{
    struct change_result out = {.verdict = CHANGE_NOT_COMPARABLE};
    if (!before->observed || !after->observed || before->clipped || after->clipped) {
        return out;
    }
    out.difference = after->value - before->value;
    out.needed = change_needed(before, after, same_setup);
    out.verdict = CHANGE_NONE;
    if (fabs(out.difference) > out.needed) {
        const double was = excess(range, before->value);
        const double is = excess(range, after->value);
        out.verdict = is < was ? CHANGE_IMPROVED : is > was ? CHANGE_WORSE : CHANGE_NONE;
    }
    return out;
}

NAMES(change, enum change, CHANGE_NAMES);

double change_sem(double sd, double icc)
{
    return sd * sqrt(fmax(0, 1 - icc));
}

double change_mdc95(double sem)
{
    return Z95 * sqrt(2) * sem;
}

static double mean_of(const double *values, ptrdiff_t count, ptrdiff_t step)
{
    double sum = 0;
    for (ptrdiff_t i = 0; i < count; i++) {
        sum += values[i * step];
    }
    return sum / (double)count;
}

bool change_repeatability(const double *values, int players, int trials, struct change_repeat *out)
{
    if (players < 2 || trials < 2) {
        return false;
    }
    const double grand = mean_of(values, (ptrdiff_t)players * trials, 1);
    double between = 0;
    double of_trials = 0;
    double total = 0;
    for (int p = 0; p < players; p++) {
        between += trials * squared(mean_of(values + (ptrdiff_t)p * trials, trials, 1) - grand);
    }
    for (int t = 0; t < trials; t++) {
        of_trials += players * squared(mean_of(values + t, players, trials) - grand);
    }
    for (int i = 0; i < players * trials; i++) {
        total += squared(values[i] - grand);
    }
    const double error = fmax(0, total - between - of_trials) / ((players - 1.0) * (trials - 1.0));
    between /= players - 1.0;
    if (!(between > 0)) {
        return false;
    }
    out->icc = (between - error) / (between + (trials - 1.0) * error);
    out->sem = sqrt(error);
    out->mdc95 = change_mdc95(out->sem);
    return true;
}
