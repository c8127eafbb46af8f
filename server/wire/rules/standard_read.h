/* The house standard's JSON ("leadside.standard/1") to core data. Unknown keys are refused; every error has a path. */
#ifndef LEADSIDE_WIRE_RULES_STANDARD_READ_H
#define LEADSIDE_WIRE_RULES_STANDARD_READ_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"
#include "core/standard.h"
#include "wire/json/tree.h"

#define STANDARD_SCHEMA "leadside.standard/1"

/* Reads and validates. *out and its strings live as long as the arena. False with *error set; *out is then undefined.
 */
bool standard_read(const char *json, size_t length, struct arena *arena, struct standard *out, struct wire_error *error)
    __attribute__((warn_unused_result));

/* The standard that is built into the program; in the arena. NULL only when memory is short. */
const struct standard *standard_default(struct arena *arena) __attribute__((warn_unused_result));

/* "measure", and "checkpoint" where it has several, of the tree's value: older names too. */
bool standard_read_item(struct tree *tree, enum measure_item *out) __attribute__((warn_unused_result));

#endif
