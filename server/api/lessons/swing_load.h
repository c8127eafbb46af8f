/* From a kept swing to what the core scores: the one place where a row is read again, whatever form it came in. */
#ifndef LEADSIDE_API_LESSONS_SWING_LOAD_H
#define LEADSIDE_API_LESSONS_SWING_LOAD_H

#include "store/lessons/swing.h"
#include "wire/swing/file.h"

/* The row with its document. A marker file is read as on the day it came, by the map kept with it. False with *error.
 */
bool swing_load(const struct store_swing *row, struct arena *arena, struct swing_document *out,
                struct wire_error *error) __attribute__((warn_unused_result));

/* The same with no more kept of it than what is scored: a recording is a hundred times what its summary is. The points
 * it was analysed from are not there afterwards, nor where a measured value came from. */
bool swing_load_scored(const struct store_swing *row, struct arena *arena, struct swing_document *out,
                       struct wire_error *error) __attribute__((warn_unused_result));

#endif
