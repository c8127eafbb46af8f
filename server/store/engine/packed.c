/* See packed.h. What is packed now is a byte that tells the dictionary, and a frame of Zstandard (RFC 8878) with its
 * checksum; what was packed before is a zlib stream, whose first byte is never a small number. */
#include "store/engine/packed.h"

#include <pthread.h>
#include <stdlib.h>
#define ZLIB_CONST /* what is read stays const */
#include <zlib.h>
#include <zstd.h>

#include "base/embed.h"

/* Measured on two-view swings and their reports, beside zlib's quickest: a third and half of its time to pack, half of
 * it to read, and 3 to 6 % smaller; at level 4 it is as slow and 6 to 9 % smaller. */
#define LEVEL 3
#define FORMATS 3 /* files of packed_with/ */

struct packer {
    ZSTD_CCtx *in;
    ZSTD_DCtx *out;
    z_stream old;
    bool has_old;
};

/* Dictionaries that have been read, for all threads; they stay until the process ends. NULL: memory was short. */
static struct {
    pthread_once_t once;
    ZSTD_CDict *in[FORMATS];
    ZSTD_DDict *out[FORMATS];
} dictionaries = {.once = PTHREAD_ONCE_INIT};

static void dictionaries_read(void)
{
    for (size_t i = 0; i < FORMATS && i < embedded_packed_with_count; i++) {
        const struct embedded_file *file = &embedded_packed_with[i];
        if (i == PACKED_WITH_SWING || i == PACKED_WITH_REPORT) {
            dictionaries.in[i] = ZSTD_createCDict(file->data, file->size, LEVEL);
            dictionaries.out[i] = ZSTD_createDDict(file->data, file->size);
        }
    }
}

struct packer *packer_new(void)
{
    (void)pthread_once(&dictionaries.once, dictionaries_read);
    return calloc(1, sizeof(struct packer));
}

void packer_free(struct packer *packer)
{
    if (packer == NULL) {
        return;
    }
    (void)ZSTD_freeCCtx(packer->in);
    (void)ZSTD_freeDCtx(packer->out);
    if (packer->has_old) {
        (void)inflateEnd(&packer->old);
    }
    free(packer);
}

static bool in_ready(struct packer *packer, enum packed_with with)
{
    if (packer->in == NULL) {
        packer->in = ZSTD_createCCtx();
    }
    return packer->in != NULL && dictionaries.in[with] != NULL &&
           !ZSTD_isError(ZSTD_CCtx_setParameter(packer->in, ZSTD_c_checksumFlag, 1)) &&
           !ZSTD_isError(ZSTD_CCtx_refCDict(packer->in, dictionaries.in[with]));
}

const char *packed_make(struct packer *packer, enum packed_with with, const char *text, size_t size,
                        struct arena *arena, size_t *packed_size)
{
    if (size == 0 || size > PACKED_MAX || !in_ready(packer, with)) {
        return NULL;
    }
    char *out = arena_take(arena, size);
    const size_t made = out == NULL ? 0 : ZSTD_compress2(packer->in, out + 1, size - 1, text, size);
    if (out == NULL || ZSTD_isError(made)) {
        return NULL;
    }
    out[0] = (char)with;
    *packed_size = made + 1;
    return out;
}

/* ---- reading ---- */

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

static bool old_ready(struct packer *packer)
{
    if (!packer->has_old) {
        packer->has_old = inflateInit(&packer->old) == Z_OK;
        return packer->has_old;
    }
    return inflateReset(&packer->old) == Z_OK;
}

static bool old_open(struct packer *packer, const void *packed, size_t packed_size, char *out, size_t size)
{
    z_stream *stream = &packer->old;
    if (!old_ready(packer)) {
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

bool packed_open(struct packer *packer, const void *packed, size_t packed_size, char *out, size_t size)
{
    const unsigned char *bytes = packed;
    if (size > PACKED_MAX || packed_size > PACKED_MAX || packed_size < 2) {
        return false;
    }
    if (bytes[0] >= FORMATS) {
        return old_open(packer, packed, packed_size, out, size);
    }
    if (packer->out == NULL) {
        packer->out = ZSTD_createDCtx();
    }
    const ZSTD_DDict *dictionary = dictionaries.out[bytes[0]];
    return packer->out != NULL && dictionary != NULL &&
           ZSTD_decompress_usingDDict(packer->out, out, size, bytes + 1, packed_size - 1, dictionary) == size;
}
