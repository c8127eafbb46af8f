/* Names of faults and measures as earlier releases wrote them: documents are kept as they came, so the old spellings
 * stay readable. What the club's file holds itself was renamed by migrations/0011_names.sql. */
#ifndef LEADSIDE_WIRE_RULES_OLD_NAMES_H
#define LEADSIDE_WIRE_RULES_OLD_NAMES_H

#include <stdbool.h>

#include "core/measure/measure.h"
#include "core/standard.h"

/* As fault_parse and measure_find, for names that come from outside. */
bool fault_read(const char *name, enum fault_id *out);
bool measure_read(const char *name, enum checkpoint checkpoint, enum measure_item *out);

#endif
