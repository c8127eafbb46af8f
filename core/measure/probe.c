/* The probe that carries a formula over marked points through the sigma points, and how a value found is kept. */
#include "core/measure/probe.h"

#include <math.h>
#include <stddef.h>

/* How far off a start or a top is told, s, for while the club moves less than a mark's error nobody sees it move: 1 cm
 * at some 9 m/s2 and 17 m/s2, uniform (simulated). Impact is seen by the ball. */
#define START_SD_S 0.027
#define TOP_SD_S 0.020

const struct camera_axes *turns_find(struct turns *turns, double yaw, double pitch, double roll)
{
    for (int i = 0; i < turns->count; i++) {
        if (turns->items[i].yaw == yaw && turns->items[i].pitch == pitch && turns->items[i].roll == roll) {
            return &turns->items[i].axes;
        }
    }
    int at = turns->count < TURNS_MAX ? turns->count++ : TURNS_MAX - 1;
    turns->items[at].yaw = yaw;
    turns->items[at].pitch = pitch;
    turns->items[at].roll = roll;
    camera_turn(yaw, pitch, roll, &turns->items[at].axes);
    return &turns->items[at].axes;
}

struct probe probe_make(const struct measure_view *view, probe_formula formula)
{
    struct probe probe = {.camera = &view->camera,
                          .turns = view->turns,
                          .view = view->index,
                          .formula = formula,
                          .depth = 1.0,
                          .turned = {1e9, 1e9, 1e9}};
    return probe;
}

static bool mark_usable(const struct swing_mark *mark)
{
    return mark->seen && isfinite(mark->u) && isfinite(mark->v);
}

static double mark_sd(const struct swing_mark *mark)
{
    return mark->sd > 0.0 && isfinite(mark->sd) ? mark->sd : SWING_MARK_SD_PX;
}

struct mark_shares mark_shares_of(int view, const struct frame *frame, enum point a, enum point b, double sd)
{
    const int inputs[2] = {SHARED_MARK(view, (int)frame->checkpoint, (int)a),
                           SHARED_MARK(view, (int)frame->checkpoint, (int)b)};
    if (a == b) {
        return (struct mark_shares){{inputs[0], inputs[0]}, {1.0, 0.0}};
    }
    return (struct mark_shares){{inputs[0], inputs[1]},
                                {0.5 * mark_sd(&frame->points[a]) / sd, 0.5 * mark_sd(&frame->points[b]) / sd}};
}

void mark_shares_add(struct shares *out, const struct mark_shares *from, double part_u, double part_v)
{
    for (int i = 0; i < 2; i++) {
        shares_add(out, from->inputs[i], part_u * from->parts[i]);
        shares_add(out, from->inputs[i] + 1, part_v * from->parts[i]);
    }
}

bool probe_add(struct probe *probe, const struct frame *frame, enum point point)
{
    if (frame == NULL || probe->count >= PROBE_POINTS_MAX || !mark_usable(&frame->points[point])) {
        return false;
    }
    struct swing_mark *mark = &probe->marks[probe->count];
    *mark = frame->points[point];
    mark->sd = mark_sd(mark);
    probe->from[probe->count++] = mark_shares_of(probe->view, frame, point, point, mark->sd);
    return true;
}

bool probe_add_middle(struct probe *probe, const struct frame *frame, enum point a, enum point b)
{
    if (frame == NULL || probe->count >= PROBE_POINTS_MAX) {
        return false;
    }
    const struct swing_mark *ma = &frame->points[a];
    const struct swing_mark *mb = &frame->points[b];
    if (!mark_usable(ma) || !mark_usable(mb)) {
        return false;
    }
    const double sd = 0.5 * hypot(mark_sd(ma), mark_sd(mb));
    probe->from[probe->count] = mark_shares_of(probe->view, frame, a, b, sd);
    probe->marks[probe->count++] =
        (struct swing_mark){.seen = true, .u = 0.5 * (ma->u + mb->u), .v = 0.5 * (ma->v + mb->v), .sd = sd};
    return true;
}

bool probe_metres(struct probe *probe, double extra_sd)
{
    if (!probe->camera->has_depth) {
        return false;
    }
    probe->depth = probe->camera->depth;
    probe->depth_sd = hypot(probe->camera->depth_sd, extra_sd);
    return true;
}

static bool probe_evaluate(const double *x, void *context, double *y)
{
    struct probe *probe = context;
    bool turn =
        x[PROBE_YAW] != probe->turned[0] || x[PROBE_PITCH] != probe->turned[1] || x[PROBE_ROLL] != probe->turned[2];

    if (turn) {
        probe->axes = *turns_find(probe->turns, x[PROBE_YAW], x[PROBE_PITCH], x[PROBE_ROLL]);
        probe->turned[0] = x[PROBE_YAW];
        probe->turned[1] = x[PROBE_PITCH];
        probe->turned[2] = x[PROBE_ROLL];
    }
    const double *uv = x + PROBE_OWN;
    double *last = probe->last;
    for (int i = 0; i < probe->count; i++, uv += 2, last += 2) {
        if (!turn && uv[0] == last[0] && uv[1] == last[1]) {
            continue;
        }
        if (!camera_ray(probe->camera, &probe->axes, uv[0], uv[1], &probe->rays[i])) {
            probe->turned[0] = 1e9; /* nothing held is complete: begin again next time */
            return false;
        }
        last[0] = uv[0];
        last[1] = uv[1];
    }
    return probe->formula(probe, probe->rays, x, y);
}

