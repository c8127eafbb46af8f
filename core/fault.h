/* From measures with errors to faults: score, probability, verdict, and what would settle a "can't tell".
 *
 * Score S = sum(w * severity) / sum(w) over the observed signs; the true value of each measure is taken as normal
 * about what was measured. p = P(S >= threshold), by integrals over the signs' distributions as if they were
 * independent, and what is different because they share marks and cameras from a fixed set of joint draws. What
 * the ball did then changes the odds (flight_weigh), but makes nothing present and nothing absent; against it a measure
 * is trusted to 1 - MEASURE_SLIP at most. */
#ifndef LEADSIDE_CORE_FAULT_H
#define LEADSIDE_CORE_FAULT_H

#include <stdbool.h>

#include "core/flight.h"
#include "core/measure/measure.h"
#include "core/names.h"
#include "core/standard.h"

#define VERDICT_NAMES(X)                                                                                               \
    X(VERDICT_NOT_OBSERVED, "not observed")                                                                            \
    X(VERDICT_ABSENT, "absent")                                                                                        \
    X(VERDICT_CANT_TELL, "can't tell")                                                                                 \
    X(VERDICT_PRESENT, "present")

enum verdict { VERDICT_NAMES(NAMES_ENUM) VERDICT_COUNT };

/* What the verdict rests on: the measures, or the coach's eye where the measures can't tell or say nothing. */
#define VERDICT_BASIS_NAMES(X)                                                                                         \
    X(BASIS_NONE, "none")                                                                                              \
    X(BASIS_MEASURED, "measured")                                                                                      \
    X(BASIS_SEEN, "seen")

enum verdict_basis { VERDICT_BASIS_NAMES(NAMES_ENUM) };

/* What would settle a "can't tell" or a "not observed": bits. */
#define SETTLE_NAMES(X)                                                                                                \
    X(SETTLE_STICKS, "sticks")               /* lay two sticks or mark a distant target */                             \
    X(SETTLE_DOWN_THE_LINE, "down_the_line") /* film from behind along the target line */                              \
    X(SETTLE_FACE_ON, "face_on")                                                                                       \
    X(SETTLE_MORE_SWINGS, "more_swings")                                                                               \
    X(SETTLE_FASTER_CAMERA, "faster_camera") /* more pictures a second */                                              \
    X(SETTLE_SCALE, "scale")                 /* a scale, mat or plates */                                              \
    X(SETTLE_MOTION, "motion")               /* motion-capture data */                                                 \
    X(SETTLE_CONFIRM, "confirm")             /* a person looks at the points that software found */                    \
    X(SETTLE_BOTH_VIEWS, "both_views")       /* one swing filmed from behind and face on: either alone doesn't do */   \
    X(SETTLE_LOOK_AGAIN, "look_again")       /* at the marks that do not fit the others */                             \
    X(SETTLE_HEIGHT, "height")               /* the student's, stated */

enum { SETTLE_NAMES(NAMES_INDEX) SETTLE_BITS };
enum settle { SETTLE_NAMES(NAMES_BIT) };

struct sign_result {
    enum measure_item item;
    enum sign_side side;
    double weight;
    bool required, observed;
    double severity;            /* of the measured value, [0, 1] */
    struct measure_range range; /* the one that applied */
};

struct fault_result {
    enum verdict verdict;
    enum verdict_basis basis;
    double score;              /* S of the measured values, [0, 1] */
    double p;                  /* P(true S >= threshold), [0, 1] */
    double expected;           /* E[S], [0, 1] */
    enum severity_word word;   /* of score; of the coach's word when basis is BASIS_SEEN */
    enum severity_word seen;   /* what the coach saw by eye, SEVERITY_NONE if not said */
    unsigned settle;           /* enum settle bits, 0 when the verdict stands */
    struct flight_weight ball; /* what the ball says of it, whether it was measured or not */
    int sign_count;
    struct sign_result signs[SIGNS_MAX];
};

/* P(sum w_i s_i / sum w_i >= threshold), s_i = severity on `side` of `range` of a normal (mean, sd). n in [1,
 * SIGNS_MAX]. With `slip` one of a sign's marks has slipped: its sd is sd_slip; at most one sign's marks slip so. With
 * the greatest `blind` all signs that have one say nothing, for they share their pictures: marks alone make no fault
 * surer than 1 - blind. shared: correlations of the measures' errors, [i][j] for i > j; NULL = independent. */
struct uncertain_sign {
    struct measure_range range;
    enum sign_side side;
    double weight, mean, sd;
    double slip, sd_slip, blind; /* 0 = no mark that could */
};
struct sign_shares {
    double of[SIGNS_MAX][SIGNS_MAX];
};
double fault_probability(const struct uncertain_sign *signs, int n, double threshold, const struct sign_shares *shared);

/* E[severity] of one uncertain sign, closed form. */
double fault_expected_severity(const struct uncertain_sign *sign);

/* Judges every fault of the standard, each measure by its range. seen may be NULL (seen_count 0). out has FAULT_COUNT
 * entries. A verdict that the flight takes from the measures, or that only the flight gives, is "can't tell"; the
 * coach's word settles that one as any other, for who saw the swing saw the ball. */
void fault_judge(const struct standard *standard, const struct measure_set *measures,
                 const struct judged_range ranges[MEASURE_COUNT], const struct flight_class *flight,
                 const struct seen_fault *seen, int seen_count, struct fault_result out[FAULT_COUNT]);

/* What guessed and suspect measures may say. all: judged from every measure; sure: from those that rest on no guess and
 * on no suspect mark. A verdict of the sure ones stands; else all's, but a guess or a suspect mark makes nothing
 * present and nothing absent: that becomes "can't tell". */
void fault_hold_back(const struct fault_result sure[FAULT_COUNT], const struct measure_set *measures,
                     struct fault_result all[FAULT_COUNT]);

const char *verdict_name(enum verdict value);
const char *verdict_basis_name(enum verdict_basis value);
const char *settle_name(enum settle bit);

#endif
