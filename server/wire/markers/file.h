/* Marker files of motion laboratories, into plain arrays: C3D (c3d.org's public specification) and TRC (tab-separated
 * text). Strict: counts that lie, sections outside the file and missing columns are refused with what and where.
 * Coordinates are the laboratory's own axes, brought to metres. */
#ifndef LEADSIDE_WIRE_MARKERS_FILE_H
#define LEADSIDE_WIRE_MARKERS_FILE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"
#include "core/motion/axes.h"
#include "wire/json/error.h"

#define MARKERS_MAX 300     /* in one file; the map picks its points out of them */
#define MARKER_NAME_TEXT 64 /* bytes kept of a name, final NUL included; cut names must stay distinct */

/* In the arena. at and seen are marker by marker: sample f of marker m at [m * frames + f]. */
struct marker_file {
    double rate_hz;     /* 20...2000 */
    int frames;         /* 1...MOTION_SAMPLES_MAX */
    int markers;        /* 1...MARKERS_MAX */
    const char **names; /* as in the file, spaces trimmed; never NULL; distinct; "#3" for a third point without one */
    struct vec3 *at;    /* m */
    bool *seen;         /* false = a gap: empty cell, or a negative residual */
    bool up_given;      /* the file says which axis is upright (C3D POINT:Y_SCREEN) */
    enum lab_axis up;
};

/* The format by the first bytes, whatever the file's name: C3D has 0x50 as its second byte, TRC begins with
 * "PathFileType". */
bool marker_file_is_c3d(const void *bytes, size_t length);
bool marker_file_is_trc(const void *bytes, size_t length);

/* bytes are borrowed. A unit that isn't given is told from how far the markers spread. False with *error: path names
 * the place ("parameters.POINT.RATE", "header", "line 7, column 12").
 */
bool marker_file_read_c3d(const void *bytes, size_t length, struct arena *arena, struct marker_file *out,
                          struct wire_error *error) __attribute__((warn_unused_result));
bool marker_file_read_trc(const void *bytes, size_t length, struct arena *arena, struct marker_file *out,
                          struct wire_error *error) __attribute__((warn_unused_result));

#endif
