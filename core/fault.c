/* Judges every fault of a standard from its signs, takes the coach's eye where the measures are silent, and says what
 * would settle a fault that can't be told. */
#include "core/fault.h"

#include <math.h>
#include <stddef.h>

#define SEEN_P 0.9              /* how far a coach's eye is trusted (common practice) */
#define PLAN_SYSTEMATIC_DEG 3.0 /* more than two sticks leave: the camera's direction is not known */
#define MATTERS 0.25            /* share of the score's variance from which a sign is worth settling */

NAMES(verdict, enum verdict, VERDICT_NAMES);
NAMES(verdict_basis, enum verdict_basis, VERDICT_BASIS_NAMES);
NAMES_BITS(settle, enum settle, SETTLE_NAMES);

static bool is(enum measure_item item, enum measure_nature nature)
{
    return (measure_info(item)->nature & (unsigned)nature) != 0;
}

/* What would let an item be observed at all. */
static unsigned observe_with(enum measure_item item)
{
    static const struct {
        enum measure_seen seen;
        enum settle settle;
    } means[] = {{SEEN_DOWN_THE_LINE, SETTLE_DOWN_THE_LINE},
                 {SEEN_FACE_ON, SETTLE_FACE_ON},
                 {SEEN_BOTH_VIEWS, SETTLE_BOTH_VIEWS},
                 {SEEN_SCALE, SETTLE_SCALE},
                 {SEEN_MOTION, SETTLE_MOTION}};
    unsigned bits = 0;
    for (size_t i = 0; i < sizeof means / sizeof *means; i++) {
        bits |= measure_info(item)->seen_from & (unsigned)means[i].seen ? (unsigned)means[i].settle : 0U;
    }
    return bits;
}

/* What would make an observed item sharper, by the larger part of its error. */
static unsigned sharpen_with(enum measure_item item, const struct measure *measure, const struct judged_range *range)
{
    const double height = range->wants_height ? STANDARD_HEIGHT_SPREAD * measure->value : 0;
    const double sd = measure_sd(measure);
    bool picture = measure->source == MEASURE_SOURCE_PICTURE || measure->source == MEASURE_SOURCE_PICTURES;
    if (measure->guessed || measure->suspect) {
        return measure->suspect ? SETTLE_LOOK_AGAIN : SETTLE_CONFIRM;
    }
    if (2 * height * height > sd * sd) {
        return SETTLE_HEIGHT;
    }
    if (measure->sd_systematic > measure->sd_random && picture) {
        if (is(item, IS_PLAN)) {
            return measure->sd_systematic > PLAN_SYSTEMATIC_DEG ? SETTLE_STICKS : SETTLE_MOTION;
        }
        return measure_info(item)->seen_from & SEEN_SCALE ? SETTLE_SCALE : SETTLE_MOTION;
    }
    if (measure->sd_systematic > measure->sd_random && measure->source == MEASURE_SOURCE_MOTION &&
        measure_info(item)->seen_from & SEEN_SCALE) {
        return SETTLE_SCALE; /* an estimate from the body's shape stays as wrong however many swings there are */
    }
    if (measure->source == MEASURE_SOURCE_TIMES) {
        return SETTLE_FASTER_CAMERA | SETTLE_MORE_SWINGS;
    }
    return SETTLE_MORE_SWINGS | (picture && is(item, IS_FAST) ? SETTLE_FASTER_CAMERA : 0U);
}

static double spread_of(const struct sign_result *sign, const struct measure *measure)
{
    const struct maybe *ok = sign->side == SIDE_LOW ? &sign->range.ok_low : &sign->range.ok_high;
    const struct maybe *strong = sign->side == SIDE_LOW ? &sign->range.strong_low : &sign->range.strong_high;
    return sign->weight * measure_sd(measure) / fabs(strong->value - ok->value);
}

