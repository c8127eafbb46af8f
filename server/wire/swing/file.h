/* One swing in any form it may come: a swing document (JSON), or a marker file (C3D, TRC) with what such a file doesn't
 * say: whose hand, which club, where the target lies, what the markers are called. */
#ifndef LEADSIDE_WIRE_SWING_FILE_H
#define LEADSIDE_WIRE_SWING_FILE_H

#include "core/names.h"
#include "wire/markers/map.h"
#include "wire/swing/read.h"

#define SWING_MEDIA_NAMES(X)                                                                                           \
    X(SWING_JSON, "application/json")                                                                                  \
    X(SWING_C3D, "application/c3d")                                                                                    \
    X(SWING_TRC, "text/tab-separated-values")

enum swing_media { SWING_MEDIA_NAMES(NAMES_ENUM) SWING_MEDIA_COUNT };

/* What stands beside a marker file. Not used for a document. Kept with the file as JSON ("leadside.reading/1"), the map
 * as it was applied, so that the same bytes give the same swing again whatever the club's map says by then. */
struct swing_reading {
    bool hand_given;
    enum hand hand;
    enum club_kind club;
    struct maybe club_number, club_length_m;
    bool target_given, up_given;
    struct motion_axes axes;      /* what is given of it */
    char recorded_at[TIME_TEXT];  /* UTC; "" = not said, the reader then leaves the document's recorded_at empty */
    const struct marker_map *map; /* NULL = the default */
};

/* "application/json", "application/c3d", "text/tab-separated-values"; parsing takes the type without parameters. A body
 * sent as application/octet-stream is told by its first bytes: swing_media_guess. */
const char *swing_media_name(enum swing_media value);
bool swing_media_parse(const char *name, enum swing_media *out);
bool swing_media_guess(const void *bytes, size_t length, enum swing_media *out);

/* Reads and, when there is motion, analyses it: out->swing.motion is set, in the arena. False with *error; a missing
 * hand or target is asked for by its name ("target: say where the target lies ...; the feet point along -z"). */
bool swing_file_read(enum swing_media media, const void *bytes, size_t length, const struct swing_reading *reading,
                     struct arena *arena, struct swing_document *out, struct wire_error *error)
    __attribute__((warn_unused_result));

/* The reading as JSON, and back. NULL / false when memory is short or the text is no reading. */
char *swing_reading_write(const struct swing_reading *reading, struct arena *arena, size_t *length);
bool swing_reading_read(const char *json, size_t length, struct arena *arena, struct swing_reading *out,
                        struct wire_error *error) __attribute__((warn_unused_result));

#endif
