/* What is said of each fault of a swing: by its stored report, and by a coach, as JSON {"crowding": "present", …}. */
#ifndef LEADSIDE_WIRE_REPORT_OPINION_H
#define LEADSIDE_WIRE_REPORT_OPINION_H

#include <stdbool.h>
#include <stddef.h>

#include "core/agreement.h"
#include "core/standard.h"
#include "wire/json/out.h"

/* One of enum opinion, or OPINION_NONE, for each fault. */
struct opinions {
    signed char of[FAULT_COUNT];
};

/* A fault that the report can't tell of, or did not observe, it can't see. False when the text is no report. */
bool opinions_of_report(const char *json, size_t size, struct opinions *out) __attribute__((warn_unused_result));

/* Faults of a name unknown now are left out. False when the text is none. */
bool opinions_read(const char *json, struct opinions *out) __attribute__((warn_unused_result));
void opinions_write(struct json_out *out, const char *key, const struct opinions *opinions);

#endif
