/* What the families of measures share: one swing's views with their cameras, and the probe that carries a formula over
 * marked points through the sigma points. Private to core/measure. */
#ifndef LEADSIDE_CORE_MEASURE_PROBE_H
#define LEADSIDE_CORE_MEASURE_PROBE_H

#include "core/camera.h"
#include "core/measure/shared.h"
#include "core/posture.h"
#include "core/shaft.h"
#include "core/sigma.h"
#include "core/swing.h"

/* The axes of the poses that a view's probes ask for again and again: the central one and one to each side of every
 * angle. */
#define TURNS_MAX 8
struct turns {
    int count;
    struct {
        double yaw, pitch, roll;
        struct camera_axes axes;
    } items[TURNS_MAX];
};

struct measure_view {
    const struct swing_view *view;
    int index;
    double fps;                                   /* given, or the default */
    const struct frame *frames[CHECKPOINT_COUNT]; /* NULL = not marked */
    struct camera camera;
    struct turns *turns; /* of this view */
};

struct measure_work {
    const struct swing *swing;
    struct measure_set *out;
    struct camera_findings *findings;
    struct maybe length;                 /* mid-grip to clubhead, m */
    double slope, slope_sd;              /* of the swing's plane, deg, systematic */
    double slope_own;                    /* the part of slope_sd that no mark or camera brings */
    struct shares slope_shares;          /* the rest, in degrees */
    struct shares shares[MEASURE_COUNT]; /* of what is held in out */
    int view_count;
    struct measure_view views[SWING_VIEWS_MAX];
    struct turns turns[SWING_VIEWS_MAX];
};

/* The systematic inputs of a probe come first. */
enum probe_input { PROBE_YAW, PROBE_PITCH, PROBE_ROLL, PROBE_DEPTH, PROBE_SLOPE, PROBE_OWN };
#define PROBE_POINTS_MAX 16

/* What a marked point, or the middle of two, takes its error from: inputs (of u; v follows), and the share of each
 * one's sd in the sd of the whole. */
struct mark_shares {
    int inputs[2];
    double parts[2];
};

struct probe;

/* rays: of the marks, in order, x = 1; x: the probe_input values. */
typedef bool (*probe_formula)(const struct probe *probe, const struct vec3 *rays, const double *x, double *out);

struct probe {
    const struct camera *camera;
    struct turns *turns;
    int view; /* its index */
    probe_formula formula;
    int count;
    struct swing_mark marks[PROBE_POINTS_MAX];
    struct mark_shares from[PROBE_POINTS_MAX];
    double depth, depth_sd; /* 1 and 0 for a measure that has no unit of length */
    double slope, slope_sd;
    double length;              /* of the club, for shaft formulas */
    enum checkpoint checkpoint; /* for shaft formulas */
    enum shaft_root root;       /* for the slope on the way down */
    bool circular;
    bool clipped; /* set by a shaft formula at the central values */
    double miss_deg;
    /* Inside: the last pose and marks with their rays, so that only what changes is worked out again. */
    double turned[3];
    struct camera_axes axes;
    double last[2 * PROBE_POINTS_MAX];
    struct vec3 rays[PROBE_POINTS_MAX];
};

/* The axes of a pose, from those kept or worked out and kept. */
const struct camera_axes *turns_find(struct turns *turns, double yaw, double pitch, double roll);

/* A probe of one view without points; depth 1. */
struct probe probe_make(const struct measure_view *view, probe_formula formula);

/* Adds a point of a frame, or the middle of two; false when it is not seen. */
bool probe_add(struct probe *probe, const struct frame *frame, enum point point);
bool probe_add_middle(struct probe *probe, const struct frame *frame, enum point a, enum point b);

/* Gives the probe the view's depth; extra_sd is added. False when the view has none. */
bool probe_metres(struct probe *probe, double extra_sd);

bool probe_run(struct probe *probe, struct sigma_result *out);

/* Notes what the result's errors come from; marks: a factor on what the marks bring. */
void probe_shares(const struct measure_work *work, const struct probe *probe, const struct sigma_result *result,
                  double marks, struct shares *out);

/* The shares of a mark that is seen in a frame of a view; b = a, or the second point of a middle. sd: of both. */
struct mark_shares mark_shares_of(int view, const struct frame *frame, enum point a, enum point b, double sd);

/* Adds u and v of a mark: what one sd of each moves. */
void mark_shares_add(struct shares *out, const struct mark_shares *from, double part_u, double part_v);

/* How far off the picture taken as a checkpoint is told, s: uniform over half a frame either way, and at the start and
 * the top besides as far as nobody sees the club move. */
double measure_instant_sd(const struct measure_view *view, enum checkpoint checkpoint);

/* Stores a value unless a better one (smaller sd, of the same rank) is there. True when it did: it then has no shares
 * yet. */
bool measure_offer(struct measure_work *work, enum measure_item item, const struct measure *measure);

static inline struct plane_point probe_plane(struct vec3 ray, double depth)
{
    return (struct plane_point){ray.z * depth, ray.y * depth};
}

/* Backswing over downswing from the instants of start, top and impact, s. */
bool measure_tempo_formula(const double *t, void *context, double *out);

#endif
