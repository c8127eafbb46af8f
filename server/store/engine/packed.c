/* See packed.h. */
#include "store/engine/packed.h"

#include <stdlib.h>
#define ZLIB_CONST /* what is read stays const */
#include <zlib.h>

#include "base/embed.h"

/* Level 1, looking at four times as many places: measured on two-view swings, the most for which two rows still fit a
 * page of the file. Level 3 makes them 3 % smaller for a fifth more time. The window holds a sample and a text like it;
 * half of zlib's usual memory packs as well. */
#define LEVEL 1
#define PLACES 16
#define WINDOW_BITS 14
#define MEMORY_LEVEL 7
#define FORMATS 3 /* files of packed_with/ */
/* Bytes for one stream: zlib.h says (1 << 16) + (1 << 16) at these settings and a few KiB; the rest is for later ones.
 */
#define STREAM_MEMORY ((size_t)192 << 10)

/* A stream that has read its dictionary is made once and copied for each text: reading one takes longer than copying
 * what came of it. The memory is taken as a pile: prepared streams, and the copy at work on top of them. */
struct packer {
    z_stream out;
    bool has_out, has_in[FORMATS];
    z_stream prepared[FORMATS];
    size_t used;
    unsigned char memory[(FORMATS + 1) * STREAM_MEMORY]; /* untouched pages are not there */
};

struct packer *packer_new(void)
{
    return calloc(1, sizeof(struct packer));
}

void packer_free(struct packer *packer)
{
    if (packer == NULL) {
        return;
    }
    if (packer->has_out) {
        (void)inflateEnd(&packer->out);
    }
    free(packer);
}

static void *memory_take(void *opaque, unsigned count, unsigned size)
{
    struct packer *packer = opaque;
    const size_t bytes = ((size_t)count * size + 63) / 64 * 64;
    if (bytes > sizeof packer->memory - packer->used) {
        return NULL;
    }
    packer->used += bytes;
    return packer->memory + packer->used - bytes;
}

static void memory_give(void *opaque, void *memory)
{
    (void)opaque;
    (void)memory;
}

static bool deflate_prepare(struct packer *packer, enum packed_with with)
{
    const struct embedded_file *dictionary = &embedded_packed_with[with];
    z_stream *stream = &packer->prepared[with];
    if (packer->has_in[with]) {
        return true;
    }
    *stream = (z_stream){.zalloc = memory_take, .zfree = memory_give, .opaque = packer};
    packer->has_in[with] =
        deflateInit2(stream, LEVEL, Z_DEFLATED, WINDOW_BITS, MEMORY_LEVEL, Z_DEFAULT_STRATEGY) == Z_OK &&
        deflateTune(stream, 4, 6, 32, PLACES) == Z_OK &&
        deflateSetDictionary(stream, dictionary->data, (uInt)dictionary->size) == Z_OK;
    return packer->has_in[with];
}

bool packed_ready(struct packer *packer)
{
    if (!packer->has_out) {
        packer->has_out = inflateInit(&packer->out) == Z_OK;
        return packer->has_out;
    }
    return inflateReset(&packer->out) == Z_OK;
}

const char *packed_make(struct packer *packer, enum packed_with with, const char *text, size_t size,
                        struct arena *arena, size_t *packed_size)
{
    if (size == 0 || size > PACKED_MAX || !deflate_prepare(packer, with)) {
        return NULL;
    }
    char *out = arena_alloc(arena, size);
    const size_t used = packer->used;
    z_stream stream;
    if (out == NULL || deflateCopy(&stream, &packer->prepared[with]) != Z_OK) {
        packer->used = used;
        return NULL;
    }
    stream.next_in = (const Bytef *)text;
    stream.avail_in = (uInt)size;
    stream.next_out = (Bytef *)out;
    stream.avail_out = (uInt)size;
    const int code = deflate(&stream, Z_FINISH);
    packer->used = used;
    if (code != Z_STREAM_END) {
        return NULL;
    }
    *packed_size = stream.total_out;
    return out;
}

static bool dictionary_give(z_stream *stream)
{
    for (size_t i = 0; i < embedded_packed_with_count; i++) {
        const struct embedded_file *at = &embedded_packed_with[i];
        if (adler32(adler32(0, NULL, 0), at->data, (uInt)at->size) == stream->adler) {
            return inflateSetDictionary(stream, at->data, (uInt)at->size) == Z_OK;
        }
    }
    return false;
}

bool packed_open(struct packer *packer, const void *packed, size_t packed_size, char *out, size_t size)
{
    z_stream *stream = &packer->out;
    if (size > PACKED_MAX || packed_size > PACKED_MAX || !packed_ready(packer)) {
        return false;
    }
    stream->next_in = packed;
    stream->avail_in = (uInt)packed_size;
    stream->next_out = (Bytef *)out;
    stream->avail_out = (uInt)size;
    int code = inflate(stream, Z_FINISH);
    if (code == Z_NEED_DICT && dictionary_give(stream)) {
        code = inflate(stream, Z_FINISH);
    }
    return code == Z_STREAM_END && stream->avail_in == 0 && stream->total_out == size;
}
