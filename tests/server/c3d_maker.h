/* Writes C3D files byte by byte from the specification, in all byte orders and both number types, for tests. */
#ifndef LEADSIDE_TESTS_SERVER_C3D_MAKER_H
#define LEADSIDE_TESTS_SERVER_C3D_MAKER_H

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MAKER_BYTES 65536

struct c3d_maker {
    int processor; /* 84 Intel, 85 DEC, 86 MIPS */
    int real;
    unsigned char bytes[MAKER_BYTES];
    size_t at; /* of the parameter section's end so far */
    size_t last_link, last_entry;
    size_t length;
};

static inline void maker_word(struct c3d_maker *m, size_t at, int value)
{
    int high = m->processor == 86 ? 0 : 1;
    m->bytes[at + (size_t)high] = (unsigned char)(value >> 8);
    m->bytes[at + 1 - (size_t)high] = (unsigned char)value;
}

/* IEEE bits; a VAX real of the same value is IEEE's of four times it, halves swapped. */
static inline void maker_real(struct c3d_maker *m, size_t at, double value)
{
    float wide = (float)(m->processor == 85 ? value * 4.0 : value);
    uint32_t bits;
    memcpy(&bits, &wide, sizeof bits);
    if (m->processor == 84) {
        maker_word(m, at, (int)(bits & 0xffff));
        maker_word(m, at + 2, (int)(bits >> 16));
    } else {
        maker_word(m, at, (int)(bits >> 16));
        maker_word(m, at + 2, (int)(bits & 0xffff));
    }
}

/* An entry's head: name, group (negative = a group itself), and room for the link, which entry_end fills in. */
static inline void maker_entry(struct c3d_maker *m, int group, const char *name)
{
    size_t length = strlen(name);
    m->last_entry = m->at;
    m->bytes[m->at] = (unsigned char)length;
    m->bytes[m->at + 1] = (unsigned char)(signed char)group;
    memcpy(m->bytes + m->at + 2, name, length);
    m->last_link = m->at + 2 + length;
    m->at = m->last_link + 2;
}

static inline void maker_end(struct c3d_maker *m)
{
    m->bytes[m->at++] = 0; /* no description */
    maker_word(m, m->last_link, (int)(m->at - m->last_link));
}

static inline void maker_group(struct c3d_maker *m, int id, const char *name)
{
    maker_entry(m, -id, name);
    maker_end(m);
}

static inline void maker_text(struct c3d_maker *m, int group, const char *name, const char *const *texts, int count,
                              int width)
{
    maker_entry(m, group, name);
    m->bytes[m->at++] = 0xff; /* -1: characters */
    m->bytes[m->at++] = 2;
    m->bytes[m->at++] = (unsigned char)width;
    m->bytes[m->at++] = (unsigned char)count;
    for (int i = 0; i < count; i++) {
        memset(m->bytes + m->at, ' ', (size_t)width);
        memcpy(m->bytes + m->at, texts[i], strlen(texts[i]));
        m->at += (size_t)width;
    }
    maker_end(m);
}

static inline void maker_integer(struct c3d_maker *m, int group, const char *name, int value)
{
    maker_entry(m, group, name);
    m->bytes[m->at++] = 2;
    m->bytes[m->at++] = 0;
    maker_word(m, m->at, value);
    m->at += 2;
    maker_end(m);
}

static inline void maker_number(struct c3d_maker *m, int group, const char *name, double value)
{
    maker_entry(m, group, name);
    m->bytes[m->at++] = 4;
    m->bytes[m->at++] = 0;
    maker_real(m, m->at, value);
    m->at += 4;
    maker_end(m);
}

/* What a file is made of; what is 0 or NULL is left out of it. */
struct c3d_wish {
    int processor, real, points, frames, analog, samples;
    double rate, scale;
    const char *const *labels;
    int label_count;
    const char *const *labels2;
    int label2_count;
    const char *units, *up;
    int with_events, with_trial;
    /* sample f of point p; false = not seen. NULL = maker_place. */
    int (*place)(int point, int frame, double at[3]);
};

static inline int maker_place(int point, int frame, double at[3])
{
    at[0] = 100 + 10 * point + frame;
    at[1] = -200 + 5 * point - 2 * frame;
    at[2] = 900 + 40 * point + 3 * frame;
    return !(point == 1 && frame % 3 == 2);
}

