/* Which markers of a laboratory's file are which of our points: a JSON map ("leadside.markers/1"), per club, with a
 * default of common full-body sets. Keys are the player's own left and right ("left_wrist", "neck", "clubhead"); a
 * value is a list of alternatives, each a list of marker names whose middle is the point. Names are compared without
 * case, spaces, '_', '-', '.' and without a "subject:" before them. */
#ifndef LEADSIDE_WIRE_MARKERS_MAP_H
#define LEADSIDE_WIRE_MARKERS_MAP_H

#include "base/arena.h"
#include "core/swing.h"
#include "wire/json/error.h"
#include "wire/markers/file.h"

#define MARKER_MAP_SCHEMA "leadside.markers/1"
#define MARKER_ALTERNATIVES_MAX 16
#define MARKER_MIDDLE_MAX 4 /* markers of one point */

struct marker_choice {
    int count;
    const char *names[MARKER_MIDDLE_MAX]; /* in the arena */
};

/* Index: enum point with lead = left and trail = right, as of a right-hander. */
struct marker_map {
    int alternatives[POINT_COUNT];
    struct marker_choice choices[POINT_COUNT][MARKER_ALTERNATIVES_MAX];
};

/* What became of a file's markers. */
struct marker_match {
    bool found[POINT_COUNT]; /* by enum point of the player: lead and trail */
    int unmapped_count;
    const char **unmapped; /* names as in the file, in the arena */
};

/* False with *error. The JSON is borrowed. */
bool marker_map_read(const char *json, size_t length, struct arena *arena, struct marker_map *out,
                     struct wire_error *error) __attribute__((warn_unused_result));

/* The embedded default as text (not NUL-ended) and read; NULL when memory is short. */
const char *marker_map_default_json(size_t *length);
const struct marker_map *marker_map_default(struct arena *arena);

/* The file's markers as our points, still in the laboratory's axes; for a left-hander the right side leads. The first
 * alternative with all its markers in the file, and seen at least once, is taken; a sample is seen when all of them
 * are, and a marker at the very origin is not (but for the ball). Unmapped are the markers that the map names nowhere.
 * False with *error when memory is short, when two markers that are needed read alike, or when not one point was found
 * (the error names some of the file's markers). */
bool marker_map_apply(const struct marker_map *map, const struct marker_file *file, enum hand hand, struct arena *arena,
                      struct motion_record *record, struct marker_match *match, struct wire_error *error)
    __attribute__((warn_unused_result));

#endif
