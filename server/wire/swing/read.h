/* The swing document ("leadside.swing/1") into the core's plain data, strictly: an unknown key, a key given twice, a
 * number out of its limits or a point outside the picture is refused with its path. One pass, no tree. */
#ifndef LEADSIDE_WIRE_SWING_READ_H
#define LEADSIDE_WIRE_SWING_READ_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/times.h"
#include "core/motion/motion.h"
#include "core/swing.h"
#include "wire/json/error.h"

#define SWING_SCHEMA "leadside.swing/1"
#define SWING_MOTION_SAMPLES_MAX 5000
#define SWING_SOURCE_TEXT 64 /* of a measured value, final NUL included */

struct marker_match; /* marker_map.h */

/* Large (about 50 kB): keep one per thread or in an arena. Views, frames, readings past their counts are
 * left as they were. */
struct swing_document {
    struct swing swing;          /* already a right-hander's (swing_mirror) */
    char recorded_at[TIME_TEXT]; /* UTC */
    int64_t recorded_at_ms;
    bool has_motion;             /* swing.motion is then set, in the arena; its findings may say it is unusable */
    struct motion_record motion; /* the points it was analysed from: world axes, a right-hander's; in the arena */
    const struct marker_match *markers;              /* of a marker file, in the arena; NULL for a document */
    const char *measured_source[SWING_MEASURED_MAX]; /* in the arena, beside swing.measured; NULL = not said */
};

/* False with *error filled in. json is borrowed, and need not end with a NUL. */
bool swing_read(const char *json, size_t length, struct arena *arena, struct swing_document *out,
                struct wire_error *error) __attribute__((warn_unused_result));

/* The fault that leaves nothing to measure of a swing that holds nothing but motion; NULL when something can be told.
 */
const struct motion_finding *swing_unusable(const struct swing *swing);

#endif
