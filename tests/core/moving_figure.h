/* A player in motion by closed formulas, for the tests of the motion analysis: invented, with every instant known.
 *
 * Hands and club turn in one tilted plane about a hub; pelvis and chest turn about the upright axis; all by
 * minimum-jerk steps. World axes, a right-hander, metres, seconds from the record's beginning. */
#ifndef LEADSIDE_TESTS_CORE_MOVING_FIGURE_H
#define LEADSIDE_TESTS_CORE_MOVING_FIGURE_H

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "core/motion/motion.h"

#define FIGURE_SAMPLES_MAX 5000
#define FIGURE_SLOPE_DEG 50.0
#define FIGURE_ARM 0.62
#define FIGURE_CLUB 0.84

/* Instants, after figure.begin. */
#define FIGURE_TOP 0.85
#define FIGURE_IMPACT 1.12

struct figure {
    double rate;     /* Hz */
    double seconds;  /* length of the record */
    double begin;    /* when the take-away begins */
    double size;     /* 1 = 1.75 m tall */
    double noise;    /* uniform, +- m */
    double practice; /* another swing beside the ball begins then; 0 = none */
    bool waggle;     /* small movements of the club before the start */
    int count;
    struct vec3 at[POINT_COUNT][FIGURE_SAMPLES_MAX];
    bool seen[POINT_COUNT][FIGURE_SAMPLES_MAX];
};

/* 0 before a, 1 after b, minimum jerk between. */
static inline double figure_step(double t, double a, double b)
{
    double u = (t - a) / (b - a);
    u = u < 0.0 ? 0.0 : u > 1.0 ? 1.0 : u;
    return u * u * u * (10.0 + u * (6.0 * u - 15.0));
}

/* Angle of the hands and of the club in the plane, deg from straight down, + backward. t after the take-away. */
static inline double figure_hands(double t)
{
    return 150.0 * figure_step(t, 0.0, FIGURE_TOP) - 300.0 * figure_step(t, FIGURE_TOP, FIGURE_TOP + 0.50);
}

static inline double figure_club(double t)
{
    return 255.0 * figure_step(t, 0.0, FIGURE_TOP) -
           510.0 * figure_step(t, FIGURE_TOP, 2.0 * FIGURE_IMPACT - FIGURE_TOP);
}

/* Turn away from the target, deg. */
static inline double figure_pelvis(double t)
{
    return 45.0 * figure_step(t, 0.0, FIGURE_TOP) - 110.0 * figure_step(t, FIGURE_TOP - 0.05, FIGURE_TOP + 0.37);
}

static inline double figure_chest(double t)
{
    return 90.0 * figure_step(t, 0.0, FIGURE_TOP) - 180.0 * figure_step(t, FIGURE_TOP - 0.02, FIGURE_TOP + 0.44);
}

/* In the plane of the swing: length at an angle. */
static inline struct vec3 figure_plane(double length, double deg)
{
    double a = FIGURE_SLOPE_DEG * VEC_RAD;
    double s = length * sin(deg * VEC_RAD), c = length * cos(deg * VEC_RAD);
    return vec_make(-s, -c * sin(a), c * cos(a));
}

/* A line of half width across the player, turned. */
static inline struct vec3 figure_turned(struct vec3 middle, double half, double deg)
{
    return vec_add(middle, vec_make(half * cos(deg * VEC_RAD), 0.0, half * sin(deg * VEC_RAD)));
}

