/* The unscented transform for independent inputs: two evaluations for each input that carries an error. */
#include "core/sigma.h"

#include <math.h>

/* Difference from the central value; false when the formula has no finite value here. */
static bool difference(const double *x, sigma_function function, void *context, bool circular, double centre,
                       double *out)
{
    double y;

    if (!function(x, context, &y) || !isfinite(y)) {
        return false;
    }
    *out = circular ? sigma_wrap(y - centre) : y - centre;
    return true;
}

bool sigma_transform(const struct sigma_input *inputs, int n, sigma_function function, void *context, bool circular,
                     struct sigma_result *out)
{
    const double step = sqrt(3.0);
    double x[SIGMA_INPUTS_MAX];
    double random = 0.0;
    double systematic = 0.0;
    double centre;
    int count = 0;

    if (n <= 0 || n > SIGMA_INPUTS_MAX) {
        return false;
    }
    for (int i = 0; i < n; i++) {
        x[i] = inputs[i].mean;
    }
    if (!function(x, context, &centre) || !isfinite(centre)) {
        return false;
    }
    for (int i = 0; i < n; i++) {
        out->parts[i] = 0.0;
        if (!(inputs[i].sd > 0.0)) {
            continue;
        }
        double up = 0.0;
        double low = 0.0;
        x[i] = inputs[i].mean + step * inputs[i].sd;
        bool has_up = difference(x, function, context, circular, centre, &up);
        x[i] = inputs[i].mean - step * inputs[i].sd;
        bool has_low = difference(x, function, context, circular, centre, &low);
        x[i] = inputs[i].mean;
        if (!has_up && !has_low) {
            return false;
        }
        /* At the edge of what a picture can show only one side exists: take it as the slope of both. */
        up = has_up ? up : -low;
        low = has_low ? low : -up;
        double slope = (up - low) / (2.0 * step);
        double curve = (up + low) / (2.0 * step * step);
        double part = slope * slope + 2.0 * curve * curve;
        *(inputs[i].systematic ? &systematic : &random) += part;
        count += !inputs[i].systematic;
        out->parts[i] = slope;
    }
    if (!isfinite(random) || !isfinite(systematic)) {
        return false;
    }
    out->value = centre;
    out->random = count;
    out->sd_random = sqrt(random);
    out->sd_systematic = sqrt(systematic);
    return true;
}
