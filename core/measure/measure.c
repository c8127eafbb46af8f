/* Every measure of one swing: sets up the views, asks each family of measures, and lets the better source win.
 * Of two views that both show a measure the one with the smaller error is kept; they are not averaged, for their
 * systematic errors are shared. */
#include <math.h>

#include "core/measure/parts.h"

struct probe probe_make(const struct measure_view *view, probe_formula formula)
{
    struct probe probe = {.camera = &view->camera, .formula = formula, .depth = 1.0, .turned = {1e9, 1e9, 1e9}};
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

bool probe_add(struct probe *probe, const struct frame *frame, enum point point)
{
    if (frame == NULL || probe->count >= PROBE_POINTS_MAX || !mark_usable(&frame->points[point])) {
        return false;
    }
    struct swing_mark *mark = &probe->marks[probe->count++];
    *mark = frame->points[point];
    mark->sd = mark_sd(mark);
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
    probe->marks[probe->count++] = (struct swing_mark){.seen = true,
                                                       .u = 0.5 * (ma->u + mb->u),
                                                       .v = 0.5 * (ma->v + mb->v),
                                                       .sd = 0.5 * hypot(mark_sd(ma), mark_sd(mb))};
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
        camera_turn(x[PROBE_YAW], x[PROBE_PITCH], x[PROBE_ROLL], &probe->axes);
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

void measure_offer(struct measure_work *work, enum measure_item item, const struct measure *measure)
{
    struct measure *held = &work->out->items[item];

    if (!isfinite(measure->value) || !isfinite(measure->sd_random) || !isfinite(measure->sd_systematic)) {
        return;
    }
    int held_rank = held->observed ? source_rank(held->source) : 0;
    int rank = source_rank(measure->source);
    if (rank > held_rank || (rank == held_rank && measure_sd(measure) < measure_sd(held))) {
        *held = *measure;
        held->observed = true;
    }
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

/* Tempo from one view's own clock: each time is read from a frame, so it is uniform over half a frame either way. */
static void measure_tempo(struct measure_work *work)
{
    static const enum checkpoint at[3] = {CHECKPOINT_ADDRESS, CHECKPOINT_TOP, CHECKPOINT_IMPACT};

    for (int i = 0; i < work->view_count; i++) {
        struct sigma_input inputs[3];
        struct sigma_result result;
        int n = 0;
        for (int k = 0; k < 3; k++) {
            const struct frame *frame = work->views[i].frames[at[k]];
            if (frame != NULL && frame->time_s.given) {
                double sd = 1.0 / (work->views[i].fps * sqrt(12.0));
                inputs[n++] = (struct sigma_input){frame->time_s.value, sd, false};
            }
        }
        if (n == 3 && sigma_transform(inputs, n, measure_tempo_formula, NULL, false, &result)) {
            struct measure measure = {.value = result.value,
                                      .sd_random = result.sd_random,
                                      .sd_systematic = result.sd_systematic,
                                      .source = MEASURE_SOURCE_TIMES};
            measure_offer(work, MEASURE_TEMPO, &measure);
        }
    }
}

static void measure_given(struct measure_work *work)
{
    const struct swing *swing = work->swing;

    for (int i = 0; i < swing->measured_count && i < SWING_MEASURED_MAX; i++) {
        const struct measured_value *given = &swing->measured[i];
        struct measure measure = {
            .value = given->value, .sd_systematic = fabs(given->sd), .source = MEASURE_SOURCE_MEASURED};
        if (given->item >= 0 && given->item < MEASURE_COUNT) {
            measure_offer(work, (enum measure_item)given->item, &measure);
        }
    }
}

/* A left-hander's pictures were mirrored on reading: what the coach must do is on the other side. */
static void findings_unmirror(struct camera_findings *findings, int from)
{
    for (int i = from; i < findings->count; i++) {
        struct camera_finding *f = &findings->items[i];
        bool sideways = f->issue == CAMERA_YAW || f->issue == CAMERA_OFF_LINE || f->issue == CAMERA_ROLL ||
                        f->issue == CAMERA_ROLL_SLIGHT;
        if (sideways) {
            f->value = -f->value;
            f->move_right_m = -f->move_right_m;
            f->turn_right_deg = -f->turn_right_deg;
            f->roll_clockwise_deg = -f->roll_clockwise_deg;
        }
    }
}

static void work_init(struct measure_work *work, const struct swing *swing, struct measure_set *out,
                      struct camera_findings *findings)
{
    work->swing = swing;
    work->out = out;
    work->findings = findings;
    work->length = (struct maybe){false, 0.0};
    if (swing->club_length_m.given && swing->club_length_m.value > 0.4) {
        work->length = (struct maybe){true, swing->club_length_m.value - SHAFT_BUTT_TO_GRIP_M};
    }
    work->slope = shaft_slope_default(swing->club);
    work->slope_sd = SHAFT_SLOPE_DEFAULT_SD_DEG;
    work->view_count = 0;
    for (int i = 0; i < swing->view_count && i < SWING_VIEWS_MAX; i++) {
        struct measure_view *view = &work->views[work->view_count];
        const struct swing_view *from = &swing->views[i];
        view->view = from;
        view->index = i;
        view->fps = from->fps.given && from->fps.value > 1.0 ? from->fps.value : SHAFT_FPS_DEFAULT;
        for (int c = 0; c < CHECKPOINT_COUNT; c++) {
            view->frames[c] = NULL;
        }
        for (int f = from->frame_count - 1; f >= 0; f--) {
            if ((unsigned)from->frames[f].checkpoint < CHECKPOINT_COUNT) {
                view->frames[from->frames[f].checkpoint] = &from->frames[f];
            }
        }
        if (camera_pose(from, i, &view->camera, findings)) {
            work->view_count++;
        }
    }
}

void measure_swing(const struct swing *swing, struct measure_set *out, struct camera_findings *findings)
{
    struct measure_work work;
    int from = findings->count;

    for (int i = 0; i < MEASURE_COUNT; i++) {
        out->items[i] = (struct measure){.observed = false};
    }
    work_init(&work, swing, out, findings);
    measure_given(&work);
    measure_motion(&work);
    measure_cameras(&work); /* leaves no view when the player is of the other hand */
    measure_weights(&work);
    measure_tempo(&work);
    measure_shafts(&work);
    measure_bodies(&work);
    measure_joined(&work);
    measure_orders(&work);
    if (swing->hand == HAND_LEFT) {
        findings_unmirror(findings, from);
    }
}
