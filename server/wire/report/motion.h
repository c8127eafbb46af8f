/* The motion part of both reports, JSON and text: what was recorded, when each checkpoint was, what turned fastest
 * when, and what is wrong with the record. Private to report_*.c. */
#ifndef LEADSIDE_WIRE_REPORT_MOTION_H
#define LEADSIDE_WIRE_REPORT_MOTION_H

#include "wire/json/out.h"
#include "wire/report/write.h"

/* "motion": one entry for every swing that has motion data. */
void report_motion_write(struct json_out *out, const struct report *report, const struct report_context *context);

#endif
