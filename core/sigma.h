/* Errors through any formula by sigma points (unscented transform; Julier & Uhlmann 1997, Proc. SPIE 3068:182), with
 * the random and the systematic part kept apart.
 *
 * The inputs are independent, so each is given its own pair of points at mean +- sqrt(3) sd. With a and b the slope
 * and half curvature found from the pair, an input adds a^2 + 2 b^2 to the variance: exact for a sum of quadratics
 * of normal inputs, and never negative. */
#ifndef LEADSIDE_CORE_SIGMA_H
#define LEADSIDE_CORE_SIGMA_H

#include <math.h>
#include <stdbool.h>

#define SIGMA_INPUTS_MAX 72

struct sigma_input {
    double mean, sd; /* sd >= 0; an input with sd 0 costs nothing */
    bool systematic;
};

/* The formula. False = no value at these inputs. It must not keep x. */
typedef bool (*sigma_function)(const double *x, void *context, double *y);

struct sigma_result {
    double value; /* at the means */
    int random;   /* inputs with a random error */
    double sd_random, sd_systematic;
    double parts[SIGMA_INPUTS_MAX]; /* the slope: what one sd of each input given moves the value */
};

/* circular: the value is an angle in degrees, differences are taken the short way round. False when there is no value
 * at the means, when both points of an input fail, or when anything is not finite. 0 < n <= SIGMA_INPUTS_MAX. */
__attribute__((warn_unused_result)) bool sigma_transform(const struct sigma_input *inputs, int n,
                                                         sigma_function function, void *context, bool circular,
                                                         struct sigma_result *out);

/* An angle difference brought into [-180, 180]. */
static inline double sigma_wrap(double degrees)
{
    if (degrees >= -180.0 && degrees <= 180.0) {
        return degrees;
    }
    return remainder(degrees, 360.0);
}

#endif
