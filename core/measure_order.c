/* Turn and lift from both views' pictures paired by checkpoint: x from face on, z from down the line, y from both.
 * The two cameras are joined at the hands at address, whose depth each knows. */
#include <math.h>
#include <string.h>

#include "measure_parts.h"
#include "order.h"

#define PAIR_STEPS 3 /* each view's depth depends on the other's sideways place: a contraction */
#define PHASE_MAX 4
#define ONE_VIEW_SD 0.05 /* perspective of the one-view index (simulated, research notes E) */
#define PAIR_SD 0.03     /* few checkpoints and a hub that is not quite fixed (research notes E) */

/* Rays of one thing in both views and where it is, world axes, from the two lenses' own heights. */
struct pair {
    struct vec3 line, face;
};

struct rig {
    double line_depth, face_depth;   /* of the hands at address */
    double x0, z0, line_y0, face_y0; /* the same hands, from each lens */
};

static void rig_init(struct rig *rig, double line_depth, double face_depth, const struct pair *address)
{
    rig->line_depth = line_depth;
    rig->face_depth = face_depth;
    rig->x0 = address->face.z * face_depth;
    rig->z0 = address->line.z * line_depth;
    rig->line_y0 = address->line.y * line_depth;
    rig->face_y0 = address->face.y * face_depth;
}

/* Place of a paired point from the hands at address; also its depth in the view down the line. */
static struct vec3 rig_place(const struct rig *rig, const struct pair *pair, double *line_depth)
{
    double line = rig->line_depth;
    double face = rig->face_depth;

    for (int i = 0; i < PAIR_STEPS; i++) {
        face = rig->face_depth + (rig->z0 - pair->line.z * line); /* face on, away from the ball is farther */
        line = rig->line_depth + (pair->face.z * face - rig->x0);
    }
    *line_depth = line;
    double y = 0.5 * ((pair->line.y * line - rig->line_y0) + (pair->face.y * face - rig->face_y0));
    return vec_make(pair->face.z * face - rig->x0, y, pair->line.z * line - rig->z0);
}

static bool mark_ray(const struct measure_view *view, const struct camera_axes *axes, const struct frame *frame,
                     struct vec3 *ray)
{
    return frame != NULL && frame->points[POINT_GRIP].seen &&
           camera_ray(&view->camera, axes, frame->points[POINT_GRIP].u, frame->points[POINT_GRIP].v, ray);
}

static bool pair_rays(const struct measure_view *line, const struct measure_view *face, enum checkpoint checkpoint,
                      struct pair *pair)
{
    struct camera_axes la;
    struct camera_axes fa;

    camera_turn(line->camera.yaw, line->camera.pitch, line->camera.roll, &la);
    camera_turn(face->camera.yaw, face->camera.pitch, face->camera.roll, &fa);
    return mark_ray(line, &la, line->frames[checkpoint], &pair->line) &&
           mark_ray(face, &fa, face->frames[checkpoint], &pair->face);
}

bool measure_paired_depth(const struct measure_view *line, const struct measure_view *face, enum checkpoint checkpoint,
                          double *depth)
{
    struct pair address;
    struct pair now;
    struct rig rig;

    if (!line->camera.has_depth || !face->camera.has_depth || !pair_rays(line, face, CHECKPOINT_ADDRESS, &address) ||
        !pair_rays(line, face, checkpoint, &now)) {
        return false;
    }
    rig_init(&rig, line->camera.depth, face->camera.depth, &address);
    (void)rig_place(&rig, &now, depth);
    return *depth > 0.5 && isfinite(*depth);
}

/* Inputs: yaw and depth of each view, then u, v of every mark: hands at address, hub, and the phase's checkpoints, each
 * down the line and face on. Pitch and roll tilt both pictures alike and hardly move the index. */
enum { ORDER_LINE_YAW, ORDER_FACE_YAW, ORDER_LINE_DEPTH, ORDER_FACE_DEPTH, ORDER_MARKS };

#define ORDER_PLACES (PHASE_MAX + 1)

struct order_work {
    const struct camera *line, *face;
    int count; /* checkpoints of the phase */
    enum order_phase phase;
    /* The last inputs and what they gave, so that only what changes is worked out again. */
    bool held;
    double common[ORDER_MARKS + 4], last[4 * ORDER_PLACES];
    struct camera_axes line_axes, face_axes;
    struct rig rig;
    struct vec3 address, places[ORDER_PLACES]; /* hub, then the hands */
};

static bool order_pair(const struct order_work *work, const double *uv, struct pair *pair)
{
    return camera_ray(work->line, &work->line_axes, uv[0], uv[1], &pair->line) &&
           camera_ray(work->face, &work->face_axes, uv[2], uv[3], &pair->face);
}

