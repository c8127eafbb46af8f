/* See swing_load.h. */
#include "api/lessons/swing_load.h"

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

static const struct marker_match *match_copy(const struct marker_match *from, struct arena *arena)
{
    const size_t count = from == NULL ? 0 : (size_t)from->unmapped_count;
    struct marker_match *match = from == NULL ? NULL : arena_alloc(arena, sizeof *match);
    const char **names = match == NULL ? NULL : arena_alloc(arena, (count + 1) * sizeof *names);
    if (names == NULL) {
        return NULL;
    }
    *match = *from;
    match->unmapped = names;
    for (size_t i = 0; i < count; i++) {
        names[i] = arena_strdup(arena, from->unmapped[i]);
        if (names[i] == NULL) {
            return NULL;
        }
    }
    return match;
}

/* What lies in the other arena is taken over or forgotten. */
static bool scored_copy(const struct swing_document *from, struct arena *arena, struct swing_document *out)
{
    *out = *from;
    memset(&out->motion, 0, sizeof out->motion);
    memset(out->measured_source, 0, sizeof out->measured_source);
    out->markers = match_copy(from->markers, arena);
    if (from->swing.motion == NULL) {
        return out->markers != NULL || from->markers == NULL;
    }
    struct motion_summary *summary = arena_alloc(arena, sizeof *summary);
    if (summary != NULL) {
        *summary = *from->swing.motion;
    }
    out->swing.motion = summary;
    return summary != NULL && (out->markers != NULL || from->markers == NULL);
}

bool swing_load_scored(const struct store_swing *row, struct arena *arena, struct swing_document *out,
                       struct wire_error *error)
{
    struct arena *own = arena_new(0);
    struct swing_document *read = own == NULL ? NULL : arena_alloc(own, sizeof *read);
    if (read == NULL) {
        arena_free(own);
        return wire_fail(error, NULL, "needs more memory than there is");
    }
    bool good = swing_load(row, own, read, error);
    if (good && !scored_copy(read, arena, out)) {
        good = wire_fail(error, NULL, "needs more memory than there is");
    }
    arena_free(own);
    return good;
}
