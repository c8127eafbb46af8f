/* struct drill -> the JSON that drill_read_one reads: what the store keeps of a drill, and what answers show. */
#ifndef LEADSIDE_WIRE_RULES_DRILL_WRITE_H
#define LEADSIDE_WIRE_RULES_DRILL_WRITE_H

#include "core/practice.h"
#include "wire/json/out.h"

/* Every member but the id, inside an object that is open. */
void drill_write(struct json_out *out, const struct drill *drill);
/* What of it tells how a student goes on: level, entry, pass, the easier way and the reason. */
void drill_line_write(struct json_out *out, const struct drill *drill);

#endif
