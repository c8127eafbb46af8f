/* PNG: chunks from IHDR to IEND, each with its CRC. Kept are those that make the pixels and their brightness; all
 * others that a decoder may pass over are left out (texts, EXIF, profiles, times, animation). */
#include <string.h>
#include <zlib.h>

#include "still/parts.h"

#define PNG_MARK 8
#define AROUND 12 /* length, type and CRC of a chunk */

struct png {
    int colour, depth;
    bool header, palette, transparent, data, data_over, end;
};

struct chunk {
    const uint8_t *type, *body;
    size_t size;
};

static bool is(const struct chunk *chunk, const char *type)
{
    return memcmp(chunk->type, type, 4) == 0;
}

/* Which depths a kind of colour may have, as a set of bits. */
static unsigned depths_of(int colour)
{
    switch (colour) {
    case 0:
        return 1U << 1 | 1U << 2 | 1U << 4 | 1U << 8 | 1U << 16;
    case 3:
        return 1U << 1 | 1U << 2 | 1U << 4 | 1U << 8;
    case 2:
    case 4:
    case 6:
        return 1U << 8 | 1U << 16;
    default:
        return 0;
    }
}

static bool header_take(struct still_walk *walk, struct png *png, const struct chunk *chunk)
{
    const uint8_t *body = chunk->body;
    if (png->header || chunk->size != 13) {
        return still_refuse(walk, "has a damaged header");
    }
    png->header = true;
    png->depth = body[8];
    png->colour = body[9];
    if (png->depth > 16 || (depths_of(png->colour) & 1U << png->depth) == 0 || body[10] != 0 || body[11] != 0 ||
        body[12] > 1) {
        return still_refuse(walk, "is a kind of PNG that does not exist");
    }
    const uint32_t width = still_big32(body);
    const uint32_t height = still_big32(body + 4);
    return still_set_size(walk, width, height);
}

static bool palette_take(struct still_walk *walk, struct png *png, const struct chunk *chunk)
{
    const size_t most = png->colour == 3 ? (size_t)3 << png->depth : 768;
    if (png->palette || png->data || png->transparent || png->colour == 0 || png->colour == 4 || chunk->size == 0 ||
        chunk->size % 3 != 0 || chunk->size > most) {
        return still_refuse(walk, "has a damaged palette");
    }
    png->palette = true;
    return true;
}

static bool transparent_take(struct still_walk *walk, struct png *png, const struct chunk *chunk)
{
    const bool fits = png->colour == 0   ? chunk->size == 2
                      : png->colour == 2 ? chunk->size == 6
                                         : png->colour == 3 && png->palette && chunk->size >= 1 && chunk->size <= 256;
    if (png->transparent || png->data || !fits) {
        return still_refuse(walk, "has a damaged tRNS chunk");
    }
    png->transparent = true;
    return true;
}

static bool data_take(struct still_walk *walk, struct png *png)
{
    if (png->data_over || (png->colour == 3 && !png->palette)) {
        return still_refuse(walk, "has its chunks in the wrong order");
    }
    png->data = true;
    return true;
}

/* Brightness and primaries, each of one size; they belong before the data. */
static bool is_light(const struct png *png, const struct chunk *chunk)
{
    return !png->data && !png->palette &&
           ((is(chunk, "gAMA") && chunk->size == 4) || (is(chunk, "cHRM") && chunk->size == 32) ||
            (is(chunk, "sRGB") && chunk->size == 1));
}

/* False: refused. *keep: belongs into the copy. */
static bool chunk_judge(struct still_walk *walk, struct png *png, const struct chunk *chunk, bool *keep)
{
    *keep = true;
    if (!png->header && !is(chunk, "IHDR")) {
        return still_refuse(walk, "does not begin with its header");
    }
    if (is(chunk, "IDAT")) {
        return data_take(walk, png);
    }
    png->data_over = png->data;
    if (is(chunk, "IHDR")) {
        return header_take(walk, png, chunk);
    }
    if (is(chunk, "PLTE")) {
        return palette_take(walk, png, chunk);
    }
    if (is(chunk, "tRNS")) {
        return transparent_take(walk, png, chunk);
    }
    if (is(chunk, "IEND")) {
        png->end = true;
        return (png->data && chunk->size == 0) || still_refuse(walk, "holds no picture");
    }
    *keep = is_light(png, chunk);
    if (is(chunk, "eXIf")) {
        return still_check_turn(walk, chunk->body, chunk->size);
    }
    return (chunk->type[0] & 0x20) != 0 || still_refuse(walk, "holds a chunk that decoders must know and do not");
}

static bool is_letters(const uint8_t *type)
{
    for (int i = 0; i < 4; i++) {
        const uint8_t small = type[i] | 0x20;
        if (small < 'a' || small > 'z') {
            return false;
        }
    }
    return true;
}

bool still_walk_png(struct still_walk *walk)
{
    struct png png = {0};
    walk->at = PNG_MARK;
    still_keep(walk, 0, PNG_MARK);
    while (!png.end) {
        bool keep = false;
        if (!still_has(walk, AROUND)) {
            return false;
        }
        const uint8_t *start = walk->data + walk->at;
        const size_t size = still_big32(start);
        if (size > walk->size - walk->at - AROUND) {
            return still_refuse(walk, "is cut off");
        }
        const struct chunk chunk = {start + 4, start + 8, size};
        if (!is_letters(chunk.type) || crc32(0, chunk.type, (uInt)size + 4) != still_big32(chunk.body + size)) {
            return still_refuse(walk, "is damaged: a chunk does not match its checksum");
        }
        if (!chunk_judge(walk, &png, &chunk, &keep)) {
            return false;
        }
        if (keep) {
            still_keep(walk, walk->at, size + AROUND);
        }
        walk->at += size + AROUND;
    }
    return true;
}
