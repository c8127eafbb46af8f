/* A still picture as it may be kept: a JPEG, PNG or WebP file walked piece by piece, and written anew without what is
 * said about the picture (EXIF, XMP, colour profiles, texts, thumbnails, anything after its end). The compressed pixels
 * are not touched. Sources: ITU-T T.81 annex B; PNG (W3C, third edition); RFC 9649 (WebP). */
#ifndef LEADSIDE_STILL_READ_H
#define LEADSIDE_STILL_READ_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"

#define STILL_SIZE_MAX ((size_t)512 << 10)
#define STILL_SIDE_MAX 4096 /* pixels, either way */

enum still_type { STILL_JPEG, STILL_PNG, STILL_WEBP, STILL_TYPE_COUNT };

struct still {
    enum still_type type;
    int width, height;   /* 1...STILL_SIDE_MAX */
    const uint8_t *data; /* the stripped file, in the arena; never longer than what was read */
    size_t size;
};

/* False with a sentence's end for a person in *why ("is cut off"), static; nothing is kept then. A picture that says
 * it must be shown turned or mirrored is refused: marked points would no longer lie on it. */
bool still_read(const void *data, size_t size, struct arena *arena, struct still *out, const char **why)
    __attribute__((warn_unused_result));

const char *still_type_name(enum still_type type); /* "image/jpeg", ... */

#endif