/* All points at t seconds after the take-away; tc: the same for the club, which may waggle. */
static inline void figure_pose(double t, double tc, double size, struct vec3 p[POINT_COUNT])
{
    struct vec3 hub = vec_make(0.0, 1.40, 0.12), hips = vec_make(0.0, 0.95, -0.12);
    double pelvis = figure_pelvis(t), chest = figure_chest(t);

    p[POINT_NECK] = vec_make(0.0, 1.48, 0.10);
    p[POINT_HEAD] = vec_make(0.0, 1.62, 0.16);
    p[POINT_LEAD_SHOULDER] = figure_turned(hub, 0.19, chest);
    p[POINT_TRAIL_SHOULDER] = figure_turned(hub, -0.19, chest);
    p[POINT_LEAD_HIP] = figure_turned(hips, 0.13, pelvis);
    p[POINT_TRAIL_HIP] = figure_turned(hips, -0.13, pelvis);
    p[POINT_GRIP] = vec_add(hub, figure_plane(FIGURE_ARM, figure_hands(t)));
    p[POINT_LEAD_WRIST] = vec_add(p[POINT_GRIP], vec_make(0.03, 0.03, 0.0));
    p[POINT_TRAIL_WRIST] = vec_add(p[POINT_GRIP], vec_make(-0.03, 0.01, 0.0));
    p[POINT_LEAD_ELBOW] = vec_scale(vec_add(p[POINT_LEAD_SHOULDER], p[POINT_LEAD_WRIST]), 0.5);
    p[POINT_TRAIL_ELBOW] =
        vec_add(vec_scale(vec_add(p[POINT_TRAIL_SHOULDER], p[POINT_TRAIL_WRIST]), 0.5), vec_make(-0.10, -0.05, 0.0));
    for (int side = 0; side < 2; side++) {
        double x = side == 0 ? 0.22 : -0.22;
        p[POINT_LEAD_KNEE + side] = vec_make(x, 0.52, 0.06);
        p[POINT_LEAD_ANKLE + side] = vec_make(x, 0.09, -0.08);
        p[POINT_LEAD_TOE + side] = vec_make(x, 0.02, 0.12);
    }
    struct vec3 club = figure_plane(1.0, figure_club(tc));
    p[POINT_CLUBHEAD] = vec_add(p[POINT_GRIP], vec_scale(club, FIGURE_CLUB));
    p[POINT_BUTT] = vec_sub(p[POINT_GRIP], vec_scale(club, 0.10));
    p[POINT_BALL] =
        vec_add(vec_add(hub, figure_plane(FIGURE_ARM, figure_hands(FIGURE_IMPACT))), figure_plane(FIGURE_CLUB, 0.0));
    for (int i = 0; i < POINT_COUNT; i++) {
        p[i] = vec_scale(p[i], size);
    }
}

static inline double figure_noise(struct figure *figure)
{
    return figure->noise * (2.0 * rand() / RAND_MAX - 1.0);
}

/* Fills the record from the options; the same numbers every time. */
static inline void figure_record(struct figure *figure)
{
    srand(7);
    figure->count = (int)(figure->seconds * figure->rate) + 1;
    for (int i = 0; i < figure->count && i < FIGURE_SAMPLES_MAX; i++) {
        struct vec3 p[POINT_COUNT], rest[POINT_COUNT];
        double now = i / figure->rate, t = now - figure->begin, away = 0.0;
        /* A waggle: the club's angle goes out and back twice, smoothly, and rests before the start. */
        double tc = figure->waggle && t > -1.6 && t < -0.6 ? 0.16 * pow(sin(2.0 * VEC_PI * (t + 1.6)), 2.0) : t;
        figure_pose(t, tc, figure->size, p);
        if (figure->practice > 0.0 && t < -0.6) {
            double back = figure_step(t, -1.8, -0.6); /* walks back to the ball */
            t = now - figure->practice;
            away = 0.35 * (1.0 - back);
            figure_pose(t, t, figure->size, rest);
            for (int k = 0; k < POINT_COUNT; k++) {
                p[k] = vec_add(vec_scale(rest[k], 1.0 - back), vec_scale(p[k], back));
            }
        }
        for (int k = 0; k < POINT_COUNT; k++) {
            figure->at[k][i] = p[k];
            figure->at[k][i].z -= k == POINT_BALL ? 0.0 : away;
            figure->at[k][i] =
                vec_add(figure->at[k][i], vec_make(figure_noise(figure), figure_noise(figure), figure_noise(figure)));
            figure->seen[k][i] = true;
        }
    }
}

/* The record as the analysis takes it. Borrows the figure. */
static inline struct motion_record figure_view(const struct figure *figure)
{
    struct motion_record record = {.rate_hz = figure->rate, .count = figure->count};
    for (int k = 0; k < POINT_COUNT; k++) {
        record.at[k] = figure->at[k];
        record.seen[k] = figure->seen[k];
    }
    return record;
}

#endif