static inline void maker_parameters(struct c3d_maker *m, const struct c3d_wish *w)
{
    m->at = 512 + 4;
    m->bytes[512] = 1;
    m->bytes[513] = 0x50;
    m->bytes[515] = (unsigned char)w->processor;
    maker_integer(m, 1, "USED", w->points); /* before its group, as the format allows */
    maker_group(m, 1, "POINT");
    maker_integer(m, 1, "FRAMES", w->frames);
    maker_number(m, 1, "RATE", w->rate);
    maker_number(m, 1, "SCALE", w->real ? -w->scale : w->scale);
    if (w->labels != NULL) {
        maker_text(m, 1, "LABELS", w->labels, w->label_count, 16);
    }
    if (w->labels2 != NULL) {
        maker_text(m, 1, "LABELS2", w->labels2, w->label2_count, 16);
    }
    if (w->units != NULL) {
        maker_text(m, 1, "UNITS", &w->units, 1, 4);
    }
    if (w->up != NULL) {
        maker_text(m, 1, "Y_SCREEN", &w->up, 1, 2);
    }
    maker_group(m, 2, "ANALOG");
    maker_integer(m, 2, "USED", w->samples > 0 ? w->analog / w->samples : 0);
    if (w->with_events) {
        maker_group(m, 3, "EVENT");
        maker_integer(m, 3, "USED", 0);
    }
    if (w->with_trial) {
        maker_group(m, 4, "TRIAL");
        maker_entry(m, 4, "ACTUAL_END_FIELD");
        m->bytes[m->at++] = 2;
        m->bytes[m->at++] = 1;
        m->bytes[m->at++] = 2;
        maker_word(m, m->at, w->frames);
        maker_word(m, m->at + 2, 0);
        m->at += 4;
        maker_end(m);
        maker_entry(m, 4, "ACTUAL_START_FIELD");
        m->bytes[m->at++] = 2;
        m->bytes[m->at++] = 1;
        m->bytes[m->at++] = 2;
        maker_word(m, m->at, 1);
        maker_word(m, m->at + 2, 0);
        m->at += 4;
        maker_end(m);
    }
    /* The last entry: DATA_START, its link 0. */
    size_t blocks = (m->at + 40 - 512 + 511) / 512;
    m->bytes[514] = (unsigned char)blocks;
    maker_integer(m, 1, "DATA_START", (int)(2 + blocks));
    maker_word(m, m->last_link, 0);
}

static inline size_t maker_data(struct c3d_maker *m, const struct c3d_wish *w, size_t at)
{
    size_t width = w->real ? 4 : 2;
    for (int f = 0; f < w->frames; f++) {
        for (int p = 0; p < w->points; p++) {
            double place[3] = {0, 0, 0};
            int seen = (w->place == NULL ? maker_place : w->place)(p, f, place);
            for (int k = 0; k < 4; k++, at += width) {
                double value = k == 3 ? (seen ? 0x0102 : -1) : seen ? place[k] : 0;
                if (w->real) {
                    maker_real(m, at, value);
                } else {
                    maker_word(m, at, k == 3 ? (int)value : (int)lround(value / w->scale));
                }
            }
        }
        for (int a = 0; a < w->analog; a++, at += width) {
            if (w->real) {
                maker_real(m, at, 7000 + a);
            } else {
                maker_word(m, at, 7000 + a);
            }
        }
    }
    return at;
}

static inline void maker_make(struct c3d_maker *m, const struct c3d_wish *w)
{
    memset(m, 0, sizeof *m);
    m->processor = w->processor;
    m->real = w->real;
    maker_parameters(m, w);
    m->bytes[0] = 2;
    m->bytes[1] = 0x50;
    maker_word(m, 2, w->points);
    maker_word(m, 4, w->analog);
    maker_word(m, 6, 1);
    maker_word(m, 8, w->frames);
    maker_word(m, 10, 10);
    maker_real(m, 12, w->real ? -w->scale : w->scale);
    size_t start = (size_t)2 + m->bytes[514];
    maker_word(m, 16, (int)start);
    maker_word(m, 18, w->samples);
    maker_real(m, 20, w->rate);
    m->length = (maker_data(m, w, (start - 1) * 512) + 511) / 512 * 512;
}

/* Where a parameter's data begin (found by its name: the first such in the section). 0 = not there. */
static inline size_t maker_find(const struct c3d_maker *m, const char *name)
{
    size_t length = strlen(name);
    for (size_t at = 516; at + length + 4 < (size_t)512 + 512 * m->bytes[514]; at++) {
        if (m->bytes[at] == length && memcmp(m->bytes + at + 2, name, length) == 0) {
            return at;
        }
    }
    return 0;
}

#endif
