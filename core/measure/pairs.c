/* Two pictures of one checkpoint joined into places, their errors, and the arms' measures from them. */
#include "core/measure/pairs.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

#define PAIR_STEPS 3 /* each view's depth depends on the other's sideways place: a contraction */

/* Inputs: yaw and depth of each view, then u, v of every mark down the line and face on. Pitch and roll tilt both
 * pictures alike. */
enum { PAIR_LINE_YAW, PAIR_FACE_YAW, PAIR_LINE_DEPTH, PAIR_FACE_DEPTH, PAIR_MARKS };

#define PAIR_COMMON (PAIR_MARKS + 4) /* these move every place */

static void rig_init(struct pair_rig *rig, double line_depth, double face_depth, const struct pair *address)
{
    rig->line_depth = line_depth;
    rig->face_depth = face_depth;
    rig->x0 = address->face.z * face_depth;
    rig->z0 = address->line.z * line_depth;
    rig->line_y0 = address->line.y * line_depth;
    rig->face_y0 = address->face.y * face_depth;
}

/* Place of a paired point from the hands at address; also its depth in the view down the line. */
static struct vec3 rig_place(const struct pair_rig *rig, const struct pair *pair, double *line_depth)
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

static bool marks_of(const struct measure_view *view, enum checkpoint checkpoint, enum point a, enum point b,
                     struct swing_mark *out, struct mark_shares *from)
{
    const struct frame *frame = view->frames[checkpoint];
    if (frame == NULL || !frame->points[a].seen || !frame->points[b].seen) {
        return false;
    }
    const struct swing_mark *ma = &frame->points[a];
    const struct swing_mark *mb = &frame->points[b];
    double sa = ma->sd > 0.0 ? ma->sd : SWING_MARK_SD_PX;
    double sb = mb->sd > 0.0 ? mb->sd : SWING_MARK_SD_PX;
    *out = (struct swing_mark){
        .seen = true, .u = 0.5 * (ma->u + mb->u), .v = 0.5 * (ma->v + mb->v), .sd = a == b ? sa : 0.5 * hypot(sa, sb)};
    *from = mark_shares_of(view->index, frame, a, b, out->sd);
    return true;
}

bool pair_add(struct pair_probe *probe, enum checkpoint checkpoint, enum point a, enum point b)
{
    struct swing_mark *marks = probe->marks[probe->count];
    struct mark_shares *from = probe->from[probe->count];
    if (probe->count >= PAIR_PLACES_MAX || !marks_of(probe->line, checkpoint, a, b, &marks[0], &from[0]) ||
        !marks_of(probe->face, checkpoint, a, b, &marks[1], &from[1])) {
        return false;
    }
    probe->count++;
    return true;
}

bool pair_start(struct pair_probe *probe, const struct measure_view *line, const struct measure_view *face,
                pair_formula formula)
{
    memset(probe, 0, offsetof(struct pair_probe, marks));
    probe->line = line;
    probe->face = face;
    probe->formula = formula;
    probe->held = false;
    return line->camera.has_depth && face->camera.has_depth &&
           pair_add(probe, CHECKPOINT_ADDRESS, POINT_GRIP, POINT_GRIP);
}