bool probe_run(struct probe *probe, struct sigma_result *out)
{
    const struct camera *camera = probe->camera;
    struct sigma_input inputs[PROBE_OWN + 2 * PROBE_POINTS_MAX];
    int n = PROBE_OWN;

    inputs[PROBE_YAW] = (struct sigma_input){camera->yaw, camera->yaw_sd, true};
    inputs[PROBE_PITCH] = (struct sigma_input){camera->pitch, camera->pitch_sd, true};
    inputs[PROBE_ROLL] = (struct sigma_input){camera->roll, camera->roll_sd, true};
    inputs[PROBE_DEPTH] = (struct sigma_input){probe->depth, probe->depth_sd, true};
    inputs[PROBE_SLOPE] = (struct sigma_input){probe->slope, probe->slope_sd, true};
    for (int i = 0; i < probe->count; i++) {
        inputs[n++] = (struct sigma_input){probe->marks[i].u, probe->marks[i].sd, false};
        inputs[n++] = (struct sigma_input){probe->marks[i].v, probe->marks[i].sd, false};
    }
    return sigma_transform(inputs, n, probe_evaluate, probe, probe->circular, out);
}

/* What the plane's slope brings, if it is one of the inputs: the marks and the camera that it was seen with. */
static void slope_shares(const struct measure_work *work, double part, struct shares *out)
{
    if (part == 0.0 || !(work->slope_sd > 0.0)) {
        return;
    }
    for (int i = 0; i < work->slope_shares.count; i++) {
        shares_add(out, work->slope_shares.inputs[i], work->slope_shares.parts[i] * part / work->slope_sd);
    }
    shares_add(out, SHARED_SLOPE, part * work->slope_own / work->slope_sd);
}

void probe_shares(const struct measure_work *work, const struct probe *probe, const struct sigma_result *result,
                  double marks, struct shares *out)
{
    const double *part = result->parts;
    for (int i = 0; i < 3; i++) {
        shares_add(out, SHARED_CAMERA(probe->view) + i, part[PROBE_YAW + i]);
    }
    if (probe->depth_sd > 0.0) {
        /* Of the depth's error the camera's own; what the hands or hips stray from there is the measure's. */
        double camera = fmin(1.0, probe->camera->depth_sd / probe->depth_sd);
        shares_add(out, SHARED_CAMERA(probe->view) + 3, part[PROBE_DEPTH] * camera);
    }
    slope_shares(work, part[PROBE_SLOPE], out);
    for (int i = 0; i < probe->count; i++) {
        const double *uv = part + PROBE_OWN + (ptrdiff_t)2 * i;
        mark_shares_add(out, &probe->from[i], marks * uv[0], marks * uv[1]);
    }
}

/* Rank of a source: a higher one replaces a lower one whatever its error. */
static int source_rank(enum measure_source source)
{
    switch (source) {
    case MEASURE_SOURCE_MEASURED:
        return 5;
    case MEASURE_SOURCE_WEIGHT:
        return 4;
    case MEASURE_SOURCE_MOTION:
        return 3;
    case MEASURE_SOURCE_PICTURES:
        return 2;
    default:
        return 1;
    }
}

bool measure_offer(struct measure_work *work, enum measure_item item, const struct measure *measure)
{
    struct measure *held = &work->out->items[item];

    if (!isfinite(measure->value) || !isfinite(measure->sd_random) || !isfinite(measure->sd_systematic)) {
        return false;
    }
    int held_rank = held->observed ? source_rank(held->source) : 0;
    int rank = source_rank(measure->source);
    if (rank > held_rank || (rank == held_rank && measure_sd(measure) < measure_sd(held))) {
        *held = *measure;
        held->observed = true;
        work->shares[item].count = 0;
        return true;
    }
    return false;
}

double measure_instant_sd(const struct measure_view *view, enum checkpoint checkpoint)
{
    const double frame = 1.0 / (view->fps * sqrt(12.0));
    if (checkpoint == CHECKPOINT_ADDRESS) {
        return hypot(frame, START_SD_S);
    }
    return checkpoint == CHECKPOINT_TOP ? hypot(frame, TOP_SD_S) : frame;
}

bool measure_tempo_formula(const double *t, void *context, double *out)
{
    (void)context;
    double down = t[2] - t[1];
    double back = t[1] - t[0];
    if (!(down > 1e-3) || !(back > 1e-3)) {
        return false;
    }
    *out = back / down;
    return true;
}
