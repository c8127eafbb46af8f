/* The correlation of each two measures' errors, from the inputs that both rest on. */
#include "core/measure/shared.h"

#include <math.h>
#include <string.h>

static int16_t part_of_one(double covariance, double norm)
{
    return (int16_t)lround(MEASURE_SHARED_ONE * fmax(-1.0, fmin(1.0, covariance / norm)));
}

/* by_input: what one sd of each input moves the one measure; shares: the other's. */
static struct measure_shared share_of(const double *by_input, const struct shares *shares, double norm)
{
    double random = 0.0;
    double systematic = 0.0;
    for (int i = 0; i < shares->count; i++) {
        *(shares->inputs[i] < SHARED_SYSTEMATIC ? &random : &systematic) +=
            by_input[shares->inputs[i]] * shares->parts[i];
    }
    if (!(norm > 0.0) || !(fabs(random) + fabs(systematic) >= MEASURE_SHARED_LEAST * norm)) {
        return (struct measure_shared){0, 0};
    }
    return (struct measure_shared){part_of_one(random, norm), part_of_one(systematic, norm)};
}

void shares_correlate(const struct shares shares[MEASURE_COUNT], struct measure_set *set)
{
    double by_input[SHARED_INPUTS] = {0.0};
    memset(set->shared, 0, sizeof set->shared);
    for (int a = 1; a < MEASURE_COUNT; a++) {
        const struct shares *own = &shares[a];
        for (int i = 0; i < own->count; i++) {
            by_input[own->inputs[i]] += own->parts[i];
        }
        for (int b = 0; b < a && own->count > 0; b++) {
            if (shares[b].count > 0) {
                const double norm = measure_sd(&set->items[a]) * measure_sd(&set->items[b]);
                set->shared[measure_pair(a, b)] = share_of(by_input, &shares[b], norm);
            }
        }
        for (int i = 0; i < own->count; i++) {
            by_input[own->inputs[i]] = 0.0;
        }
    }
}
