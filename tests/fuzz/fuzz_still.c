/* A still picture: JPEG, PNG or WebP. What comes out must be no longer, be read again, and come out the same then. */
#include <string.h>

#include "fuzz.h"
#include "still/read.h"

static void again(const struct still *still, struct arena *arena)
{
    struct still twice;
    const char *why;
    fuzz_require(still_read(still->data, still->size, arena, &twice, &why), "a stripped picture is read");
    fuzz_require(twice.type == still->type && twice.width == still->width && twice.height == still->height,
                 "as the same picture");
    fuzz_require(twice.size == still->size && memcmp(twice.data, still->data, still->size) == 0,
                 "with nothing left to strip");
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct arena *arena = arena_new(FUZZ_ARENA_LIMIT);
    struct still still;
    const char *why = NULL;
    fuzz_require(arena != NULL, "memory");
    const bool good = still_read(data, size, arena, &still, &why);
    fuzz_count("fuzz_still", good);
    if (good) {
        fuzz_require(still.size <= size && still.width >= 1 && still.width <= STILL_SIDE_MAX && still.height >= 1 &&
                         still.height <= STILL_SIDE_MAX,
                     "a picture keeps its bounds");
        again(&still, arena);
    } else {
        fuzz_require(why != NULL && why[0] != '\0', "a refusal says why");
    }
    arena_free(arena);
    return 0;
}

/* ---- a PNG's checksums are mended, or nothing behind them would ever be reached ---- */

static uint32_t crc32_of(const uint8_t *data, size_t size)
{
    uint32_t crc = 0xffffffffU;
    for (size_t i = 0; i < size; i++) {
        crc ^= data[i];
        for (int bit = 0; bit < 8; bit++) {
            crc = (crc & 1U) != 0 ? crc >> 1 ^ 0xedb88320U : crc >> 1;
        }
    }
    return ~crc;
}

static void mend(uint8_t *data, size_t size)
{
    size_t at = 8;
    while (size - at >= 12) {
        const size_t body =
            (size_t)data[at] << 24 | (size_t)data[at + 1] << 16 | (size_t)data[at + 2] << 8 | data[at + 3];
        if (body > size - at - 12) {
            return;
        }
        const uint32_t crc = crc32_of(data + at + 4, body + 4);
        for (unsigned i = 0; i < 4; i++) {
            data[at + 8 + body + i] = (uint8_t)(crc >> (24 - 8 * i));
        }
        at += body + 12;
    }
}

size_t LLVMFuzzerCustomMutator(uint8_t *data, size_t size, size_t max_size, unsigned seed)
{
    const size_t length = LLVMFuzzerMutate(data, size, max_size);
    if (seed % 16 != 0 && length > 8 && memcmp(data, "\x89PNG", 4) == 0) {
        mend(data, length);
    }
    return length;
}
