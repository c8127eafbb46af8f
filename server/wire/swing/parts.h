/* The parts of a swing document that are read by files of their own, and the values that several documents name.
 * Private to server/wire/swing. */
#ifndef LEADSIDE_WIRE_SWING_PARTS_H
#define LEADSIDE_WIRE_SWING_PARTS_H

#include "core/motion/axes.h"
#include "wire/json/fields.h"
#include "wire/swing/read.h"

bool swing_read_checkpoint(struct json_fields *fields, const struct wire_at *place, enum checkpoint *out);
bool swing_read_club(struct json_fields *fields, const struct wire_at *place, enum club_kind *out);
bool swing_read_hand(struct json_fields *fields, const struct wire_at *place, enum hand *out);
/* text: the time as it is kept. */
bool swing_read_time(struct json_fields *fields, const struct wire_at *place, int64_t *ms, char text[TIME_TEXT]);

bool swing_read_views(struct json_fields *fields, const struct wire_at *place, struct swing *swing);
bool swing_read_motion(struct json_fields *fields, const struct wire_at *place, struct swing_document *document,
                       struct motion_axes *axes);

/* Turns document->motion from the laboratory's axes into the world's, mirrors a left-hander's, analyses it and sets
 * swing.motion. False when memory is short. */
bool swing_motion_analyse(struct motion_axes axes, struct arena *arena, struct swing_document *document);

#endif
