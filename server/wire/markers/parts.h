/* What the readers of marker files and of the marker map share. Private to c3d_*.c, trc_read.c and marker_*.c. */
#ifndef LEADSIDE_WIRE_MARKERS_PARTS_H
#define LEADSIDE_WIRE_MARKERS_PARTS_H

#include "wire/json/fields.h"
#include "wire/json/out.h"
#include "wire/markers/map.h"

/* ---- marker files ---- */

/* A name as it is kept: spaces and NULs trimmed, cut at MARKER_NAME_TEXT - 1 bytes, whatever is no printable UTF-8
 * made "?". "" for nothing but spaces. NULL when memory is short. */
const char *marker_name_keep(struct arena *arena, const char *bytes, size_t length);

/* Takes room for out->frames x out->markers samples, all gaps. False with *error when memory is short. */
bool marker_file_room(struct marker_file *out, struct arena *arena, struct wire_error *error);

/* False with *error when two of the names are the same. */
bool marker_names_distinct(const struct marker_file *file, struct arena *arena, const struct wire_at *place,
                           struct wire_error *error);

/* Metres of one unit ("m", "cm", "mm" and their words). False for any other. */
bool marker_unit_parse(const char *bytes, size_t length, double *metres);

/* Brings all samples to metres. metres 0 = the file doesn't say: told from how far its points spread, 0.6...6 m for a
 * standing player; False with *error when that fits no unit. */
bool marker_file_scale(struct marker_file *file, double metres, const struct wire_at *place, struct arena *arena,
                       struct wire_error *error) __attribute__((warn_unused_result));

/* ---- the map ---- */

/* The map where fields->in stands; names go to the arena. */
bool marker_map_read_part(struct json_fields *fields, const struct wire_at *place, struct marker_map *out);
void marker_map_write(const struct marker_map *map, struct json_out *out, const char *key);

#endif
