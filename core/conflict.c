/* Does one thing asked of a player work against another, or against what the ball does? */
#include "core/conflict.h"

#include <stddef.h>

static const struct fault_sign *required_sign(const struct fault_rule *rule, enum measure_item item)
{
    for (int i = 0; i < rule->sign_count; i++) {
        if (rule->signs[i].required && rule->signs[i].item == item) {
            return &rule->signs[i];
        }
    }
    return NULL;
}

bool conflict_faults(const struct standard *standard, enum fault_id one, enum fault_id other, enum measure_item *item)
{
    const struct fault_rule *rule = &standard->faults[one];
    for (int i = 0; i < rule->sign_count; i++) {
        const struct fault_sign *sign = &rule->signs[i];
        const struct fault_sign *beside = required_sign(&standard->faults[other], sign->item);
        if (sign->required && beside != NULL && beside->side != sign->side) {
            *item = sign->item;
            return true;
        }
    }
    return false;
}

bool conflict_drill(const struct standard *standard, const struct drill *drill, enum fault_id fault,
                    enum measure_item *item)
{
    for (int i = 0; i < FAULT_COUNT && !drill->faults[fault]; i++) {
        if (drill->faults[i] && conflict_faults(standard, (enum fault_id)i, fault, item)) {
            return true;
        }
    }
    return false;
}

bool conflict_flight(const struct standard *standard, enum fault_id fault, const struct flight_class *flight)
{
    return flight_weigh(standard, fault, flight).refused;
}

NAMES(conflict, enum conflict, CONFLICT_NAMES);