static bool pair_rays(const struct pair_probe *probe, const double *uv, struct pair *pair)
{
    return camera_ray(&probe->line->camera, &probe->line_axes, uv[0], uv[1], &pair->line) &&
           camera_ray(&probe->face->camera, &probe->face_axes, uv[2], uv[3], &pair->face);
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

static bool pair_common(struct pair_probe *probe, const double *x)
{
    struct pair pair;
    double depth;

    const struct camera *line = &probe->line->camera;
    const struct camera *face = &probe->face->camera;
    probe->line_axes = *turns_find(probe->line->turns, x[PAIR_LINE_YAW], line->pitch, line->roll);
    probe->face_axes = *turns_find(probe->face->turns, x[PAIR_FACE_YAW], face->pitch, face->roll);
    if (!pair_rays(probe, x + PAIR_MARKS, &pair)) {
        return false;
    }
    rig_init(&probe->rig, x[PAIR_LINE_DEPTH], x[PAIR_FACE_DEPTH], &pair);
    probe->places[0] = rig_place(&probe->rig, &pair, &depth);
    memcpy(probe->common, x, sizeof probe->common);
    return true;
}

static bool pair_evaluate(const double *x, void *context, double *out)
{
    struct pair_probe *probe = context;
    bool turned = !probe->held || probe->common[PAIR_LINE_YAW] != x[PAIR_LINE_YAW] ||
                  probe->common[PAIR_FACE_YAW] != x[PAIR_FACE_YAW];
    bool all = turned || !same(probe->common, x, PAIR_COMMON);
    const double *uv = x + PAIR_COMMON;
    double *last = probe->last;

    probe->held = false;
    if (all && !pair_common(probe, x)) {
        return false;
    }
    for (int i = 1; i < probe->count; i++, uv += 4, last += 4) {
        double depth;
        bool moved = turned || !same(last, uv, 4);
        if (!all && !moved) {
            continue;
        }
        if (moved && !pair_rays(probe, uv, &probe->rays[i])) {
            return false;
        }
        probe->places[i] = rig_place(&probe->rig, &probe->rays[i], &depth);
        memcpy(last, uv, 4 * sizeof *uv);
    }
    probe->held = true;
    return probe->formula(probe, probe->places, out);
}

bool pair_run(struct pair_probe *probe, struct sigma_result *out)
{
    struct sigma_input inputs[PAIR_MARKS + 4 * PAIR_PLACES_MAX];
    const struct camera *line = &probe->line->camera;
    const struct camera *face = &probe->face->camera;
    int n = PAIR_MARKS;

    inputs[PAIR_LINE_YAW] = (struct sigma_input){line->yaw, line->yaw_sd, true};
    inputs[PAIR_FACE_YAW] = (struct sigma_input){face->yaw, face->yaw_sd, true};
    inputs[PAIR_LINE_DEPTH] = (struct sigma_input){line->depth, line->depth_sd, true};
    inputs[PAIR_FACE_DEPTH] = (struct sigma_input){face->depth, face->depth_sd, true};
    for (int i = 0; i < probe->count; i++) {
        for (int k = 0; k < 2; k++) {
            const struct swing_mark *mark = &probe->marks[i][k];
            inputs[n++] = (struct sigma_input){mark->u, mark->sd, false};
            inputs[n++] = (struct sigma_input){mark->v, mark->sd, false};
        }
    }
    return sigma_transform(inputs, n, pair_evaluate, probe, false, out);
}

void pair_shares(const struct pair_probe *probe, const struct sigma_result *result, struct shares *out)
{
    const double *part = result->parts;
    const int views[2] = {probe->line->index, probe->face->index};
    for (int k = 0; k < 2; k++) {
        shares_add(out, SHARED_CAMERA(views[k]), part[PAIR_LINE_YAW + k]);
        shares_add(out, SHARED_CAMERA(views[k]) + 3, part[PAIR_LINE_DEPTH + k]);
    }
    part += PAIR_MARKS;
    for (int i = 0; i < probe->count; i++) {
        for (int k = 0; k < 2; k++, part += 2) {
            mark_shares_add(out, &probe->from[i][k], part[0], part[1]);
        }
    }
}

bool measure_paired_depth(const struct measure_view *line, const struct measure_view *face, enum checkpoint checkpoint,
                          double *depth)
{
    struct pair_probe probe;
    struct pair pair;
    double x[PAIR_COMMON] = {line->camera.yaw, face->camera.yaw, line->camera.depth, face->camera.depth};

    if (!pair_start(&probe, line, face, NULL) || !pair_add(&probe, checkpoint, POINT_GRIP, POINT_GRIP)) {
        return false;
    }
    for (int k = 0; k < 2; k++) {
        x[PAIR_MARKS + 2 * k] = probe.marks[0][k].u;
        x[PAIR_MARKS + 2 * k + 1] = probe.marks[0][k].v;
    }
    const double now[4] = {probe.marks[1][0].u, probe.marks[1][0].v, probe.marks[1][1].u, probe.marks[1][1].v};
    if (!pair_common(&probe, x) || !pair_rays(&probe, now, &pair)) {
        return false;
    }
    (void)rig_place(&probe.rig, &pair, depth);
    return *depth > 0.5 && isfinite(*depth);
}
