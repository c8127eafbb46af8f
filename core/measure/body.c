/* Measures of the body from points: posture, shifts, elbows and hands' height; and the share of weight. */
#include <math.h>

#include "core/measure/families.h"
#include "core/weight.h"

static bool spine_formula(const struct probe *probe, const struct vec3 *r, const double *x, double *out)
{
    (void)probe;
    (void)x;
    return posture_lean(probe_plane(r[0], 1.0), probe_plane(r[1], 1.0), out);
}

static bool lean_formula(const struct probe *probe, const struct vec3 *r, const double *x, double *out)
{
    if (!spine_formula(probe, r, x, out)) {
        return false;
    }
    *out = -*out; /* + away from the target, which is to the right face on */
    return true;
}

static bool spine_change_formula(const struct probe *probe, const struct vec3 *r, const double *x, double *out)
{
    double before;
    double after;
    if (!spine_formula(probe, r, x, &before) || !spine_formula(probe, r + 2, x, &after)) {
        return false;
    }
    *out = after - before;
    return true;
}

static bool bend_formula(const struct probe *probe, const struct vec3 *r, const double *x, double *out)
{
    double sum = 0.0;
    (void)x;
    for (int i = 0; i + 2 < probe->count; i += 3) {
        double bend;
        if (!posture_bend(probe_plane(r[i], 1.0), probe_plane(r[i + 1], 1.0), probe_plane(r[i + 2], 1.0), &bend)) {
            return false;
        }
        sum += bend;
    }
    *out = sum * 3.0 / probe->count;
    return true;
}

static bool fold_formula(const struct probe *probe, const struct vec3 *r, const double *x, double *out)
{
    double trail;
    double lead;
    (void)probe;
    (void)x;
    if (!posture_bend(probe_plane(r[0], 1.0), probe_plane(r[1], 1.0), probe_plane(r[2], 1.0), &trail) ||
        !posture_bend(probe_plane(r[3], 1.0), probe_plane(r[4], 1.0), probe_plane(r[5], 1.0), &lead)) {
        return false;
    }
    *out = trail - lead;
    return true;
}

static bool shoulder_formula(const struct probe *probe, const struct vec3 *r, const double *x, double *out)
{
    (void)probe;
    (void)x;
    return posture_shoulder_plane(probe_plane(r[0], 1.0), probe_plane(r[1], 1.0), out);
}

static bool gap_formula(const struct probe *probe, const struct vec3 *r, const double *x, double *out)
{
    double d = x[PROBE_DEPTH];
    (void)probe;
    if (!posture_hands_gap(probe_plane(r[0], d), probe_plane(r[1], d), probe_plane(r[2], d), out)) {
        return false;
    }
    *out -= POSTURE_THIGH_NEARER_M;
    return true;
}

/* Sideways move of a point since address, over a width seen at address. */
static bool shift_formula(const struct probe *probe, const struct vec3 *r, const double *x, double *out)
{
    (void)probe;
    (void)x;
    double width = posture_distance(probe_plane(r[2], 1.0), probe_plane(r[3], 1.0));
    if (!(width > 1e-4)) {
        return false;
    }
    *out = (r[1].z - r[0].z) / width;
    return true;
}

static bool thrust_formula(const struct probe *probe, const struct vec3 *r, const double *x, double *out)
{
    (void)probe;
    *out = (r[1].z - r[0].z) * x[PROBE_DEPTH];
    return true;
}

/* Elbow from the shoulder-hip line over an upper arm seen elsewhere. */
static bool elbow_gap_formula(const struct probe *probe, const struct vec3 *r, const double *x, double *out)
{
    double gap;
    (void)probe;
    (void)x;
    double arm = posture_distance(probe_plane(r[3], 1.0), probe_plane(r[4], 1.0));
    if (!(arm > 1e-4) ||
        !posture_elbow_gap(probe_plane(r[0], 1.0), probe_plane(r[1], 1.0), probe_plane(r[2], 1.0), &gap)) {
        return false;
    }
    *out = gap / arm;
    return true;
}

