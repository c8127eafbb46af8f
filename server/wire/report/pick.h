/* Single measures taken back out of reports as they were stored. */
#ifndef LEADSIDE_WIRE_REPORT_PICK_H
#define LEADSIDE_WIRE_REPORT_PICK_H

#include <stdbool.h>
#include <stddef.h>

#include "core/measure/measure.h"
#include "core/standard.h"

struct report_pick {
    struct measure measure; /* not observed when the report has none */
    int swings;             /* that showed it */
};

/* Fills one pick for each item. club: the class of club that was judged. False when the text is no report. */
bool report_pick(const char *json, size_t size, const enum measure_item *items, int count, struct report_pick *out,
                 enum club_class *club) __attribute__((warn_unused_result));

#endif
