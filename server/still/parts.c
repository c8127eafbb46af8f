/* What the walkers of the three kinds of picture share: a reader over the file, the stripped copy, and EXIF's one tag.
 */
#include "still/parts.h"

#include <string.h>

#define TAG_ORIENTATION 0x0112
#define TIFF_SHORT 3
#define TIFF_LONG 4

bool still_refuse(struct still_walk *walk, const char *why)
{
    if (walk->why == NULL) {
        walk->why = why;
    }
    return false;
}

bool still_has(struct still_walk *walk, size_t n)
{
    return n <= walk->size - walk->at || still_refuse(walk, "is cut off");
}

void still_keep(struct still_walk *walk, size_t from, size_t n)
{
    memcpy(walk->out + walk->out_size, walk->data + from, n);
    walk->out_size += n;
}

bool still_set_size(struct still_walk *walk, unsigned width, unsigned height)
{
    if (width == 0 || height == 0) {
        return still_refuse(walk, "has no width or no height");
    }
    if (width > STILL_SIDE_MAX || height > STILL_SIDE_MAX) {
        return still_refuse(walk, "is more than 4096 pixels wide or high");
    }
    walk->width = (int)width;
    walk->height = (int)height;
    return true;
}

unsigned still_big16(const uint8_t *at)
{
    return (unsigned)at[0] << 8 | at[1];
}

uint32_t still_big32(const uint8_t *at)
{
    return (uint32_t)at[0] << 24 | (uint32_t)at[1] << 16 | (uint32_t)at[2] << 8 | at[3];
}

unsigned still_little16(const uint8_t *at)
{
    return (unsigned)at[1] << 8 | at[0];
}

unsigned still_little24(const uint8_t *at)
{
    return (unsigned)at[2] << 16 | (unsigned)at[1] << 8 | at[0];
}

uint32_t still_little32(const uint8_t *at)
{
    return (uint32_t)at[3] << 24 | (uint32_t)at[2] << 16 | (uint32_t)at[1] << 8 | at[0];
}

/* ---- EXIF: one tag of the first directory is all that is asked ---- */

static unsigned tiff16(const uint8_t *at, bool big)
{
    return big ? still_big16(at) : still_little16(at);
}

static uint32_t tiff32(const uint8_t *at, bool big)
{
    return big ? still_big32(at) : still_little32(at);
}

/* 1 when nothing readable is said: a decoder shows the picture as it is stored then. */
static uint32_t tiff_orientation(const uint8_t *tiff, size_t size)
{
    if (size < 8 || (memcmp(tiff, "MM", 2) != 0 && memcmp(tiff, "II", 2) != 0)) {
        return 1;
    }
    const bool big = tiff[0] == 'M';
    const size_t directory = tiff32(tiff + 4, big);
    if (tiff16(tiff + 2, big) != 42 || directory > size - 2) {
        return 1;
    }
    const unsigned count = tiff16(tiff + directory, big);
    size_t at = directory + 2;
    for (unsigned i = 0; i < count && size - at >= 12; i++, at += 12) {
        if (tiff16(tiff + at, big) != TAG_ORIENTATION) {
            continue;
        }
        const unsigned type = tiff16(tiff + at + 2, big);
        return type == TIFF_SHORT ? tiff16(tiff + at + 8, big) : type == TIFF_LONG ? tiff32(tiff + at + 8, big) : 0;
    }
    return 1;
}

bool still_check_turn(struct still_walk *walk, const uint8_t *tiff, size_t size)
{
    if (size >= 6 && memcmp(tiff, "Exif\0\0", 6) == 0) {
        tiff += 6;
        size -= 6;
    }
    return tiff_orientation(tiff, size) == 1 ||
           still_refuse(walk, "says that it is to be shown turned or mirrored: send it upright, without that mark");
}
