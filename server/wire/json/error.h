/* Where and why a document is refused. The path is kept as a chain on the stack and only written out when something
 * is wrong, so that reading a good document formats nothing. */
#ifndef LEADSIDE_WIRE_JSON_ERROR_H
#define LEADSIDE_WIRE_JSON_ERROR_H

#include <stdbool.h>

struct wire_error {
    char path[128]; /* "views[0].frames[2].points.grip"; "" = the document itself */
    char what[160]; /* a sentence without a full stop, with the limit that was broken */
};

/* One step of a path: a key, or an index when key is NULL. up = NULL at the first step. */
struct wire_at {
    const struct wire_at *up;
    const char *key;
    int index;
};

static inline struct wire_at wire_key(const struct wire_at *up, const char *key)
{
    return (struct wire_at){up, key, 0};
}

static inline struct wire_at wire_index(const struct wire_at *up, int index)
{
    return (struct wire_at){up, (const char *)0, index};
}

/* Fills in the error (may be NULL; at may be NULL) and returns false, so that a reader can `return wire_fail(...)`. */
bool wire_fail(struct wire_error *error, const struct wire_at *at, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

#endif