/* Hands above the middle of the shoulders over the length of an arm seen elsewhere. */
static bool height_formula(const struct probe *probe, const struct vec3 *r, const double *x, double *out)
{
    (void)probe;
    (void)x;
    double arm = posture_distance(probe_plane(r[2], 1.0), probe_plane(r[3], 1.0)) +
                 posture_distance(probe_plane(r[3], 1.0), probe_plane(r[4], 1.0));
    if (!(arm > 1e-4)) {
        return false;
    }
    *out = (r[0].y - r[1].y) / arm;
    return true;
}

/* random, systematic: errors beside those of the marks and the camera; relative: a systematic one, by the value. */
static void offer_moving(struct measure_work *work, enum measure_item item, struct probe *probe, double random,
                         double systematic, double relative)
{
    struct sigma_result result;

    if (!probe_run(probe, &result)) {
        return;
    }
    double own = hypot(systematic, relative * result.value);
    struct measure measure = {.marks = result.random / 2,
                              .value = result.value,
                              .sd_random = hypot(result.sd_random, random),
                              .sd_systematic = hypot(result.sd_systematic, own),
                              .source = MEASURE_SOURCE_PICTURE};
    if (measure_offer(work, item, &measure)) {
        probe_shares(work, probe, &result, 1.0, &work->shares[item]);
    }
}

static void offer(struct measure_work *work, enum measure_item item, struct probe *probe, double systematic,
                  double relative)
{
    offer_moving(work, item, probe, 0.0, systematic, relative);
}

static bool add_trunk(struct probe *probe, const struct frame *frame)
{
    return probe_add_middle(probe, frame, POINT_LEAD_HIP, POINT_TRAIL_HIP) && probe_add(probe, frame, POINT_NECK);
}

/* All three points of a limb or none. */
static bool add_limb(struct probe *probe, const struct frame *frame, enum point a, enum point b, enum point c)
{
    int count = probe->count;
    if (probe_add(probe, frame, a) && probe_add(probe, frame, b) && probe_add(probe, frame, c)) {
        return true;
    }
    probe->count = count;
    return false;
}

/* The legs that are seen: both joints' middle when both are, else the one. */
static bool add_legs(struct probe *probe, const struct frame *frame, enum point lead, enum point trail)
{
    return probe_add_middle(probe, frame, lead, trail) || probe_add(probe, frame, trail) ||
           probe_add(probe, frame, lead);
}

static void hands_gap(struct measure_work *work, const struct measure_view *view)
{
    const struct frame *frame = view->frames[CHECKPOINT_ADDRESS];
    struct probe probe = probe_make(view, gap_formula);

    if (frame == NULL || !probe_metres(&probe, 0.0) || !probe_add(&probe, frame, POINT_BUTT)) {
        return;
    }
    /* Hip and knee of the same legs. */
    bool lead = frame->points[POINT_LEAD_HIP].seen && frame->points[POINT_LEAD_KNEE].seen;
    bool trail = frame->points[POINT_TRAIL_HIP].seen && frame->points[POINT_TRAIL_KNEE].seen;
    bool added = false;
    if (lead && trail) {
        added = add_legs(&probe, frame, POINT_LEAD_HIP, POINT_TRAIL_HIP) &&
                add_legs(&probe, frame, POINT_LEAD_KNEE, POINT_TRAIL_KNEE);
    } else if (lead) {
        added = probe_add(&probe, frame, POINT_LEAD_HIP) && probe_add(&probe, frame, POINT_LEAD_KNEE);
    } else if (trail) {
        added = probe_add(&probe, frame, POINT_TRAIL_HIP) && probe_add(&probe, frame, POINT_TRAIL_KNEE);
    }
    if (added) {
        double thigh = lead && trail ? POSTURE_THIGH_SD_M : hypot(POSTURE_THIGH_SD_M, POSTURE_ONE_LEG_SD_M);
        offer(work, MEASURE_HANDS_GAP_ADDRESS, &probe, thigh, 0.0);
    }
}

