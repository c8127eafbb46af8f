/* What corrects the marks of a swing that was sent: the whole document anew, and why. */
#ifndef LEADSIDE_WIRE_SWING_MARKS_H
#define LEADSIDE_WIRE_SWING_MARKS_H

#include "base/arena.h"
#include "wire/json/error.h"

#define SWING_MARKS_REASON 2001 /* bytes, final NUL included */

struct swing_marks {
    const char *document; /* its bytes, as they stand in what was read; any JSON object */
    size_t document_size;
    char reason[SWING_MARKS_REASON];
};

/* {"document": {...}, "reason": "..."}, strictly. False with *error. json is borrowed; the document is part of it. */
bool swing_marks_read(const char *json, size_t length, struct arena *arena, struct swing_marks *out,
                      struct wire_error *error) __attribute__((warn_unused_result));

#endif
