/* Measures of the shaft: direction over the ground, elevation, steepness; and, before them, what the address picture
 * says of the swing's plane and of every camera's depth. */
#include <math.h>

#include "core/measure/families.h"
#include "core/measure/pairs.h"

#define SLOPE_SEEN_MIN_DEG 20.0 /* an address shaft outside these is marked wrong */
#define SLOPE_SEEN_MAX_DEG 80.0
#define SLOPE_SHARE_SD 0.05   /* relative error of the face-on length when the slope is only assumed (cot 50 * 4 deg) */
#define STEEPNESS_SD_DEG 0.3  /* of a shaft that is seen across: what is left of perspective (simulated) */
#define STEEPNESS_LENGTH 1.07 /* of the club's length in the picture since address, for hands that came nearer ... */
#define STEEPNESS_LENGTH_SD 0.10 /* ... more or less (simulated) */
#define STEEPNESS_SIDE_SEEN 3.0  /* so many of its errors grip and clubhead are apart face on to tell the nearer one */
#define STEEPNESS_APART_DEG 2.0  /* less than that apart, marking alone makes two ways of one (simulated) */
#define STEEPNESS_UNKNOWN_DEG 25.0 /* a shaft so much along the line of sight shows no slope */
#define CLIPPED_WIDEN 2.0          /* a clipped shaft's random error is doubled and the miss added */

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
    if (item == MEASURE_SHAFT_ELEVATION_TOP) {
        double mean;
        shaft_top_missed(work->slope, result.value, measure_instant_sd(view, CHECKPOINT_TOP), &mean, &extra_random);
        extra_systematic = hypot(extra_systematic, mean);
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

/* Slope on the way down less slope at address, both as from far down the line. A shaft that is seen shorter than at
 * address points toward the lens or away from it: its nearer end is drawn out from the picture's middle, and a camera's
 * error turns it. One that is seen as long lies across. x[PROBE_DEPTH]: times the length at address. */
static bool steepness_formula(const struct probe *probe, const struct vec3 *rays, const double *x, double *out)
{
    const struct vec3 head = rays[3];
    struct vec3 seen = vec_sub(head, rays[2]);
    double length = x[PROBE_DEPTH] * vec_norm(vec_sub(rays[1], rays[0]));
    double hidden = fmax(0.0, length * length - vec_dot(seen, seen)); /* squared */
    double slant = vec_dot(seen, head) * hidden / (length * length);  /* of the clubhead's ray, as far as it matters */
    double along = (double)probe->root * sqrt(hidden * vec_dot(head, head) + slant * slant) - slant;
    double address;
    double down;
    if (!shaft_slope_across(rays[1], rays[0], &address) ||
        !shaft_slope_across(rays[2], vec_scale(head, 1.0 + along / vec_dot(head, head)), &down)) {
        return false;
    }
    *out = sigma_wrap(down - address);
    return true;
}

/* Whether the clubhead is nearer the target than the grip, so farther from a lens down the line, or not: face on it can
 * be seen. False where it can't. */
static bool side_from_front(const struct measure_view *face, enum shaft_root *out)
{
    const struct frame *frame = face == NULL ? NULL : face->frames[CHECKPOINT_ARM_DOWN];
    const struct swing_mark *grip = frame == NULL ? NULL : &frame->points[POINT_GRIP];
    const struct swing_mark *head = frame == NULL ? NULL : &frame->points[POINT_CLUBHEAD];
    if (grip == NULL || !grip->seen || !head->seen ||
        fabs(head->u - grip->u) < STEEPNESS_SIDE_SEEN * hypot(head->sd, grip->sd)) {
        return false;
    }
    *out = head->u > grip->u ? SHAFT_FARTHER : SHAFT_NEARER;
    return true;
}

/* The shaft pointing toward the lens and away from it: where the two tell clearly different slopes and the front says
 * which, that one; else their middle, and half of what is between them is error. */
static bool run_steepness(struct probe *probe, const struct measure_view *face, struct sigma_result *out)
{
    struct sigma_result ways[2];
    enum shaft_root root;

    probe->root = SHAFT_NEARER;
    if (!probe_run(probe, &ways[0])) {
        return false;
    }
    probe->root = SHAFT_FARTHER;
    if (!probe_run(probe, &ways[1])) {
        return false;
    }
    double half = 0.5 * sigma_wrap(ways[1].value - ways[0].value);
    if (fabs(half) > STEEPNESS_APART_DEG && side_from_front(face, &root)) {
        *out = ways[root == SHAFT_FARTHER];
    } else {
        *out = ways[0];
        out->value = sigma_wrap(ways[0].value + half);
        out->sd_systematic = hypot(fmax(ways[0].sd_systematic, ways[1].sd_systematic), half);
    }
    out->parts[PROBE_DEPTH] = 0.0; /* the measure's own */
    return true;
}

static void steepness(struct measure_work *work, const struct measure_view *view, const struct measure_view *face)
{
    struct probe probe = probe_make(view, steepness_formula);
    const struct frame *address = view->frames[CHECKPOINT_ADDRESS];
    const struct frame *down = view->frames[CHECKPOINT_ARM_DOWN];
    struct sigma_result result;

    probe.circular = true;
    probe.depth = STEEPNESS_LENGTH;
    probe.depth_sd = STEEPNESS_LENGTH_SD;
    if (!probe_add(&probe, address, POINT_GRIP) || !probe_add(&probe, address, POINT_CLUBHEAD) ||
        !probe_add(&probe, down, POINT_GRIP) || !probe_add(&probe, down, POINT_CLUBHEAD) ||
        !run_steepness(&probe, face, &result)) {
        return;
    }
    struct measure measure = {.marks = result.random / 2,
                              .value = result.value,
                              .sd_random = result.sd_random,
                              .sd_systematic = hypot(result.sd_systematic, STEEPNESS_SD_DEG),
                              .source = MEASURE_SOURCE_PICTURE};
    if (measure_sd(&measure) < STEEPNESS_UNKNOWN_DEG &&
        measure_offer(work, MEASURE_SHAFT_STEEPNESS_ARM_DOWN, &measure)) {
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
        steepness(work, view, face);
    }
}
