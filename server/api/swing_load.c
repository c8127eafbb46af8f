/* See swing_load.h. */
#include "api/swing_load.h"

#include <string.h>

bool swing_load(const struct store_swing *row, struct arena *arena, struct swing_document *out,
                struct wire_error *error)
{
    enum swing_media media;
    struct swing_reading reading;
    if (row->media_type == NULL || !swing_media_parse(row->media_type, &media)) {
        return wire_fail(error, NULL, "is of a kind that is not known");
    }
    memset(&reading, 0, sizeof reading);
    if (media != SWING_JSON && !swing_reading_read(row->reading, row->reading_size, arena, &reading, error)) {
        return false;
    }
    return swing_file_read(media, row->document, row->document_size, &reading, arena, out, error);
}

const struct motion_finding *swing_unusable(const struct swing *swing)
{
    const struct motion_summary *motion = swing->motion;
    if (motion == NULL || swing->view_count + swing->weight_count + swing->measured_count + swing->seen_count > 0 ||
        swing->has_flight) {
        return NULL;
    }
    for (int i = 0; i < motion->finding_count; i++) {
        /* a club that can't be believed leaves the body */
        if (motion->findings[i].fault && motion->findings[i].issue != MOTION_CLUB_LENGTH) {
            return &motion->findings[i];
        }
    }
    return NULL;
}
