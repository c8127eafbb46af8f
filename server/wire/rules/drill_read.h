/* The drills' JSON ("leadside.drills/1") to core data. Unknown keys are refused; every error has a path. */
#ifndef LEADSIDE_WIRE_RULES_DRILL_READ_H
#define LEADSIDE_WIRE_RULES_DRILL_READ_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"
#include "core/practice.h"
#include "wire/json/tree.h"

#define DRILLS_SCHEMA "leadside.drills/1"
#define DRILLS_MAX 500

/* Reads a whole list. *out is an array in the arena. Two drills with one id are refused. */
bool drills_read(const char *json, size_t length, struct arena *arena, struct drill **out, int *count,
                 struct wire_error *error) __attribute__((warn_unused_result));

/* One drill from the tree's value; strings are copied into the arena. needs_id = false: "id" is not a known key and
 * out->id stays NULL (the club's own drill, whose id the store gives). */
bool drill_read_one(struct tree *tree, bool needs_id, struct drill *out) __attribute__((warn_unused_result));

/* The drills that are built into the program; in the arena. NULL only when memory is short. */
const struct drill *drills_default(struct arena *arena, int *count) __attribute__((warn_unused_result));

#endif
