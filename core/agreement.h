/* Do those who looked at the same swings say the same? Chance-corrected agreement (kappa) with its 95 % interval.
 *
 * Judgements come in swings, and what is said of one swing hangs together: the interval is that of a jackknife that
 * leaves out one swing at a time. Of single judgements it comes to the usual standard error as their number grows
 * (Fleiss, Cohen & Everitt 1969). */
#ifndef LEADSIDE_CORE_AGREEMENT_H
#define LEADSIDE_CORE_AGREEMENT_H

#include <stdbool.h>

#include "core/names.h"

/* What somebody says of one fault in one swing, in order: not to see it lies between. */
#define OPINION_NAMES(X)                                                                                               \
    X(OPINION_ABSENT, "absent")                                                                                        \
    X(OPINION_CANT_SEE, "cant_see")                                                                                    \
    X(OPINION_PRESENT, "present")

enum opinion { OPINION_NAMES(NAMES_ENUM) OPINION_COUNT };
#define OPINION_NONE (-1) /* nothing was said */

#define AGREEMENT_CATEGORIES 5
#define AGREEMENT_FEW 10 /* of fewer swings no kappa is told (common practice) */

/* Of one swing: how often the first said row and the second column. */
struct agreement_pair {
    int said[AGREEMENT_CATEGORIES][AGREEMENT_CATEGORIES];
};

/* Of one swing: how many of those who looked said what; two or more of them, not always the same ones. */
struct agreement_many {
    int said[AGREEMENT_CATEGORIES];
};

struct agreement {
    double agreed; /* share of what was said alike; weighted: 1 - the mean distance */
    bool defined;  /* false: chance alone would always agree, or nothing was given */
    double kappa;
    bool bounded; /* the interval is there: two swings or more, each of which can be left out */
    double low, high;
};

/* Cohen's kappa (1960) of two; weighted: by the distance in order (Cohen 1968, linear weights). count swings, of
 * `categories` (2 to AGREEMENT_CATEGORIES). */
struct agreement agreement_of_pair(const struct agreement_pair *swings, int count, int categories, bool weighted);

/* Fleiss' kappa (1971) of many, not the same number for every swing: the mean over swings of the share of pairs that
 * say the same, against what the categories' overall shares would give. */
struct agreement agreement_of_many(const struct agreement_many *swings, int count, int categories);

const char *opinion_name(enum opinion value);
bool opinion_parse(const char *name, enum opinion *out);

#endif
