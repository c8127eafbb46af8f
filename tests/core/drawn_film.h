/* Small drawn pictures and films with a club in them, for the tests of core/finder. Grey, with noise that is the same
 * in every run. */
#ifndef LEADSIDE_TESTS_CORE_DRAWN_FILM_H
#define LEADSIDE_TESTS_CORE_DRAWN_FILM_H

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/finder/finder.h"

#define DRAWN_WIDTH 320
#define DRAWN_HEIGHT 320
#define DRAWN_PI 3.14159265358979323846

struct drawn {
    unsigned char grey[DRAWN_WIDTH * DRAWN_HEIGHT];
};

static inline unsigned drawn_random(unsigned *state)
{
    *state = *state * 1664525U + 1013904223U;
    return *state >> 8;
}

/* Ground with texture of about `noise` grey levels. */
static inline void drawn_ground(struct drawn *picture, double level, double noise, unsigned seed)
{
    for (int i = 0; i < DRAWN_WIDTH * DRAWN_HEIGHT; i++) {
        double sum = 0.0;
        for (int k = 0; k < 4; k++) {
            sum += (double)(drawn_random(&seed) & 0xffffU) / 65536.0 - 0.5;
        }
        picture->grey[i] = (unsigned char)fmin(255.0, fmax(0.0, level + 1.73 * noise * sum));
    }
}

/* A line from (u, v), out from `from` to `to` px in a direction, `width` px wide, over what is there; `fan` degrees
 * swept. */
static inline void drawn_line(struct drawn *picture, double u, double v, double angle, double from, double to,
                              double width, double fan, double level)
{
    for (int y = 0; y < DRAWN_HEIGHT; y++) {
        for (int x = 0; x < DRAWN_WIDTH; x++) {
            double cover = 0.0;
            const int steps = fan > 0.0 ? 24 : 1;
            for (int k = 0; k < steps; k++) {
                const double turn = (angle + fan * ((k + 0.5) / steps - 0.5)) * DRAWN_PI / 180.0;
                const double du = x + 0.5 - u;
                const double dv = y + 0.5 - v;
                const double along = du * cos(turn) + dv * sin(turn);
                const double across = fabs(dv * cos(turn) - du * sin(turn));
                const double end = fmin(along - from, to - along) + 0.5;
                const double side = 0.5 * width - across + 0.5;
                cover += fmax(0.0, fmin(1.0, end)) * fmax(0.0, fmin(1.0, side)) / steps;
            }
            unsigned char *at = &picture->grey[y * DRAWN_WIDTH + x];
            *at = (unsigned char)(*at + cover * (level - *at));
        }
    }
}

static inline struct finder_picture drawn_picture(const struct drawn *picture)
{
    return (struct finder_picture){picture->grey, DRAWN_WIDTH, DRAWN_HEIGHT, DRAWN_WIDTH};
}

/* Hands at a place, nothing else of the body seen. */
static inline void drawn_hands(struct swing_mark points[POINT_COUNT], double u, double v, double sd)
{
    memset(points, 0, POINT_COUNT * sizeof *points);
    points[POINT_GRIP] = (struct swing_mark){true, true, u, v, sd};
}

static inline double drawn_apart(double a, double b)
{
    return fabs(remainder(a - b, 360.0));
}

#endif
