/* A house standard with other spreads, the rest of it as it was. */
#ifndef LEADSIDE_WIRE_RULES_SPREADS_H
#define LEADSIDE_WIRE_RULES_SPREADS_H

#include "base/arena.h"
#include "core/measure/measure.h"
#include "core/standard.h"

/* JSON of the standard with each given spread, to three digits, in the place of its own, and this version's name. In
 * the arena; NULL when the text is no standard or memory is short. */
char *standard_with_spreads(const char *json, size_t length, const char *version,
                            const struct maybe spreads[MEASURE_COUNT], struct arena *arena, size_t *size)
    __attribute__((warn_unused_result));

#endif
