/* How well a measure repeats: from subjects who were measured several times each, two-way analysis of variance.
 * ICC(2,1) and ICC(3,1) after Shrout & Fleiss 1979 (Psychol Bull 86:420), SEM and least change after Weir 2005 (J
 * Strength Cond Res 19:231). */
#ifndef LEADSIDE_CORE_RELIABILITY_H
#define LEADSIDE_CORE_RELIABILITY_H

#include <stdbool.h>

/* From so many subjects on a spread of their repeats is known to about a tenth: three repeats of 20 leave 40 degrees of
 * freedom, and the error of an sd is 1 / sqrt(2 * 40) of it. */
#define RELIABILITY_REPEATS 3
#define RELIABILITY_ENOUGH 20

struct reliability {
    int subjects, repeats;
    double mean;            /* of all */
    double icc_agreement;   /* ICC(2,1): what a first and a second repeat have in common, drift counted as error */
    double icc_consistency; /* ICC(3,1): drift that all share left out */
    double between;         /* sd of the subjects' true values, >= 0 */
    double within;          /* sd of one subject's repeats, drift included */
    double sem;             /* standard error of measurement, sqrt of the residual mean square */
    double mdc;             /* what two single values must differ by to be believed: 1.96 sqrt(2) SEM */
};

/* values: `repeats` of the first subject, then of the second, ... False: fewer than two of either, or no value differs.
 */
__attribute__((warn_unused_result)) bool reliability_of(const double *values, int subjects, int repeats,
                                                        struct reliability *out);

#endif
