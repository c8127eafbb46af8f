/* A stored drill as core data. */
#ifndef LEADSIDE_API_PRACTICE_DRILL_ROW_H
#define LEADSIDE_API_PRACTICE_DRILL_ROW_H

#include <jansson.h>

#include "core/practice.h"
#include "store/practice/drill.h"

/* The row's object as drill_read_one takes it without an id; the caller owns it. NULL when the row is no drill. */
json_t *drill_row_json(const char *name, const char *json) __attribute__((warn_unused_result));

/* Strings live in the arena. False when the row is no drill. */
bool drill_row_read(const char *id, const char *name, const char *json, struct arena *arena, struct drill *out)
    __attribute__((warn_unused_result));

/* A drill as homework shows it: a JSON object in the arena; NULL when memory is short. next: what comes after it; NULL:
 * nothing that is in use. */
const char *drill_row_sheet(const struct drill *drill, const struct drill *next, struct arena *arena)
    __attribute__((warn_unused_result));

#endif
