/* Measures of the shaft: direction over the ground, elevation, steepness; and, before them, what the address picture
 * says of the swing's plane and of every camera's depth. */
#include <math.h>

#include "core/measure/families.h"
#include "core/measure/pairs.h"

#define SLOPE_SEEN_MIN_DEG 20.0 /* an address shaft outside these is marked wrong */
#define SLOPE_SEEN_MAX_DEG 80.0
#define SLOPE_SHARE_SD 0.05  /* relative error of the face-on length when the slope is only assumed (cot 50 * 4 deg) */
#define STEEPNESS_SD_DEG 0.7 /* perspective of a clubhead nearer or farther than the hands (simulated) */
#define CLIPPED_WIDEN 2.0    /* a clipped shaft's random error is doubled and the miss added */

static bool address_slope(const struct probe *probe, const struct vec3 *rays, const double *x, double *out)
{
    (void)probe;
    (void)x;
    return shaft_slope_across(rays[1], rays[0], out);
}

/* The address shaft of a view down the line; false when it is not marked. */
static bool slope_seen(const struct measure_work *work, const struct measure_view *view, struct sigma_result *out,
                       struct shares *shares)
{
    const struct frame *frame = view->frames[CHECKPOINT_ADDRESS];
    struct probe probe = probe_make(view, address_slope);
    if (view->camera.kind != VIEW_DOWN_THE_LINE || !probe_add(&probe, frame, POINT_GRIP) ||
        !probe_add(&probe, frame, POINT_CLUBHEAD) || !probe_run(&probe, out)) {
        return false;
    }
    probe_shares(work, &probe, out, 1.0, shares);
    return true;
}

/* Slopes past the upright one are a player of the other hand: every side in the pictures would be read wrong. */
static bool other_hand(const struct measure_work *work, const struct measure_view *view, double slope)
{
    if (slope < 180.0 - SLOPE_SEEN_MAX_DEG || slope > 180.0 - SLOPE_SEEN_MIN_DEG) {
        return false;
    }
    struct camera_finding finding = {
        .view = view->index, .kind = VIEW_DOWN_THE_LINE, .issue = CAMERA_HAND, .fault = true, .value = slope};
    camera_report(work->findings, &finding);
    return true;
}

void measure_cameras(struct measure_work *work)
{
    bool seen = false;

    for (int i = 0; i < work->view_count && !seen; i++) {
        struct sigma_result result;
        struct shares shares = {.count = 0};
        if (!slope_seen(work, &work->views[i], &result, &shares)) {
            continue;
        }
        if (other_hand(work, &work->views[i], result.value)) {
            work->view_count = 0;
            return;
        }
        seen = result.value > SLOPE_SEEN_MIN_DEG && result.value < SLOPE_SEEN_MAX_DEG;
        if (seen) {
            work->slope = result.value;
            work->slope_sd = hypot(hypot(result.sd_random, result.sd_systematic), SHAFT_SLOPE_SD_DEG);
            work->slope_own = SHAFT_SLOPE_SD_DEG;
            work->slope_shares = shares;
        }
    }
    for (int i = 0; i < work->view_count; i++) {
        struct measure_view *view = &work->views[i];
        bool guessed = view->camera.kind == VIEW_FACE_ON && !seen;
        double share_sd = guessed ? hypot(CAMERA_LENGTH_SD, SLOPE_SHARE_SD) : CAMERA_LENGTH_SD;
        camera_find_depth(view->view, work->length, work->slope, share_sd, view->index, &view->camera, work->findings);
        camera_check(view->view, view->index, &view->camera, work->findings);
    }
}

/* Grip and clubhead rays to a direction. Notes a clip only at the central values, which come first. */
static bool shaft_of(const struct probe *probe, const struct vec3 *rays, const double *x, struct shaft *shaft)
{
    return shaft_solve(rays[0], rays[1], x[PROBE_DEPTH], probe->length, shaft_root(probe->checkpoint), shaft);
}

static bool plan_formula(const struct probe *probe, const struct vec3 *rays, const double *x, double *out)
{
    struct shaft shaft;
    if (!shaft_of(probe, rays, x, &shaft)) {
        return false;
    }
    double plan = shaft_plan_angle(shaft.direction, probe->checkpoint);
    *out = sigma_wrap(plan - shaft_on_plane(x[PROBE_SLOPE], shaft_elevation(shaft.direction)));
    return true;
}

static bool elevation_formula(const struct probe *probe, const struct vec3 *rays, const double *x, double *out)
{
    struct shaft shaft;
    if (!shaft_of(probe, rays, x, &shaft)) {
        return false;
    }
    *out = shaft_elevation(shaft.direction);
    return true;
}