static void body_line(struct measure_work *work, const struct measure_view *view)
{
    const struct frame *address = view->frames[CHECKPOINT_ADDRESS];
    const struct frame *top = view->frames[CHECKPOINT_TOP];
    const struct frame *impact = view->frames[CHECKPOINT_IMPACT];

    struct probe spine = probe_make(view, spine_formula);
    if (add_trunk(&spine, address)) {
        offer(work, MEASURE_SPINE_TILT_ADDRESS, &spine, POSTURE_TRUNK_SD_DEG, 0.0);
    }
    struct probe knee = probe_make(view, bend_formula);
    bool lead = add_limb(&knee, address, POINT_LEAD_HIP, POINT_LEAD_KNEE, POINT_LEAD_ANKLE);
    bool trail = add_limb(&knee, address, POINT_TRAIL_HIP, POINT_TRAIL_KNEE, POINT_TRAIL_ANKLE);
    if (lead || trail) {
        offer(work, MEASURE_KNEE_FLEX_ADDRESS, &knee, POSTURE_JOINT_SD_DEG, 0.0);
    }
    hands_gap(work, view);
    struct probe shoulders = probe_make(view, shoulder_formula);
    if (probe_add(&shoulders, top, POINT_LEAD_SHOULDER) && probe_add(&shoulders, top, POINT_TRAIL_SHOULDER)) {
        /* Only the part toward the ball is seen: a turn away from 90 deg makes the line look steeper. */
        double turn = 1.0 / cos(POSTURE_TURN_SD_DEG * VEC_RAD) - 1.0;
        offer(work, MEASURE_SHOULDER_PLANE_TOP, &shoulders, POSTURE_TRUNK_SD_DEG, turn);
    }
    struct probe change = probe_make(view, spine_change_formula);
    if (add_trunk(&change, address) && add_trunk(&change, impact)) {
        offer(work, MEASURE_SPINE_CHANGE_IMPACT, &change, POSTURE_TRUNK_SD_DEG, 0.0);
    }
    struct probe thrust = probe_make(view, thrust_formula);
    if (probe_metres(&thrust, CAMERA_DEPTH_MOVE_SD_M) &&
        probe_add_middle(&thrust, address, POINT_LEAD_HIP, POINT_TRAIL_HIP) &&
        probe_add_middle(&thrust, impact, POINT_LEAD_HIP, POINT_TRAIL_HIP)) {
        /* The hips' own move along the line of sight shifts them by what they stand off it. */
        double off = fabs(thrust.marks[1].u - view->camera.centre_u) / view->camera.focal_px;
        offer(work, MEASURE_HIPS_TO_BALL_IMPACT, &thrust, off * CAMERA_DEPTH_MOVE_SD_M, 0.0);
    }
}

static void shift(struct measure_work *work, const struct measure_view *view, enum measure_item item)
{
    const struct frame *address = view->frames[CHECKPOINT_ADDRESS];
    const struct frame *now = view->frames[measure_info(item)->checkpoint];
    struct probe probe = probe_make(view, shift_formula);
    bool head = item == MEASURE_HEAD_SHIFT_TOP;
    bool added;

    if (head) {
        added = probe_add(&probe, address, POINT_HEAD) && probe_add(&probe, now, POINT_HEAD) &&
                probe_add(&probe, address, POINT_LEAD_SHOULDER) && probe_add(&probe, address, POINT_TRAIL_SHOULDER);
    } else {
        added = probe_add_middle(&probe, address, POINT_LEAD_HIP, POINT_TRAIL_HIP) &&
                probe_add_middle(&probe, now, POINT_LEAD_HIP, POINT_TRAIL_HIP) &&
                probe_add(&probe, address, POINT_LEAD_ANKLE) && probe_add(&probe, address, POINT_TRAIL_ANKLE);
    }
    if (added) {
        const enum checkpoint at = measure_info(item)->checkpoint;
        const double hips = at == CHECKPOINT_IMPACT ? POSTURE_HIPS_FORWARD : POSTURE_HIPS_BACK;
        const double rate = head ? POSTURE_HEAD_DRIFT : hips;
        offer_moving(work, item, &probe, rate * measure_instant_sd(view, at), 0.0, 0.0);
    }
}

