/* Repeatable random numbers for the invented club: splitmix64 (Steele, Lea & Flood 2014). Never for secrets. */
#ifndef LEADSIDE_DEMO_RANDOM_H
#define LEADSIDE_DEMO_RANDOM_H

#include <math.h>
#include <stdint.h>

struct demo_random {
    uint64_t state;
};

static inline uint64_t demo_random_bits(struct demo_random *random)
{
    uint64_t z = (random->state += 0x9e3779b97f4a7c15U);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9U;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebU;
    return z ^ (z >> 31);
}

/* In [0, 1). */
static inline double demo_random_unit(struct demo_random *random)
{
    return (double)(demo_random_bits(random) >> 11) * 0x1p-53;
}

static inline double demo_random_between(struct demo_random *random, double low, double high)
{
    return low + (high - low) * demo_random_unit(random);
}

/* In [0, count). */
static inline int demo_random_index(struct demo_random *random, int count)
{
    return (int)(demo_random_unit(random) * count);
}

/* Standard normal (Box & Muller 1958). */
static inline double demo_random_normal(struct demo_random *random)
{
    double u = 1.0 - demo_random_unit(random);
    return sqrt(-2.0 * log(u)) * cos(6.283185307179586 * demo_random_unit(random));
}

#endif