static bool same(const double *a, const double *b, int n)
{
    for (int i = 0; i < n; i++) {
        if (a[i] != b[i]) {
            return false;
        }
    }
    return true;
}

static bool order_common(struct order_work *work, const double *x)
{
    struct pair pair;
    double depth;

    camera_turn(x[ORDER_LINE_YAW], work->line->pitch, work->line->roll, &work->line_axes);
    camera_turn(x[ORDER_FACE_YAW], work->face->pitch, work->face->roll, &work->face_axes);
    if (!order_pair(work, x + ORDER_MARKS, &pair)) {
        return false;
    }
    rig_init(&work->rig, x[ORDER_LINE_DEPTH], x[ORDER_FACE_DEPTH], &pair);
    work->address = rig_place(&work->rig, &pair, &depth);
    memcpy(work->common, x, sizeof work->common);
    return true;
}

static bool order_formula(const double *x, void *context, double *out)
{
    struct order_work *work = context;
    int first = work->phase == ORDER_BACK ? 1 : 0; /* that phase begins at the hands at address */
    int places = 1 + work->count - first;
    bool all = !work->held || !same(work->common, x, ORDER_MARKS + 4);
    const double *uv = x + ORDER_MARKS + 4;
    double *last = work->last;
    struct vec3 hands[PHASE_MAX];

    work->held = false;
    if (all && !order_common(work, x)) {
        return false;
    }
    for (int i = 0; i < places; i++, uv += 4, last += 4) {
        struct pair pair;
        double depth;
        if (!all && same(last, uv, 4)) {
            continue;
        }
        if (!order_pair(work, uv, &pair)) {
            return false;
        }
        work->places[i] = rig_place(&work->rig, &pair, &depth);
        memcpy(last, uv, 4 * sizeof *uv);
    }
    work->held = true;
    if (!order_in_front(work->address, work->places[0])) {
        return false;
    }
    hands[0] = work->address;
    memcpy(hands + first, work->places + 1, (size_t)(work->count - first) * sizeof hands[0]);
    return order_of_hands(hands, work->count, work->places[0], work->phase, out);
}

static void add_mark(struct sigma_input *inputs, int *n, const struct mark *a, const struct mark *b)
{
    double sa = a->sd > 0.0 ? a->sd : SWING_MARK_SD_PX;
    double sb = b->sd > 0.0 ? b->sd : SWING_MARK_SD_PX;
    double sd = a == b ? sa : 0.5 * hypot(sa, sb);

    inputs[(*n)++] = (struct sigma_input){0.5 * (a->u + b->u), sd, false};
    inputs[(*n)++] = (struct sigma_input){0.5 * (a->v + b->v), sd, false};
}

/* A point, or the middle of two, in both views; false when one does not show it. */
static bool add_pair(struct sigma_input *inputs, int *n, const struct frame *line, const struct frame *face,
                     enum point a, enum point b)
{
    if (line == NULL || face == NULL || !line->points[a].seen || !line->points[b].seen || !face->points[a].seen ||
        !face->points[b].seen) {
        return false;
    }
    add_mark(inputs, n, &line->points[a], &line->points[b]);
    add_mark(inputs, n, &face->points[a], &face->points[b]);
    return true;
}

struct phase {
    enum measure_item item, one_view; /* MEASURE_COUNT = none */
    enum order_phase phase;
    int count;
    enum checkpoint at[PHASE_MAX]; /* first and last are needed, and one between */
};

static const struct phase phases[] = {
    {MEASURE_ORDER_BACK,
     MEASURE_ORDER_BACK_DTL,
     ORDER_BACK,
     4,
     {CHECKPOINT_ADDRESS, CHECKPOINT_SHAFT_BACK, CHECKPOINT_ARM_BACK, CHECKPOINT_TOP}},
    {MEASURE_ORDER_DOWN,
     MEASURE_ORDER_DOWN_DTL,
     ORDER_DOWN,
     4,
     {CHECKPOINT_TOP, CHECKPOINT_ARM_DOWN, CHECKPOINT_SHAFT_DOWN, CHECKPOINT_IMPACT}},
    {MEASURE_ORDER_THROUGH,
     MEASURE_COUNT,
     ORDER_THROUGH,
     3,
     {CHECKPOINT_IMPACT, CHECKPOINT_SHAFT_THROUGH, CHECKPOINT_ARM_THROUGH}},
};

