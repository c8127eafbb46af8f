/* Did it change, and how well does a measure repeat? */
#include "core/change.h"

#include <math.h>
#include <stddef.h>

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
    return CHANGE_BELIEVED * sqrt(variance);
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

bool change_prior_of(const double *values, const double *squared_errors, int count, struct change_prior *out)
{
    double sum = 0;
    double error = 0;
    double squares = 0;
    if (count < CHANGE_PRIOR_PLAYERS) {
        return false;
    }
    for (int i = 0; i < count; i++) {
        sum += values[i];
        error += squared_errors[i] / count;
    }
    out->mean = sum / count;
    for (int i = 0; i < count; i++) {
        squares += squared(values[i] - out->mean);
    }
    out->sd = sqrt(fmax(0, squares / (count - 1) - error));
    return true;
}

struct change_set change_drawn(const struct change_set *baseline, const struct change_prior *prior, bool same_setup,
                               double *reliability)
{
    struct change_set out = *baseline;
    const double systematic = squared(baseline->sd_systematic);
    const double stays = squared(prior->sd) + (same_setup ? systematic : 0);
    const double anew = squared(baseline->se_random) + (same_setup ? 0 : systematic);
    const double kept = stays + anew > 0 ? stays / (stays + anew) : 1;
    out.value = prior->mean + kept * (baseline->value - prior->mean);
    out.se_random = sqrt(kept * anew);
    out.sd_systematic = same_setup ? baseline->sd_systematic : 0;
    if (reliability != NULL) {
        *reliability = kept;
    }
    return out;
}

NAMES(change, enum change, CHANGE_NAMES);
