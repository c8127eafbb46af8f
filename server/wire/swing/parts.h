/* What the readers of a swing document's parts share: the path to where they stand, and numbers with their limits.
 * Private to swing_*.c and marker_*.c. */
#ifndef LEADSIDE_WIRE_SWING_PARTS_H
#define LEADSIDE_WIRE_SWING_PARTS_H

#include "core/motion/axes.h"
#include "wire/json/error.h"
#include "wire/json/in.h"
#include "wire/swing/read.h"

#define KEY_TEXT 40 /* longer than every known key and name */

struct swing_reader {
    struct json_in in;
    struct arena *arena;
    struct swing_document *out;
    struct wire_error *error;
    struct motion_axes motion_axes; /* of the motion block */
    bool failed;
};

/* The first complaint stands. Always false. */
bool swing_refuse(struct swing_reader *reader, const struct wire_at *place, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
/* Turns an error of the JSON itself into a complaint with line and column. Always false. */
bool swing_refuse_json(struct swing_reader *reader, const struct wire_at *place);

/* Which of an object's keys this is: its index in names (NULL-ended), with a complaint and -1 for an unknown or a
 * repeated one, and -1 without one at the object's end. seen gathers bits; count is json_in's. */
int swing_key(struct swing_reader *reader, const struct wire_at *place, const char *const *names, unsigned *seen,
              int *count);

/* One value. Limits are inclusive. */
bool swing_number(struct swing_reader *reader, const struct wire_at *place, double low, double high, double *out);
bool swing_maybe(struct swing_reader *reader, const struct wire_at *place, double low, double high, struct maybe *out);
bool swing_text(struct swing_reader *reader, const struct wire_at *place, char *out, size_t size);
bool swing_open(struct swing_reader *reader, const struct wire_at *place, char mark);
/* Complains of every required key (bits) that was not seen. */
bool swing_need(struct swing_reader *reader, const struct wire_at *place, const char *const *names, unsigned seen,
                unsigned required);

bool swing_read_views(struct swing_reader *reader, const struct wire_at *place);
bool swing_read_motion(struct swing_reader *reader, const struct wire_at *place);

/* Turns document->motion from the laboratory's axes into the world's, mirrors a left-hander's, analyses it and sets
 * swing.motion. False when memory is short. */
bool swing_motion_analyse(struct motion_axes axes, struct arena *arena, struct swing_document *document);

#endif