/* The frame and side (0 lead, 1 trail) where an arm looks longest: the least foreshortened. `upper` takes the upper arm
 * alone and not from the frame `except`, where it may be foreshortened and would hide what is to be measured. */
static const struct frame *longest_arm(const struct measure_view *view, bool upper, const struct frame *except,
                                       int *side)
{
    const struct frame *best = NULL;
    double longest = 0.0;

    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        const struct frame *frame = view->frames[c];
        for (int s = 0; s < 2 && frame != NULL && frame != except; s++) {
            const struct swing_mark *shoulder = &frame->points[POINT_LEAD_SHOULDER + s];
            const struct swing_mark *elbow = &frame->points[POINT_LEAD_ELBOW + s];
            const struct swing_mark *wrist = &frame->points[POINT_LEAD_WRIST + s];
            if (!shoulder->seen || !elbow->seen || (!upper && !wrist->seen)) {
                continue;
            }
            double length = hypot(shoulder->u - elbow->u, shoulder->v - elbow->v);
            length += upper ? 0.0 : hypot(elbow->u - wrist->u, elbow->v - wrist->v);
            if (length > longest) {
                longest = length;
                best = frame;
                *side = s;
            }
        }
    }
    return best;
}

static void elbow_gap(struct measure_work *work, const struct measure_view *view)
{
    const struct frame *through = view->frames[CHECKPOINT_SHAFT_THROUGH];
    struct probe probe = probe_make(view, elbow_gap_formula);
    int side = 0;
    const struct frame *arm = longest_arm(view, true, through, &side);

    if (arm != NULL && probe_add(&probe, through, POINT_LEAD_SHOULDER) && probe_add(&probe, through, POINT_LEAD_HIP) &&
        probe_add(&probe, through, POINT_LEAD_ELBOW) &&
        probe_add(&probe, arm, (enum point)(POINT_LEAD_SHOULDER + side)) &&
        probe_add(&probe, arm, (enum point)(POINT_LEAD_ELBOW + side))) {
        double turned = POSTURE_GAP_OF_YAW * view->camera.yaw_sd * VEC_RAD;
        offer(work, MEASURE_LEAD_ELBOW_GAP_SHAFT_THROUGH, &probe, turned, POSTURE_ARM_SD);
    }
}

static void hands_height(struct measure_work *work, const struct measure_view *view)
{
    const struct frame *through = view->frames[CHECKPOINT_ARM_THROUGH];
    struct probe probe = probe_make(view, height_formula);
    int side = 0;
    const struct frame *arm = longest_arm(view, false, NULL, &side);

    if (arm == NULL || through == NULL ||
        (!probe_add(&probe, through, POINT_GRIP) &&
         !probe_add_middle(&probe, through, POINT_LEAD_WRIST, POINT_TRAIL_WRIST))) {
        return;
    }
    if (probe_add_middle(&probe, through, POINT_LEAD_SHOULDER, POINT_TRAIL_SHOULDER) &&
        add_limb(&probe, arm, (enum point)(POINT_LEAD_SHOULDER + side), (enum point)(POINT_LEAD_ELBOW + side),
                 (enum point)(POINT_LEAD_WRIST + side))) {
        double frame = POSTURE_HANDS_RISE / (2.0 * view->fps) / sqrt(3.0);
        offer(work, MEASURE_HANDS_HEIGHT_ARM_THROUGH, &probe, hypot(POSTURE_HEIGHT_SD, frame), POSTURE_ARM_SD);
    }
}

