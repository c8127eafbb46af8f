/* What the walkers of the three kinds of picture share: a reader over the file, and the stripped copy being written. */
#ifndef LEADSIDE_STILL_PARTS_H
#define LEADSIDE_STILL_PARTS_H

#include "still/read.h"

struct still_walk {
    const uint8_t *data;
    size_t size, at;
    uint8_t *out; /* has room for `size` bytes: a copy only ever gets shorter */
    size_t out_size;
    int width, height; /* 0 = not known yet */
    const char *why;   /* the first refusal */
};

/* Always false; keeps the first reason. */
bool still_refuse(struct still_walk *walk, const char *why);
/* Are there n bytes more? */
bool still_has(struct still_walk *walk, size_t n);
/* Copies n bytes from `from` into the stripped file. */
void still_keep(struct still_walk *walk, size_t from, size_t n);
bool still_set_size(struct still_walk *walk, unsigned width, unsigned height);
/* Refuses a picture whose EXIF block (a TIFF structure) says that it is to be shown turned. */
bool still_check_turn(struct still_walk *walk, const uint8_t *tiff, size_t size);

unsigned still_big16(const uint8_t *at);
uint32_t still_big32(const uint8_t *at);
unsigned still_little16(const uint8_t *at);
unsigned still_little24(const uint8_t *at);
uint32_t still_little32(const uint8_t *at);

bool still_walk_jpeg(struct still_walk *walk);
bool still_walk_png(struct still_walk *walk);
bool still_walk_webp(struct still_walk *walk);

#endif