static void order_phase(struct measure_work *work, const struct measure_view *line, const struct measure_view *face,
                        const struct phase *phase)
{
    struct sigma_input inputs[ORDER_MARKS + 4 * (PHASE_MAX + 2)];
    struct order_work order = {.line = &line->camera, .face = &face->camera, .phase = phase->phase};
    struct sigma_result result;
    int n = ORDER_MARKS;

    inputs[ORDER_LINE_YAW] = (struct sigma_input){line->camera.yaw, line->camera.yaw_sd, true};
    inputs[ORDER_FACE_YAW] = (struct sigma_input){face->camera.yaw, face->camera.yaw_sd, true};
    inputs[ORDER_LINE_DEPTH] = (struct sigma_input){line->camera.depth, line->camera.depth_sd, true};
    inputs[ORDER_FACE_DEPTH] = (struct sigma_input){face->camera.depth, face->camera.depth_sd, true};
    const struct frame *la = line->frames[CHECKPOINT_ADDRESS];
    const struct frame *fa = face->frames[CHECKPOINT_ADDRESS];
    if (!add_pair(inputs, &n, la, fa, POINT_GRIP, POINT_GRIP) ||
        !add_pair(inputs, &n, la, fa, POINT_LEAD_SHOULDER, POINT_TRAIL_SHOULDER)) {
        return;
    }
    for (int i = 0; i < phase->count; i++) {
        bool added =
            add_pair(inputs, &n, line->frames[phase->at[i]], face->frames[phase->at[i]], POINT_GRIP, POINT_GRIP);
        if (added && phase->at[i] == CHECKPOINT_ADDRESS) {
            n = ORDER_MARKS + 8; /* those hands lead the list already */
        }
        order.count += added ? 1 : 0;
        if (!added && (i == 0 || i == phase->count - 1)) {
            return;
        }
    }
    if (order.count < 3 || !sigma_transform(inputs, n, order_formula, &order, false, &result)) {
        return;
    }
    struct measure measure = {.value = result.value,
                              .sd_random = result.sd_random,
                              .sd_systematic = hypot(result.sd_systematic, PAIR_SD),
                              .source = MEASURE_SOURCE_PICTURES};
    measure_offer(work, phase->item, &measure);
}

static bool one_view_formula(const struct probe *probe, const struct vec3 *rays, const double *x, double *out)
{
    double shift[PHASE_MAX];
    double height[PHASE_MAX];

    (void)x;
    if (probe->count < 3 || probe->count > PHASE_MAX) {
        return false;
    }
    for (int i = 0; i < probe->count; i++) {
        shift[i] = -rays[i].z;
        height[i] = rays[i].y;
    }
    if (!(fabs(shift[probe->count - 1] - shift[0]) * probe->depth >= ORDER_SHIFT_MIN_M)) {
        return false;
    }
    return order_index_one_view(shift, height, probe->count, out);
}

static void order_one_view(struct measure_work *work, const struct measure_view *line, const struct phase *phase)
{
    struct probe probe = probe_make(line, one_view_formula);
    struct sigma_result result;

    if (phase->one_view == MEASURE_COUNT || !probe_metres(&probe, 0.0)) {
        return;
    }
    probe.depth_sd = 0.0; /* only the least shift uses it */
    for (int i = 0; i < phase->count; i++) {
        bool added = probe_add(&probe, line->frames[phase->at[i]], POINT_GRIP);
        if (!added && (i == 0 || i == phase->count - 1)) {
            return;
        }
    }
    if (probe.count < 3 || !probe_run(&probe, &result)) {
        return;
    }
    struct measure measure = {.value = result.value,
                              .sd_random = result.sd_random,
                              .sd_systematic = hypot(result.sd_systematic, ONE_VIEW_SD),
                              .source = MEASURE_SOURCE_PICTURE};
    measure_offer(work, phase->one_view, &measure);
}

/* One phase in one view down the line, alone and with every view face on. */
static void order_line(struct measure_work *work, const struct measure_view *line, const struct phase *phase)
{
    order_one_view(work, line, phase);
    for (int i = 0; i < work->view_count && line->camera.has_depth; i++) {
        const struct measure_view *face = &work->views[i];
        if (face->camera.kind == VIEW_FACE_ON && face->camera.has_depth) {
            order_phase(work, line, face, phase);
        }
    }
}

void measure_orders(struct measure_work *work)
{
    for (int i = 0; i < work->view_count; i++) {
        for (size_t p = 0; p < sizeof phases / sizeof phases[0]; p++) {
            if (work->views[i].camera.kind == VIEW_DOWN_THE_LINE) {
                order_line(work, &work->views[i], &phases[p]);
            }
        }
    }
}
