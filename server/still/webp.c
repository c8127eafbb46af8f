/* WebP (RFC 9649): a RIFF file of chunks. Kept are the picture (VP8 or VP8L), its transparency, and the extended header
 * with the marks of what was left out taken back; animations are refused. */
#include <string.h>

#include "still/parts.h"

#define RIFF_HEADER 12
#define CHUNK_HEADER 8
#define FLAG_ANIMATED 0x02U
#define FLAG_ALPHA 0x10U

struct webp {
    unsigned canvas_width, canvas_height; /* of an extended file; 0 = simple */
    bool alpha, picture;
    size_t flags_at; /* in the copy; 0 = simple */
};

struct chunk {
    const uint8_t *type, *body;
    size_t size;
};

static bool is(const struct chunk *chunk, const char *type)
{
    return memcmp(chunk->type, type, 4) == 0;
}

static bool extended_take(struct still_walk *walk, struct webp *webp, const struct chunk *chunk)
{
    if (webp->canvas_width != 0 || webp->alpha || webp->picture || chunk->size != 10) {
        return still_refuse(walk, "has a damaged extended header");
    }
    if ((chunk->body[0] & FLAG_ANIMATED) != 0) {
        return still_refuse(walk, "is an animation");
    }
    webp->canvas_width = still_little24(chunk->body + 4) + 1;
    webp->canvas_height = still_little24(chunk->body + 7) + 1;
    webp->flags_at = walk->out_size + CHUNK_HEADER;
    return true;
}

static bool picture_take(struct still_walk *walk, struct webp *webp, unsigned width, unsigned height)
{
    if (webp->picture) {
        return still_refuse(walk, "holds two pictures");
    }
    if (webp->canvas_width != 0 && (webp->canvas_width != width || webp->canvas_height != height)) {
        return still_refuse(walk, "contradicts itself about its size");
    }
    webp->picture = true;
    return still_set_size(walk, width, height);
}

/* A key frame: three bytes of tag, the start code, 14 bits each of width and height (RFC 6386 section 9.1). */
static bool lossy_take(struct still_walk *walk, struct webp *webp, const struct chunk *chunk)
{
    const uint8_t *body = chunk->body;
    if (chunk->size < 10 || (body[0] & 1) != 0 || memcmp(body + 3, "\x9d\x01\x2a", 3) != 0) {
        return still_refuse(walk, "holds a damaged picture");
    }
    return picture_take(walk, webp, still_little16(body + 6) & 0x3fffU, still_little16(body + 8) & 0x3fffU);
}

/* A signature, then 14 bits each of width - 1 and height - 1, one of alpha, three of version. */
static bool lossless_take(struct still_walk *walk, struct webp *webp, const struct chunk *chunk)
{
    const uint32_t bits = chunk->size < 5 ? 0 : still_little32(chunk->body + 1);
    if (chunk->size < 5 || chunk->body[0] != 0x2f || bits >> 29 != 0 || webp->alpha) {
        return still_refuse(walk, "holds a damaged picture");
    }
    return picture_take(walk, webp, (bits & 0x3fffU) + 1, (bits >> 14 & 0x3fffU) + 1);
}

/* False: refused. *keep: belongs into the copy. */
static bool chunk_judge(struct still_walk *walk, struct webp *webp, const struct chunk *chunk, bool *keep)
{
    *keep = true;
    if (is(chunk, "VP8X")) {
        return extended_take(walk, webp, chunk);
    }
    if (is(chunk, "VP8 ")) {
        return lossy_take(walk, webp, chunk);
    }
    if (is(chunk, "VP8L")) {
        return lossless_take(walk, webp, chunk);
    }
    if (is(chunk, "ALPH")) {
        const bool fits = webp->canvas_width != 0 && !webp->alpha && !webp->picture && chunk->size > 0;
        webp->alpha = true;
        return fits || still_refuse(walk, "has a misplaced transparency");
    }
    *keep = false;
    if (is(chunk, "ANIM") || is(chunk, "ANMF")) {
        return still_refuse(walk, "is an animation");
    }
    return !is(chunk, "EXIF") || still_check_turn(walk, chunk->body, chunk->size);
}

static bool chunks_take(struct still_walk *walk, struct webp *webp)
{
    while (walk->at < walk->size) {
        bool keep = false;
        if (!still_has(walk, CHUNK_HEADER)) {
            return false;
        }
        const uint8_t *start = walk->data + walk->at;
        const size_t size = still_little32(start + 4);
        const size_t padded = size + (size & 1);
        if (padded > walk->size - walk->at - CHUNK_HEADER) {
            return still_refuse(walk, "is cut off");
        }
        const struct chunk chunk = {start, start + CHUNK_HEADER, size};
        if (!chunk_judge(walk, webp, &chunk, &keep)) {
            return false;
        }
        if (keep) {
            still_keep(walk, walk->at, CHUNK_HEADER + padded);
            walk->out[walk->out_size - 1] = padded == size ? walk->out[walk->out_size - 1] : 0;
        }
        walk->at += CHUNK_HEADER + padded;
    }
    return true;
}

bool still_walk_webp(struct still_walk *walk)
{
    struct webp webp = {0};
    if (memcmp(walk->data, "RIFF", 4) != 0) {
        return still_refuse(walk, "is no RIFF file");
    }
    const size_t told = still_little32(walk->data + 4);
    if (told < 4 || told % 2 != 0 || told > walk->size - CHUNK_HEADER) {
        return still_refuse(walk, "is cut off");
    }
    walk->size = told + CHUNK_HEADER; /* what stands behind it is not the picture's */
    still_keep(walk, 0, RIFF_HEADER);
    walk->at = RIFF_HEADER;
    if (!chunks_take(walk, &webp)) {
        return false;
    }
    if (!webp.picture) {
        return still_refuse(walk, "holds no picture");
    }
    if (webp.flags_at != 0) {
        walk->out[webp.flags_at] = (uint8_t)(walk->out[webp.flags_at] & FLAG_ALPHA);
        memset(walk->out + webp.flags_at + 1, 0, 3);
    }
    const size_t told_now = walk->out_size - CHUNK_HEADER;
    for (size_t i = 0; i < 4; i++) {
        walk->out[4 + i] = (uint8_t)(told_now >> 8 * i);
    }
    return true;
}