static unsigned settle_open(const struct fault_result *fault, const struct measure_set *measures,
                            const struct judged_range ranges[MEASURE_COUNT])
{
    unsigned bits = 0;
    double variance = 0;
    double weights = 0;
    for (int i = 0; i < fault->sign_count; i++) {
        const struct sign_result *sign = &fault->signs[i];
        weights += sign->weight;
        if (sign->observed) {
            double part = spread_of(sign, &measures->items[sign->item]);
            variance += part * part;
        }
    }
    for (int i = 0; i < fault->sign_count; i++) {
        const struct sign_result *sign = &fault->signs[i];
        const struct measure *measure = &measures->items[sign->item];
        if (!sign->observed) {
            bits |= sign->weight >= MATTERS * weights && ranges[sign->item].given ? observe_with(sign->item) : 0U;
        } else {
            double part = spread_of(sign, measure);
            bits |= part * part >= MATTERS * variance ? sharpen_with(sign->item, measure, &ranges[sign->item]) : 0U;
        }
    }
    return bits != 0 ? bits : (unsigned)SETTLE_MORE_SWINGS;
}

/* A sign without a range for this player can't be judged whatever is filmed; a child's length can once its height is
 * stated. */
static unsigned settle_missing(const struct fault_result *fault, const struct judged_range ranges[MEASURE_COUNT])
{
    unsigned bits = 0;
    for (int i = 0; i < fault->sign_count; i++) {
        const struct sign_result *sign = &fault->signs[i];
        if (sign->required && !sign->observed) {
            bits |= ranges[sign->item].given          ? observe_with(sign->item)
                    : ranges[sign->item].wants_height ? (unsigned)SETTLE_HEIGHT
                                                      : 0U;
        }
    }
    return bits;
}

/* Looks the signs up; fills in uncertain[] with the observed ones and returns how many. */
static int gather(const struct fault_rule *rule, const struct measure_set *measures,
                  const struct judged_range ranges[MEASURE_COUNT], struct fault_result *out,
                  struct uncertain_sign uncertain[SIGNS_MAX])
{
    int observed = 0;
    out->sign_count = rule->sign_count;
    for (int i = 0; i < rule->sign_count; i++) {
        const struct fault_sign *sign = &rule->signs[i];
        const struct measure *measure = &measures->items[sign->item];
        const struct judged_range *range = &ranges[sign->item];
        struct sign_result *result = &out->signs[i];
        *result = (struct sign_result){
            .item = sign->item, .side = sign->side, .weight = sign->weight, .required = sign->required};
        if (!range->given || !measure->observed) {
            continue;
        }
        result->observed = true;
        result->range = range->range;
        result->severity = range_severity(&range->range, sign->side, measure->value);
        uncertain[observed++] = (struct uncertain_sign){.range = range->range,
                                                        .side = sign->side,
                                                        .weight = sign->weight,
                                                        .mean = measure->value,
                                                        .sd = measure_sd(measure),
                                                        .slip = measure->slip,
                                                        .sd_slip = measure->sd_slip,
                                                        .blind = measure->blind};
    }
    return observed;
}

static double correlation(const struct measure_set *measures, int a, int b)
{
    if (a == b) {
        return 1; /* both sides of one measure */
    }
    const struct measure_shared *shared = &measures->shared[measure_pair(a, b)];
    return (double)(shared->random + shared->systematic) / MEASURE_SHARED_ONE;
}

/* Correlations of the observed signs, [i][j] for i > j. False when there is none. */
static bool shared_by_signs(const struct measure_set *measures, const struct fault_result *fault,
                            struct sign_shares *out)
{
    bool any = false;
    int n = 0;
    int items[SIGNS_MAX];
    for (int i = 0; i < fault->sign_count; i++) {
        if (!fault->signs[i].observed) {
            continue;
        }
        items[n] = (int)fault->signs[i].item;
        for (int k = 0; k < n; k++) {
            out->of[n][k] = correlation(measures, items[n], items[k]);
            any = any || out->of[n][k] != 0;
        }
        n++;
    }
    return any;
}

static bool required_observed(const struct fault_result *fault)
{
    for (int i = 0; i < fault->sign_count; i++) {
        if (fault->signs[i].required && fault->signs[i].observed) {
            return true;
        }
    }
    return false;
}

static enum verdict verdict_of(const struct standard *standard, double p)
{
    return p >= standard->p_present ? VERDICT_PRESENT : p <= standard->p_absent ? VERDICT_ABSENT : VERDICT_CANT_TELL;
}

/* The flight's odds. Against it a measure is trusted no further than that one in so many is of something else; and the
 * ball makes nothing certain that the measures leave open. */
