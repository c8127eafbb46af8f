/* The catalogue of measures: names, checkpoints and units, and how they are looked up.
 * Everything here comes from the one list in measure.h. */
#include <math.h>
#include <string.h>

#include "core/measure/measure.h"

static const struct measure_info catalogue[MEASURE_COUNT] = {
#define X(id, label, at, in, seen, nature) {label, CHECKPOINT_##at, UNIT_##in, seen, nature},
    MEASURE_CATALOGUE(X)
#undef X
};

const struct measure_info *measure_info(enum measure_item item)
{
    return &catalogue[item];
}

bool measure_find(const char *name, enum checkpoint checkpoint, enum measure_item *out)
{
    int found = -1;

    for (int i = 0; i < MEASURE_COUNT; i++) {
        if (strcmp(catalogue[i].name, name) != 0) {
            continue;
        }
        if (catalogue[i].checkpoint == checkpoint) {
            *out = (enum measure_item)i;
            return true;
        }
        if (checkpoint == CHECKPOINT_NONE) {
            if (found >= 0) {
                return false; /* the name alone does not say which */
            }
            found = i;
        }
    }
    if (found < 0) {
        return false;
    }
    *out = (enum measure_item)found;
    return true;
}

NAMES(unit, enum unit, UNIT_NAMES);
NAMES(measure_source, enum measure_source, MEASURE_SOURCE_NAMES);
NAMES_PARSE(measure_source, enum measure_source, MEASURE_SOURCE_NAMES);

double measure_sd(const struct measure *measure)
{
    return hypot(measure->sd_random, measure->sd_systematic);
}
