/* See packed.h. */
#include "store/engine/packed.h"

#include <stdlib.h>
#define ZLIB_CONST /* what is read stays const */
#include <zlib.h>

#include "base/embed.h"

/* Measured on two-view swings and their reports: beside 1 a quarter smaller for a tenth more time, beside 6 a tenth
 * larger for half the time. */
#define LEVEL 3

struct packer {
    z_stream in, out;
    bool has_in, has_out;
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
    if (packer->has_in) {
        (void)deflateEnd(&packer->in);
    }
    if (packer->has_out) {
        (void)inflateEnd(&packer->out);
    }
    free(packer);
}

static bool deflate_ready(struct packer *packer)
{
    if (!packer->has_in) {
        packer->has_in = deflateInit(&packer->in, LEVEL) == Z_OK;
        return packer->has_in;
    }
    return deflateReset(&packer->in) == Z_OK;
}

static bool inflate_ready(struct packer *packer)
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
    const struct embedded_file *dictionary = &embedded_packed_with[with];
    z_stream *stream = &packer->in;
    if (size == 0 || size > PACKED_MAX || !deflate_ready(packer) ||
        deflateSetDictionary(stream, dictionary->data, (uInt)dictionary->size) != Z_OK) {
        return NULL;
    }
    char *out = arena_alloc(arena, size);
    if (out == NULL) {
        return NULL;
    }
    stream->next_in = (const Bytef *)text;
    stream->avail_in = (uInt)size;
    stream->next_out = (Bytef *)out;
    stream->avail_out = (uInt)size;
    if (deflate(stream, Z_FINISH) != Z_STREAM_END) {
        return NULL;
    }
    *packed_size = stream->total_out;
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
    if (size > PACKED_MAX || packed_size > PACKED_MAX || !inflate_ready(packer)) {
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
