/* From measures with errors to faults: score, probability, verdict, and what would settle a "can't tell".
 *
 * Score S = sum(w * severity) / sum(w) over the observed signs; the true value of each measure is taken as normal
 * about what was measured, signs independent. p = P(S >= threshold), by convolution of the signs' distributions. */
#ifndef LEADSIDE_CORE_FAULT_H
#define LEADSIDE_CORE_FAULT_H

#include <stdbool.h>

#include "core/measure/measure.h"
#include "core/standard.h"

enum verdict { VERDICT_NOT_OBSERVED, VERDICT_ABSENT, VERDICT_CANT_TELL, VERDICT_PRESENT, VERDICT_COUNT };

/* What rests the verdict: the measures, or the coach's eye where the measures can't tell or say nothing. */
enum verdict_basis { BASIS_NONE, BASIS_MEASURED, BASIS_SEEN };

/* What would settle a "can't tell" or a "not observed": bits. */
enum settle {
    SETTLE_STICKS = 1,        /* lay two sticks or mark a distant target */
    SETTLE_DOWN_THE_LINE = 2, /* film from behind along the target line */
    SETTLE_FACE_ON = 4,
    SETTLE_MORE_SWINGS = 8,
    SETTLE_FASTER_CAMERA = 16, /* more pictures a second */
    SETTLE_SCALE = 32,         /* a scale, mat or plates */
    SETTLE_MOTION = 64,        /* motion-capture data */
    SETTLE_CONFIRM = 128,      /* a person looks at the points that software found */
    SETTLE_BOTH_VIEWS = 256    /* one swing filmed from behind and face on: either alone doesn't do */
};

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
    double score;            /* S of the measured values, [0, 1] */
    double p;                /* P(true S >= threshold), [0, 1] */
    double expected;         /* E[S], [0, 1] */
    enum severity_word word; /* of score; of the coach's word when basis is BASIS_SEEN */
    enum severity_word seen; /* what the coach saw by eye, SEVERITY_NONE if not said */
    unsigned settle;         /* enum settle bits, 0 when the verdict stands */
    int sign_count;
    struct sign_result signs[SIGNS_MAX];
};

/* The player's class for choosing ranges. */
struct player {
    enum sex sex;
    enum age_band age;
    enum club_class club;
};

/* P(sum w_i s_i / sum w_i >= threshold), s_i = severity on `side` of `range` of a normal (mean, sd). n in [1,
 * SIGNS_MAX]. */
struct uncertain_sign {
    struct measure_range range;
    enum sign_side side;
    double weight, mean, sd;
};
double fault_probability(const struct uncertain_sign *signs, int n, double threshold);

/* E[severity] of one uncertain sign, closed form. */
double fault_expected_severity(const struct uncertain_sign *sign);

/* Judges every fault of the standard. seen may be NULL (seen_count 0). out has FAULT_COUNT entries. */
void fault_judge(const struct standard *standard, const struct measure_set *measures, const struct player *player,
                 const struct seen_fault *seen, int seen_count, struct fault_result out[FAULT_COUNT]);

/* What guessed measures may say. all: judged from every measure; own: from those that rest on no guess. A verdict of
 * the own stands; else all's, but a guess makes nothing present and nothing absent: that becomes "can't tell". */
void fault_hold_guesses(const struct fault_result own[FAULT_COUNT], struct fault_result all[FAULT_COUNT]);

const char *verdict_name(enum verdict verdict); /* "not observed", "absent", "can't tell", "present" */

#endif
