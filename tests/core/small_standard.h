/* A small sane standard for the core's own tests: two scored measures, three faults, one cause. */
#ifndef LEADSIDE_TESTS_CORE_SMALL_STANDARD_H
#define LEADSIDE_TESTS_CORE_SMALL_STANDARD_H

#include "core/standard.h"

static inline struct measure_range range_make(double strong_low, double ok_low, double ok_high, double strong_high)
{
    return (struct measure_range){{true, ok_low}, {true, ok_high}, {true, strong_low}, {true, strong_high}};
}

static inline void fault_make(struct standard *standard, enum fault_id id, enum measure_item item, enum sign_side side,
                              enum fault_stage stage, double importance)
{
    standard->faults[id] = (struct fault_rule){.defined = true,
                                               .importance = importance,
                                               .stage = stage,
                                               .sign_count = 1,
                                               .signs = {{item, side, 1, true}},
                                               .source = ""};
}

static inline void small_standard(struct standard *out)
{
    *out =
        (struct standard){.version = "small", .threshold = 0.2, .p_present = 0.8, .p_absent = 0.2, .balance_age = 65};
    for (int i = 0; i < CLUB_CLASS_COUNT; i++) {
        out->face_share[i] = 0.76;
    }
    for (int i = 0; i < STAGE_COUNT; i++) {
        out->ease[i] = 1;
    }
    out->range_count = 2;
    out->ranges[0] =
        (struct range_rule){.item = MEASURE_SHAFT_DIRECTION_SHAFT_BACK, .range = range_make(-25, -6, 15, 40)};
    out->ranges[1] = (struct range_rule){.item = MEASURE_SHAFT_CROSS_TOP, .range = range_make(-45, -20, 6, 25)};
    fault_make(out, FAULT_INSIDE_TAKEAWAY, MEASURE_SHAFT_DIRECTION_SHAFT_BACK, SIDE_LOW, STAGE_TAKEAWAY, 0.9);
    fault_make(out, FAULT_OUTSIDE_TAKEAWAY, MEASURE_SHAFT_DIRECTION_SHAFT_BACK, SIDE_HIGH, STAGE_TAKEAWAY, 0.35);
    fault_make(out, FAULT_ACROSS_THE_LINE, MEASURE_SHAFT_CROSS_TOP, SIDE_HIGH, STAGE_TOP, 1);
    out->cause_count = 1;
    out->causes[0] = (struct cause){FAULT_INSIDE_TAKEAWAY, FAULT_ACROSS_THE_LINE, 0.4};
    out->typical_count = 1;
    out->typical[0] = (struct typical){.fault = FAULT_INSIDE_TAKEAWAY, .curve = FLIGHT_LEFT, .match = 0.5};
}

#endif
