/* Points that both views show, joined into places in space: x from face on, z from down the line, y from both. The two
 * cameras are joined at the hands at address, whose depth each knows. Private to core/measure*.c. */
#ifndef LEADSIDE_CORE_MEASURE_PAIRS_H
#define LEADSIDE_CORE_MEASURE_PAIRS_H

#include "core/measure/probe.h"

#define PAIR_PLACES_MAX 14

struct pair_probe;

/* p[0]: hands at address; then the places in the order they were added. World axes, metres, from those hands. */
typedef bool (*pair_formula)(const struct pair_probe *probe, const struct vec3 *p, double *out);

/* Rays of one thing in both views, and where the two lenses stand. */
struct pair {
    struct vec3 line, face;
};

struct pair_rig {
    double line_depth, face_depth;   /* of the hands at address */
    double x0, z0, line_y0, face_y0; /* the same hands, from each lens */
};

struct pair_probe {
    const struct measure_view *line, *face;
    pair_formula formula;
    int kind;   /* the formula's own */
    void *kept; /* what the formula keeps from one call to the next; NULL = nothing */
    int count;  /* places, the hands at address first */
    struct swing_mark marks[PAIR_PLACES_MAX][2];
    struct mark_shares from[PAIR_PLACES_MAX][2];
    /* Inside: the last inputs and what they gave, so that only what changes is worked out again. */
    bool held;
    double common[8], last[4 * PAIR_PLACES_MAX];
    struct camera_axes line_axes, face_axes;
    struct pair_rig rig;
    struct pair rays[PAIR_PLACES_MAX];
    struct vec3 places[PAIR_PLACES_MAX];
};

/* False when a view has no depth or does not show the grip at address. */
bool pair_start(struct pair_probe *probe, const struct measure_view *line, const struct measure_view *face,
                pair_formula formula);

/* Adds a point of a checkpoint, or the middle of two; false when a view does not show it. */
bool pair_add(struct pair_probe *probe, enum checkpoint checkpoint, enum point a, enum point b);

bool pair_run(struct pair_probe *probe, struct sigma_result *out);

/* Notes what the result's errors come from. */
void pair_shares(const struct pair_probe *probe, const struct sigma_result *result, struct shares *out);

/* Where the hands are in both views at a checkpoint: depth of the hands from the down-the-line camera, m. False when
 * the pair is not there. */
bool measure_paired_depth(const struct measure_view *line, const struct measure_view *face, enum checkpoint checkpoint,
                          double *depth);

#endif