static void hear_ball(const struct standard *standard, struct fault_result *out)
{
    const double ratio = out->ball.ratio;
    if (ratio == 1) {
        return;
    }
    const double p = ratio < 1 ? fmin(out->p, 1 - MEASURE_SLIP) : fmax(out->p, MEASURE_SLIP);
    out->p = p * ratio / (1 - p + p * ratio);
    out->verdict = verdict_of(standard, out->p) == out->verdict ? out->verdict : VERDICT_CANT_TELL;
}

static void judge_measured(const struct standard *standard, const struct measure_set *measures,
                           const struct judged_range ranges[MEASURE_COUNT], const struct uncertain_sign *uncertain,
                           int observed, struct fault_result *out)
{
    struct sign_shares shared;
    double weights = 0;
    for (int i = 0; i < observed; i++) {
        weights += uncertain[i].weight;
        out->expected += uncertain[i].weight * fault_expected_severity(&uncertain[i]);
        out->score += uncertain[i].weight * range_severity(&uncertain[i].range, uncertain[i].side, uncertain[i].mean);
    }
    out->expected /= weights;
    out->score /= weights;
    out->word = severity_word(out->score);
    out->p = fault_probability(uncertain, observed, standard->threshold,
                               shared_by_signs(measures, out, &shared) ? &shared : NULL);
    out->basis = BASIS_MEASURED;
    out->verdict = verdict_of(standard, out->p);
    hear_ball(standard, out);
    if (out->verdict == VERDICT_CANT_TELL) {
        out->settle = settle_open(out, measures, ranges);
    }
}

/* The measures stand where they can tell; where they can't, the coach's word does. */
static void take_seen(enum severity_word word, struct fault_result *out)
{
    static const double middle[SEVERITY_WORD_COUNT] = {0, 0.27, 0.5,
                                                       0.83}; /* of each word's band above the threshold */
    out->seen = word;
    if (word == SEVERITY_NONE || out->verdict == VERDICT_PRESENT || out->verdict == VERDICT_ABSENT) {
        return;
    }
    out->verdict = VERDICT_PRESENT;
    out->basis = BASIS_SEEN;
    out->p = SEEN_P;
    out->expected = middle[word];
    out->word = word;
    out->settle = 0;
}

void fault_judge(const struct standard *standard, const struct measure_set *measures,
                 const struct judged_range ranges[MEASURE_COUNT], const struct flight_class *flight,
                 const struct seen_fault *seen, int seen_count, struct fault_result out[FAULT_COUNT])
{
    for (int f = 0; f < FAULT_COUNT; f++) {
        struct fault_result *fault = &out[f];
        struct uncertain_sign uncertain[SIGNS_MAX];
        *fault = (struct fault_result){.verdict = VERDICT_NOT_OBSERVED, .basis = BASIS_NONE};
        if (!standard->faults[f].defined) {
            continue;
        }
        fault->ball = flight_weigh(standard, (enum fault_id)f, flight);
        int observed = gather(&standard->faults[f], measures, ranges, fault, uncertain);
        if (required_observed(fault)) {
            judge_measured(standard, measures, ranges, uncertain, observed, fault);
        } else {
            fault->settle = settle_missing(fault, ranges);
        }
        for (int i = 0; i < seen_count; i++) {
            if (seen[i].fault == f) {
                take_seen(seen[i].word, fault);
            }
        }
    }
}

static bool is_certain(const struct fault_result *fault)
{
    return fault->verdict == VERDICT_PRESENT || fault->verdict == VERDICT_ABSENT;
}

/* What would let a held back verdict stand: a look at the suspect marks, else at the guesses. */
static unsigned settle_held(const struct fault_result *fault, const struct measure_set *measures)
{
    for (int i = 0; i < fault->sign_count; i++) {
        if (fault->signs[i].observed && measures->items[fault->signs[i].item].suspect) {
            return SETTLE_LOOK_AGAIN;
        }
    }
    return SETTLE_CONFIRM;
}

void fault_hold_back(const struct fault_result sure[FAULT_COUNT], const struct measure_set *measures,
                     struct fault_result all[FAULT_COUNT])
{
    for (int f = 0; f < FAULT_COUNT; f++) {
        if (is_certain(&sure[f])) {
            all[f] = sure[f];
        } else if (is_certain(&all[f])) {
            all[f].verdict = VERDICT_CANT_TELL;
            all[f].settle = settle_held(&all[f], measures);
        }
    }
}
