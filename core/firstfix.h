/* Which fault to work on first, and why: causes before consequences, in agreement with the ball.
 *
 * u_i = p_i * E[S_i] * importance_i. r_i(i) = 1; r_i(j) = 1 - prod over parents k of j (1 - r_i(k) c_kj), passing only
 * through faults that are present or not observed. Priority = (sum_j r_i(j) u_j) * ease_i * (1 + match_i / 2) *
 * (1 + min(1, ratio_i)) / 2, match and ratio of the ball (flight_weigh).
 * Greedy: take the best, scale every u_j by (1 - r_i(j)), repeat; at most two, and the second only where what is left
 * for it is worth half the first. A contested fault never comes first on its own signs alone: the ball must fit it, or
 * say nothing while it explains a present fault that is not contested. */
#ifndef LEADSIDE_CORE_FIRSTFIX_H
#define LEADSIDE_CORE_FIRSTFIX_H

#include "core/fault.h"
#include "core/standard.h"

#define FIRSTFIX_MAX 2
#define FIRSTFIX_SECOND 0.5 /* of the first's priority, at least: less is not worth a second cue (common practice) */
#define FIRSTFIX_BACKS 0.1  /* share of another fault from which explaining it counts as a reason (common practice) */

struct first_fix {
    enum fault_id fault;
    double priority;
    double own;                   /* its own u, before anything was explained away */
    double flight_match;          /* [0, 1] */
    double explains[FAULT_COUNT]; /* r_i(j) for present j, 0 elsewhere and for itself */
};

struct first_fixes {
    int count;
    struct first_fix items[FIRSTFIX_MAX];
    bool leave_alone[FAULT_COUNT]; /* present, but not to be worked on now */
};

/* Only present faults are chosen. Ties go to the earlier fault of the catalogue. */
void firstfix_choose(const struct standard *standard, const struct fault_result faults[FAULT_COUNT],
                     struct first_fixes *out);

#endif
