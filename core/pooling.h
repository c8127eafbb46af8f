/* What many small trials say together: each partially pooled with the others by empirical Bayes.
 *
 * value_i ~ N(theta_i, se_i^2), theta_i ~ N(mean, tau^2). tau^2 by Paule & Mandel (1982), the value at which the
 * weighted squares are what they are expected to be, or 0; the mean's interval by Hartung & Knapp (2001), never
 * narrower than the plain one. */
#ifndef LEADSIDE_CORE_POOLING_H
#define LEADSIDE_CORE_POOLING_H

#include <stdbool.h>

struct pooling_trial {
    double value, se; /* se > 0 */
    double pooled;    /* filled in: drawn to the mean, the farther the less the trial knows */
};

struct pooling {
    double mean, low, high; /* with its 95 % interval */
    double tau;             /* sd of the true effects among each other */
};

/* count >= 2. */
struct pooling pooling_of(struct pooling_trial *trials, int count);

#endif
