/* JPEG (ITU-T T.81 annex B): segments from SOI to EOI. Kept are tables, frame, scans, a bare JFIF header, and Adobe's
 * APP14, which says how colours are coded; all other APPn and COM segments are left out. */
#include <string.h>

#include "still/parts.h"

enum {
    SOF0 = 0xC0,
    SOF1 = 0xC1,
    SOF2 = 0xC2,
    DHT = 0xC4,
    RST0 = 0xD0,
    RST7 = 0xD7,
    SOI = 0xD8,
    EOI = 0xD9,
    SOS = 0xDA,
    DQT = 0xDB,
    DRI = 0xDD,
    APP0 = 0xE0,
    APP1 = 0xE1,
    APP14 = 0xEE,
    APP15 = 0xEF,
    COM = 0xFE
};

/* A browser draws the whole picture anew for each scan, and a scan that changes nothing takes 20 bytes. A tablet's own
 * picture has one; a progressive one as libjpeg writes it 6 to 10, or 18 of four colours. */
#define SCANS_MAX 32
#define JFIF_SIZE 14  /* what its header holds without a thumbnail */
#define ADOBE_SIZE 12 /* likewise */

/* The picture so far. */
struct jpeg {
    int components; /* 0 = no frame yet */
    int scans;
};

/* Precision, height, width, number of components, three bytes for each. */
static bool frame_check(struct still_walk *walk, struct jpeg *jpeg, const uint8_t *body, size_t size)
{
    if (jpeg->components != 0) {
        return still_refuse(walk, "has two frames");
    }
    if (size < 6 || body[0] != 8 || (body[5] != 1 && body[5] != 3 && body[5] != 4) || size != 6 + 3 * (size_t)body[5]) {
        return still_refuse(walk, "has a frame header that browsers do not show");
    }
    jpeg->components = body[5];
    return still_set_size(walk, still_big16(body + 3), still_big16(body + 1));
}

/* The compressed data of one scan, up to the next marker that is no restart. at stands behind the scan's header. */
static bool scan_skip(struct still_walk *walk)
{
    while (walk->at + 1 < walk->size) {
        const uint8_t next = walk->data[walk->at + 1];
        if (walk->data[walk->at] != 0xff || next == 0xff) {
            walk->at++;
        } else if (next == 0 || (next >= RST0 && next <= RST7)) {
            walk->at += 2;
        } else {
            return true;
        }
    }
    return still_refuse(walk, "is cut off");
}

static bool scan_take(struct still_walk *walk, struct jpeg *jpeg, size_t start, size_t size)
{
    const uint8_t *body = walk->data + walk->at - size;
    if (jpeg->components == 0 || size < 1 || body[0] < 1 || body[0] > jpeg->components ||
        size != 4 + 2 * (size_t)body[0]) {
        return still_refuse(walk, "has a damaged scan header");
    }
    if (++jpeg->scans > SCANS_MAX) {
        return still_refuse(walk, "is drawn in too many passes");
    }
    if (!scan_skip(walk)) {
        return false;
    }
    still_keep(walk, start, walk->at - start);
    return true;
}

/* Writes the first `size` bytes of an APPn segment's body under a length of their own. */
static void app_keep(struct still_walk *walk, size_t start, size_t size)
{
    const size_t mark = walk->out_size;
    still_keep(walk, start, 4 + size);
    walk->out[mark + 2] = (uint8_t)((size + 2) >> 8);
    walk->out[mark + 3] = (uint8_t)(size + 2);
}

static bool app_take(struct still_walk *walk, int marker, size_t start, const uint8_t *body, size_t size)
{
    if (marker == APP0 && size >= JFIF_SIZE && memcmp(body, "JFIF", 5) == 0) {
        const size_t mark = walk->out_size;
        app_keep(walk, start, JFIF_SIZE);
        walk->out[mark + 4 + 12] = walk->out[mark + 4 + 13] = 0; /* a thumbnail of nothing */
    } else if (marker == APP14 && size >= ADOBE_SIZE && memcmp(body, "Adobe", 5) == 0) {
        app_keep(walk, start, ADOBE_SIZE);
    } else if (marker == APP1 && size >= 6 && memcmp(body, "Exif\0", 5) == 0) {
        return still_check_turn(walk, body, size);
    }
    return true;
}

/* One segment with a length. start is where its 0xff stands; at stands behind its length. */
static bool segment_take(struct still_walk *walk, struct jpeg *jpeg, int marker, size_t start, size_t size)
{
    const uint8_t *body = walk->data + walk->at;
    walk->at += size;
    switch (marker) {
    case SOF0:
    case SOF1:
    case SOF2:
        if (!frame_check(walk, jpeg, body, size)) {
            return false;
        }
        break;
    case SOS:
        return scan_take(walk, jpeg, start, size);
    case DHT:
    case DQT:
    case DRI:
        break;
    default:
        if (marker >= APP0 && marker <= APP15) {
            return app_take(walk, marker, start, body, size);
        }
        return marker == COM || still_refuse(walk, "is a kind of JPEG that browsers do not show");
    }
    still_keep(walk, start, walk->at - start);
    return true;
}

/* The marker that stands next, fill bytes skipped; -1 when there is none. start: its own 0xff. */
static int marker_next(struct still_walk *walk, size_t *start)
{
    if (!still_has(walk, 2)) {
        return -1;
    }
    if (walk->data[walk->at] != 0xff) {
        still_refuse(walk, "is damaged: a marker was expected");
        return -1;
    }
    while (walk->at + 1 < walk->size && walk->data[walk->at + 1] == 0xff) {
        walk->at++;
    }
    if (!still_has(walk, 2)) {
        return -1;
    }
    *start = walk->at;
    walk->at += 2;
    return walk->data[*start + 1];
}

bool still_walk_jpeg(struct still_walk *walk)
{
    struct jpeg jpeg = {0};
    walk->at = 2;
    still_keep(walk, 0, 2);
    for (;;) {
        size_t start = 0;
        const int marker = marker_next(walk, &start);
        if (marker < 0) {
            return false;
        }
        if (marker == EOI) {
            still_keep(walk, start, 2);
            return jpeg.scans > 0 || still_refuse(walk, "holds no picture");
        }
        if (!still_has(walk, 2)) {
            return false;
        }
        const size_t length = still_big16(walk->data + walk->at);
        if (length < 2 || length > walk->size - walk->at) {
            return still_refuse(walk, "is cut off");
        }
        walk->at += 2;
        if (!segment_take(walk, &jpeg, marker, start, length - 2)) {
            return false;
        }
    }
}
