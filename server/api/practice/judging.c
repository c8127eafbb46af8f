/* See judging.h. */
#include "api/practice/judging.h"

#include <math.h>

#include "api/practice/repeats.h"
#include "store/practice/retest.h"

#define FINE_SDS 1.645 /* nine of ten players lie in what is fine (common practice) */

int judging_items(const struct fault_rule *rule, enum measure_item items[SIGNS_MAX])
{
    double weights[SIGNS_MAX];
    int count = 0;
    for (int i = 0; i < rule->sign_count; i++) {
        const struct fault_sign *sign = &rule->signs[i];
        int at = count;
        if (!sign->required) {
            continue;
        }
        for (; at > 0 && weights[at - 1] < sign->weight; at--) {
            weights[at] = weights[at - 1];
            items[at] = items[at - 1];
        }
        weights[at] = sign->weight;
        items[at] = sign->item;
        count++;
    }
    return count;
}

bool judging_placed(enum measure_source source)
{
    return source == MEASURE_SOURCE_PICTURE || source == MEASURE_SOURCE_PICTURES || source == MEASURE_SOURCE_MOTION;
}

struct change_set judging_set(const struct report_pick *pick, double spread)
{
    const struct measure *measure = &pick->measure;
    struct change_set set = {.observed = measure->observed,
                             .clipped = measure->clipped,
                             .value = measure->value,
                             .se_random = measure->sd_random,
                             .sd_systematic = measure->sd_systematic};
    if (pick->swings > 0 && pick->swings < JUDGING_SWINGS) { /* such a report leaves it out */
        set.se_random = hypot(set.se_random, spread / sqrt(pick->swings));
    }
    return set;
}

bool judging_shows(const struct measure *measure)
{
    return measure->observed && !measure->clipped && !measure->guessed && !measure->suspect;
}

static double squared(double x)
{
    return x * x;
}

enum store_status judging_club(struct call *call, const struct judging_like *like, struct change_prior *out,
                               bool *known)
{
    struct store_reading_list firsts;
    double values[STORE_FIRSTS_MAX];
    double errors[STORE_FIRSTS_MAX];
    int count = 0;
    enum store_status status = store_retest_firsts(call->db, call->arena, &firsts);
    for (size_t i = 0; status == STORE_OK && i < firsts.count; i++) {
        struct report_pick pick;
        enum club_class club;
        bool readable = false;
        status = repeats_pick(call->db, firsts.items[i].report, &like->item, 1, &pick, &club, &readable);
        const struct measure *measure = &pick.measure;
        if (status == STORE_OK && readable && club == like->club && judging_shows(measure) &&
            measure->source == like->source) {
            values[count] = measure->value;
            errors[count++] = squared(measure->sd_random) + squared(measure->sd_systematic) + squared(like->spread);
        }
    }
    *known = status == STORE_OK && change_prior_of(values, errors, count, out);
    return status;
}

struct change_prior judging_middle(const struct measure_range *range, double spread)
{
    const double low = range->ok_low.value;
    const double high = range->ok_high.value;
    if (range->ok_low.given && range->ok_high.given) {
        return (struct change_prior){.mean = (low + high) / 2, .sd = (high - low) / 2 / FINE_SDS};
    }
    return (struct change_prior){.mean = range->ok_low.given ? low : high, .sd = spread};
}