/* Face on both roots are plausible at the top: their mean is taken. */
static bool elevation_face_formula(const struct probe *probe, const struct vec3 *rays, const double *x, double *out)
{
    struct shaft near;
    struct shaft far;
    if (!shaft_solve(rays[0], rays[1], x[PROBE_DEPTH], probe->length, SHAFT_NEARER, &near) ||
        !shaft_solve(rays[0], rays[1], x[PROBE_DEPTH], probe->length, SHAFT_FARTHER, &far)) {
        return false;
    }
    *out = 0.5 * (shaft_elevation(near.direction) + shaft_elevation(far.direction));
    return true;
}

/* The shaft at the central values: for its elevation, and whether it is clipped. */
static bool shaft_now(const struct probe *probe, enum shaft_root root, struct shaft *out)
{
    const struct camera *camera = probe->camera;
    struct camera_axes axes;
    struct vec3 grip;
    struct vec3 head;

    camera_turn(camera->yaw, camera->pitch, camera->roll, &axes);
    return camera_ray(camera, &axes, probe->marks[0].u, probe->marks[0].v, &grip) &&
           camera_ray(camera, &axes, probe->marks[1].u, probe->marks[1].v, &head) &&
           shaft_solve(grip, head, probe->depth, probe->length, root, out);
}

/* What the frame's own instant leaves after carrying to level: the marked frame is up to half a frame off, and over
 * that stretch the plane's slope is only known to slope_sd. */
static double frame_error(const struct measure_work *work, const struct measure_view *view, enum checkpoint checkpoint)
{
    double turn = shaft_turn_rate(checkpoint) / (2.0 * view->fps) / sqrt(3.0);
    double rise = asin(fmin(1.0, sin(fmin(turn, 90.0) * VEC_RAD) * sin(work->slope * VEC_RAD))) * VEC_DEG;

    return 0.5 * fabs(shaft_on_plane(work->slope + work->slope_sd, rise) -
                      shaft_on_plane(work->slope - work->slope_sd, rise));
}

/* Sets up a probe of grip and clubhead at a checkpoint; false when the picture can't show the shaft. */
static bool shaft_probe(const struct measure_work *work, const struct measure_view *view, enum checkpoint checkpoint,
                        struct probe *probe)
{
    const struct frame *frame = view->frames[checkpoint];
    double extra = checkpoint == CHECKPOINT_ADDRESS ? 0.0 : CAMERA_DEPTH_HANDS_SD_M;

    if (!work->length.given || !probe_add(probe, frame, POINT_GRIP) || !probe_add(probe, frame, POINT_CLUBHEAD) ||
        !probe_metres(probe, extra)) {
        return false;
    }
    probe->depth += shaft_hands_farther(view->camera.kind, checkpoint);
    probe->length = work->length.value;
    probe->checkpoint = checkpoint;
    probe->circular = true;
    probe->slope = work->slope;
    probe->slope_sd = work->slope_sd;
    return true;
}

static void offer_shaft(struct measure_work *work, const struct measure_view *view, enum measure_item item,
                        struct probe *probe, double extra_random, double extra_systematic, enum measure_source source)
{
    struct sigma_result result;
    struct shaft shaft;

    if (!shaft_now(probe, shaft_root(probe->checkpoint), &shaft) || !probe_run(probe, &result)) {
        return;
    }
    double widen = shaft.clipped ? CLIPPED_WIDEN : 1.0;
    struct measure measure = {.marks = result.random / 2,
                              .clipped = shaft.clipped,
                              .value = result.value,
                              .sd_random = hypot(widen * result.sd_random, extra_random),
                              .sd_systematic = hypot(hypot(result.sd_systematic, extra_systematic), shaft.miss_deg),
                              .source = source};
    if (measure_offer(work, item, &measure)) {
        probe_shares(work, probe, &result, widen, &work->shares[item]);
    }
    /* Once for a frame; face on at the top the shaft lies along the tangent anyway. */
    if (shaft.clipped && item != MEASURE_SHAFT_ELEVATION_TOP) {
        struct camera_finding finding = {.view = view->index,
                                         .kind = view->camera.kind,
                                         .issue = CAMERA_CLIPPED,
                                         .value = (double)probe->checkpoint};
        camera_report(work->findings, &finding);
    }
}

