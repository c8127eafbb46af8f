/* The catalogue of measures: names, checkpoints and units, and how they are looked up.
 * Everything here comes from the one list in measure.h. */
#include <math.h>
#include <string.h>

#include "core/measure/measure.h"

static const struct measure_info catalogue[MEASURE_COUNT] = {
#define X(id, label, at, in, motion) {label, CHECKPOINT_##at, UNIT_##in, motion},
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

const char *unit_name(enum unit unit)
{
    static const char *const names[UNIT_COUNT + 1] = {"deg", "m", "%", "", "count"};
    return (unsigned)unit <= UNIT_COUNT ? names[unit] : NULL;
}

const char *measure_source_name(enum measure_source source)
{
    static const char *const names[MEASURE_SOURCE_COUNT] = {"none",   "picture", "pictures", "times",
                                                            "motion", "weight",  "measured"};
    return (unsigned)source < MEASURE_SOURCE_COUNT ? names[source] : NULL;
}

double measure_sd(const struct measure *measure)
{
    return hypot(measure->sd_random, measure->sd_systematic);
}