static void fold_match(struct measure_work *work, const struct measure_view *view)
{
    struct probe probe = probe_make(view, fold_formula);
    struct sigma_result result;

    if (!add_limb(&probe, view->frames[CHECKPOINT_ARM_BACK], POINT_TRAIL_SHOULDER, POINT_TRAIL_ELBOW,
                  POINT_TRAIL_WRIST) ||
        !add_limb(&probe, view->frames[CHECKPOINT_ARM_THROUGH], POINT_LEAD_SHOULDER, POINT_LEAD_ELBOW,
                  POINT_LEAD_WRIST) ||
        !probe_run(&probe, &result)) {
        return;
    }
    /* The error is that of the signed difference; its size is what is judged. */
    struct measure measure = {.marks = result.random / 2,
                              .value = fabs(result.value),
                              .sd_random = result.sd_random,
                              .sd_systematic = hypot(result.sd_systematic, POSTURE_JOINT_SD_DEG * sqrt(2.0)),
                              .source = MEASURE_SOURCE_PICTURE};
    if (measure_offer(work, MEASURE_FOLD_MATCH_ARM_THROUGH, &measure)) {
        probe_shares(work, &probe, &result, 1.0, &work->shares[MEASURE_FOLD_MATCH_ARM_THROUGH]);
        shares_turn(&work->shares[MEASURE_FOLD_MATCH_ARM_THROUGH], result.value);
    }
}

/* A picture can only hide a bend: an arm that reaches toward the camera looks straighter than it is. */
static void offer_bend(struct measure_work *work, enum measure_item item, struct probe *probe)
{
    struct sigma_result result;

    if (!probe_run(probe, &result)) {
        return;
    }
    double hidden = POSTURE_HIDDEN_BEND_DEG * fmax(0.0, 1.0 - result.value / POSTURE_PLAIN_BEND_DEG);
    struct measure measure = {.marks = result.random / 2,
                              .value = result.value,
                              .sd_random = result.sd_random,
                              .sd_systematic = hypot(result.sd_systematic, hypot(POSTURE_JOINT_SD_DEG, hidden)),
                              .source = MEASURE_SOURCE_PICTURE};
    if (measure_offer(work, item, &measure)) {
        probe_shares(work, probe, &result, 1.0, &work->shares[item]);
    }
}

static void body_face(struct measure_work *work, const struct measure_view *view)
{
    static const enum measure_item bends[] = {MEASURE_LEAD_ELBOW_BEND_IMPACT, MEASURE_LEAD_ELBOW_BEND_SHAFT_THROUGH};
    struct probe lean = probe_make(view, lean_formula);

    if (add_trunk(&lean, view->frames[CHECKPOINT_TOP])) {
        /* The trunk leans toward the camera: a camera turned aside sees that as a lean to the side. */
        double turned = POSTURE_LEAN_OF_YAW * view->camera.yaw_sd;
        offer(work, MEASURE_TRUNK_LEAN_TOP, &lean, hypot(POSTURE_TRUNK_SD_DEG, turned), 0.0);
    }
    shift(work, view, MEASURE_HEAD_SHIFT_TOP);
    shift(work, view, MEASURE_PELVIS_SHIFT_ARM_BACK);
    shift(work, view, MEASURE_PELVIS_SHIFT_IMPACT);
    for (size_t i = 0; i < sizeof bends / sizeof bends[0]; i++) {
        struct probe bend = probe_make(view, bend_formula);
        if (add_limb(&bend, view->frames[measure_info(bends[i])->checkpoint], POINT_LEAD_SHOULDER, POINT_LEAD_ELBOW,
                     POINT_LEAD_WRIST)) {
            offer_bend(work, bends[i], &bend);
        }
    }
    elbow_gap(work, view);
    fold_match(work, view);
}

void measure_bodies(struct measure_work *work)
{
    for (int i = 0; i < work->view_count; i++) {
        if (work->views[i].camera.kind == VIEW_DOWN_THE_LINE) {
            body_line(work, &work->views[i]);
        } else {
            body_face(work, &work->views[i]);
        }
        hands_height(work, &work->views[i]);
    }
}