/* A face-on view of the same swing, for the hands' depth; NULL when there is none with a depth. */
static const struct measure_view *face_view(const struct measure_work *work)
{
    for (int i = 0; i < work->view_count; i++) {
        if (work->views[i].camera.kind == VIEW_FACE_ON && work->views[i].camera.has_depth) {
            return &work->views[i];
        }
    }
    return NULL;
}

static void line_shaft(struct measure_work *work, const struct measure_view *view, const struct measure_view *face,
                       enum measure_item item)
{
    enum checkpoint at = measure_info(item)->checkpoint;
    struct probe probe = probe_make(view, item == MEASURE_SHAFT_ELEVATION_TOP ? elevation_formula : plan_formula);
    enum measure_source source = MEASURE_SOURCE_PICTURE;
    double depth;

    if (!shaft_probe(work, view, at, &probe)) {
        return;
    }
    if (face != NULL && measure_paired_depth(view, face, at, &depth)) {
        probe.depth = depth;
        probe.depth_sd = hypot(view->camera.depth_sd, CAMERA_DEPTH_PAIR_SD_M);
        source = MEASURE_SOURCE_PICTURES;
    }
    double frame = item == MEASURE_SHAFT_ELEVATION_TOP ? 0.0 : frame_error(work, view, at);
    offer_shaft(work, view, item, &probe, frame, 0.0, source);
}

static void face_elevation(struct measure_work *work, const struct measure_view *view)
{
    struct probe probe = probe_make(view, elevation_face_formula);
    struct shaft near;
    struct shaft far;

    if (!shaft_probe(work, view, CHECKPOINT_TOP, &probe) || !shaft_now(&probe, SHAFT_NEARER, &near) ||
        !shaft_now(&probe, SHAFT_FARTHER, &far)) {
        return;
    }
    double apart = 0.5 * fabs(shaft_elevation(near.direction) - shaft_elevation(far.direction));
    offer_shaft(work, view, MEASURE_SHAFT_ELEVATION_TOP, &probe, 0.0, apart, MEASURE_SOURCE_PICTURE);
}

/* Slope at the way down less slope at address, both seen down the line. */
static bool steepness_formula(const struct probe *probe, const struct vec3 *rays, const double *x, double *out)
{
    double address;
    double down;
    (void)probe;
    (void)x;
    if (!shaft_slope_across(rays[1], rays[0], &address) || !shaft_slope_across(rays[2], rays[3], &down)) {
        return false;
    }
    *out = sigma_wrap(down - address);
    return true;
}

static void steepness(struct measure_work *work, const struct measure_view *view)
{
    struct probe probe = probe_make(view, steepness_formula);
    const struct frame *address = view->frames[CHECKPOINT_ADDRESS];
    const struct frame *down = view->frames[CHECKPOINT_ARM_DOWN];
    struct sigma_result result;

    probe.circular = true;
    if (!probe_add(&probe, address, POINT_GRIP) || !probe_add(&probe, address, POINT_CLUBHEAD) ||
        !probe_add(&probe, down, POINT_GRIP) || !probe_add(&probe, down, POINT_CLUBHEAD) ||
        !probe_run(&probe, &result)) {
        return;
    }
    struct measure measure = {.marks = result.random / 2,
                              .value = result.value,
                              .sd_random = result.sd_random,
                              .sd_systematic = hypot(result.sd_systematic, STEEPNESS_SD_DEG),
                              .source = MEASURE_SOURCE_PICTURE};
    if (measure_offer(work, MEASURE_SHAFT_STEEPNESS_ARM_DOWN, &measure)) {
        probe_shares(work, &probe, &result, 1.0, &work->shares[MEASURE_SHAFT_STEEPNESS_ARM_DOWN]);
    }
}

void measure_shafts(struct measure_work *work)
{
    static const enum measure_item items[] = {MEASURE_SHAFT_DIRECTION_SHAFT_BACK, MEASURE_SHAFT_CROSS_TOP,
                                              MEASURE_SHAFT_ELEVATION_TOP, MEASURE_SHAFT_DIRECTION_SHAFT_DOWN,
                                              MEASURE_SHAFT_DIRECTION_SHAFT_THROUGH};
    const struct measure_view *face = face_view(work);

    for (int i = 0; i < work->view_count; i++) {
        const struct measure_view *view = &work->views[i];
        if (view->camera.kind == VIEW_FACE_ON) {
            /* No plan angle: near the target line its two roots look alike, and farther off their sign is unknown. */
            face_elevation(work, view);
            continue;
        }
        for (size_t k = 0; k < sizeof items / sizeof items[0]; k++) {
            line_shaft(work, view, face, items[k]);
        }
        steepness(work, view);
    }
}
