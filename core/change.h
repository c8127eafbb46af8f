/* Did it change? Two readings of one measure compared with what their errors could have done by themselves.
 *
 * A difference is believed beyond 1.96 standard errors of it (95 %). The systematic parts are the same error twice when
 * nothing was set up anew, and cancel then; otherwise they stay in. */
#ifndef LEADSIDE_CORE_CHANGE_H
#define LEADSIDE_CORE_CHANGE_H

#include <stdbool.h>

#include "core/names.h"
#include "core/standard.h"

#define CHANGE_NAMES(X)                                                                                                \
    X(CHANGE_NOT_COMPARABLE, "not_comparable")                                                                         \
    X(CHANGE_NONE, "no_real_change")                                                                                   \
    X(CHANGE_IMPROVED, "improved")                                                                                     \
    X(CHANGE_WORSE, "worse")

enum change { CHANGE_NAMES(NAMES_ENUM) CHANGE_COUNT };

/* One side of the comparison: the mean of a set of swings, in the measure's unit. */
struct change_set {
    bool observed, clipped; /* a clipped value is a limit, not a value */
    double value;
    double se_random; /* of the mean of the set, the player's own spread included; >= 0 */
    double sd_systematic;
};

struct change_result {
    enum change verdict;
    /* meaningless when not comparable */
    double difference; /* after - before */
    double needed;     /* what |difference| must exceed */
};

#define CHANGE_BELIEVED 1.96 /* standard errors of a difference: 95 % */

/* What a difference of two means must exceed to be believed: CHANGE_BELIEVED sqrt(SE1^2 + SE2^2). */
double change_needed(const struct change_set *before, const struct change_set *after, bool same_setup);

/* A believed difference is an improvement when it brings the value nearer to what is fine (range->ok_...), worse when
 * it takes it farther away; inside the range before and after it is no change that matters. same_setup: the same
 * instrument as it stood, so that its systematic error is the same. */
struct change_result change_judge(const struct change_set *before, const struct change_set *after, bool same_setup,
                                  const struct measure_range *range);

/* What other players' first readings say of one more: their mean and the sd of their true values among each other. */
struct change_prior {
    double mean, sd;
};
#define CHANGE_PRIOR_PLAYERS 8 /* fewer say nothing (common practice) */

/* From first readings, one of each player, with the squared error of each. False: fewer than CHANGE_PRIOR_PLAYERS. */
bool change_prior_of(const double *values, const double *squared_errors, int count, struct change_prior *out);

/* A baseline that was chosen because it was far off is partly so by chance, and the next reading is nearer by itself
 * (Barnett, van der Pols & Dobson 2005, Int J Epidemiol 34:215). Drawn to the mean by what of it does not repeat:
 * reliability = what stays / (what stays + what is drawn anew), the systematic part staying in the same set-up.
 * *reliability (may be NULL) tells how much was kept. */
struct change_set change_drawn(const struct change_set *baseline, const struct change_prior *prior, bool same_setup,
                               double *reliability);

const char *change_name(enum change value); /* "not_comparable", "no_real_change", "improved", "worse" */

#endif
