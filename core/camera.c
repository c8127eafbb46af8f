/* One camera: its focal length and rays, its pose from target, sticks and level, the depth of the player, and the
 * check of where it stands. */
#include "core/camera.h"

#include <math.h>

#include "core/sigma.h"

#define STICK_YAW_SD_MAX 5.0  /* deg; a vanishing point looser than this is no better than one stick */
#define STICK_YAW_MAX 45.0    /* deg; sticks that say more do not lie along the target line */
#define STICK_PITCH_MAX 30.0  /* deg */
#define STICK_PITCH_APART 3.0 /* deg; sticks against the tablet's own level */

NAMES(camera_issue, enum camera_issue, CAMERA_ISSUE_NAMES);

void camera_report(struct camera_findings *findings, const struct camera_finding *finding)
{
    if (findings->count < CAMERA_FINDINGS_MAX) {
        findings->items[findings->count++] = *finding;
    }
}

double camera_focal(const struct swing_view *view)
{
    if (!(view->width_px >= 1.0) || !(view->height_px >= 1.0) || !(view->hfov_deg > 1.0) || !(view->hfov_deg < 179.0)) {
        return 0.0;
    }
    return 0.5 * view->width_px / tan(0.5 * view->hfov_deg * VEC_RAD);
}

void camera_turn(double yaw_deg, double pitch_deg, double roll_deg, struct camera_axes *out)
{
    double cy = cos(yaw_deg * VEC_RAD);
    double sy = sin(yaw_deg * VEC_RAD);
    double cp = cos(pitch_deg * VEC_RAD);
    double sp = sin(pitch_deg * VEC_RAD);
    double cr = cos(roll_deg * VEC_RAD);
    double sr = sin(roll_deg * VEC_RAD);
    struct vec3 right = vec_make(-sy, 0.0, cy);
    struct vec3 down = vec_make(-sp * cy, -cp, -sp * sy);

    out->ahead = vec_make(cp * cy, -sp, cp * sy);
    out->right = vec_add(vec_scale(right, cr), vec_scale(down, sr));
    out->down = vec_add(vec_scale(right, -sr), vec_scale(down, cr));
}

/* Inputs of every pose formula: pitch, roll, then u and v of each mark. */
struct pose_work {
    const struct camera *camera;
    int stick_count;
};

/* Yaw of one stick on the ground from the direction it has there for a camera taken as unturned. */
static bool stick_yaw(const struct pose_work *work, const struct camera_axes *axes, const double *uv, double *yaw)
{
    struct vec3 a;
    struct vec3 b;

    if (!camera_ray(work->camera, axes, uv[0], uv[1], &a) || !camera_ray(work->camera, axes, uv[2], uv[3], &b)) {
        return false;
    }
    if (!(a.y < -1e-3) || !(b.y < -1e-3)) {
        return false; /* an end at or above the horizon is not on the ground */
    }
    double ahead = 1.0 / -b.y - 1.0 / -a.y;
    double right = b.z / -b.y - a.z / -a.y;
    if (!(ahead * ahead + right * right > 1e-12)) {
        return false;
    }
    if (work->camera->kind == VIEW_DOWN_THE_LINE) {
        *yaw = ahead < 0.0 ? -atan2(-right, -ahead) : -atan2(right, ahead);
    } else {
        *yaw = right < 0.0 ? atan2(-ahead, -right) : atan2(ahead, right);
    }
    *yaw *= VEC_DEG;
    return true;
}

/* Mean yaw of the sticks, for a known pitch and roll. */
static bool sticks_yaw(const double *x, void *context, double *out)
{
    const struct pose_work *work = context;
    struct camera_axes axes;
    double sum = 0.0;

    camera_turn(0.0, x[0], x[1], &axes);
    for (int i = 0; i < work->stick_count; i++) {
        double yaw;
        if (!stick_yaw(work, &axes, x + 2 + (size_t)4 * (size_t)i, &yaw)) {
            return false;
        }
        sum += yaw;
    }
    *out = sum / work->stick_count;
    return true;
}

static bool target_yaw(const double *x, void *context, double *out)
{
    const struct pose_work *work = context;
    struct camera_axes axes;
    struct vec3 ray;

    camera_turn(0.0, x[0], x[1], &axes);
    if (!camera_ray(work->camera, &axes, x[2], x[3], &ray)) {
        return false;
    }
    *out = -atan(ray.z) * VEC_DEG;
    return true;
}

/* Where two sticks meet, roll undone, in units of the focal length; x[1] = roll. */
static bool vanishing_point(const double *x, const struct pose_work *work, double *vx, double *vy)
{
    double c = cos(x[1] * VEC_RAD);
    double s = sin(x[1] * VEC_RAD);
    struct vec3 p[4];

    for (int i = 0; i < 4; i++) {
        double a = (x[2 + 2 * i] - work->camera->centre_u) / work->camera->focal_px;
        double b = (x[3 + 2 * i] - work->camera->centre_v) / work->camera->focal_px;
        p[i] = vec_make(c * a - s * b, s * a + c * b, 1.0);
    }
    struct vec3 v = vec_cross(vec_cross(p[0], p[1]), vec_cross(p[2], p[3]));
    if (!(fabs(v.z) > 1e-9 * (fabs(v.x) + fabs(v.y))) || !(fabs(v.z) > 1e-12)) {
        return false;
    }
    *vx = v.x / v.z;
    *vy = v.y / v.z;
    return true;
}

static bool sticks_pitch(const double *x, void *context, double *out)
{
    double vx;
    double vy;

    if (!vanishing_point(x, context, &vx, &vy)) {
        return false;
    }
    *out = atan(-vy) * VEC_DEG;
    return true;
}

static bool sticks_vp_yaw(const double *x, void *context, double *out)
{
    double vx;
    double vy;

    if (!vanishing_point(x, context, &vx, &vy)) {
        return false;
    }
    *out = -atan(vx * cos(atan(vy))) * VEC_DEG;
    return true;
}

static int stick_inputs(const struct swing_view *view, const struct camera *camera, struct sigma_input *inputs)
{
    int n = 0;

    inputs[n++] = (struct sigma_input){camera->pitch, camera->pitch_sd, true};
    inputs[n++] = (struct sigma_input){camera->roll, camera->roll_sd, true};
    for (int i = 0; i < view->stick_count && i < SWING_STICKS_MAX; i++) {
        for (int e = 0; e < 2; e++) {
            inputs[n++] = (struct sigma_input){view->sticks[i][e][0], swing_line_error(view), true};
            inputs[n++] = (struct sigma_input){view->sticks[i][e][1], swing_line_error(view), true};
        }
    }
    return n;
}

/* Do two sticks, each taken alone, say the same yaw within laying and marking? */
static bool sticks_agree(const struct swing_view *view, const struct camera *camera)
{
    struct sigma_input inputs[2 + 4 * SWING_STICKS_MAX];
    struct pose_work work = {camera, 1};
    struct sigma_result yaw[2];

    (void)stick_inputs(view, camera, inputs);
    if (!sigma_transform(inputs, 6, sticks_yaw, &work, false, &yaw[0])) {
        return false;
    }
    for (int i = 2; i < 6; i++) {
        inputs[i] = inputs[i + 4];
    }
    if (!sigma_transform(inputs, 6, sticks_yaw, &work, false, &yaw[1])) {
        return false;
    }
    double sd = hypot(hypot(yaw[0].sd_systematic, yaw[1].sd_systematic), CAMERA_LAYING_SD_DEG * sqrt(2.0));
    return fabs(yaw[0].value - yaw[1].value) <= fmax(3.0 * sd, 3.0);
}

/* Two sticks and no level: yaw and pitch from where they meet. */
static bool pose_from_vanishing_point(const struct swing_view *view, struct camera *camera)
{
    struct sigma_input inputs[2 + 4 * SWING_STICKS_MAX];
    struct pose_work work = {camera, 2};
    struct sigma_result yaw;
    struct sigma_result pitch;
    int n = stick_inputs(view, camera, inputs);

    inputs[0].sd = 0.0;
    if (!sigma_transform(inputs, n, sticks_vp_yaw, &work, false, &yaw) ||
        !sigma_transform(inputs, n, sticks_pitch, &work, false, &pitch)) {
        return false;
    }
    if (yaw.sd_systematic > STICK_YAW_SD_MAX || fabs(yaw.value) > STICK_YAW_MAX ||
        fabs(pitch.value) > STICK_PITCH_MAX) {
        return false;
    }
    camera->yaw = yaw.value;
    camera->yaw_sd = hypot(yaw.sd_systematic, CAMERA_LAYING_SD_DEG);
    if (pitch.sd_systematic < camera->pitch_sd) {
        camera->pitch = pitch.value;
        camera->pitch_sd = pitch.sd_systematic;
    }
    camera->reference = CAMERA_REF_TWO_STICKS;
    return true;
}

/* Yaw of one or two sticks, pitch and roll being known or taken as level. */
static bool pose_from_level_sticks(const struct swing_view *view, int sticks, struct camera *camera)
{
    struct sigma_input inputs[2 + 4 * SWING_STICKS_MAX];
    struct pose_work work = {camera, sticks};
    struct sigma_result yaw;

    (void)stick_inputs(view, camera, inputs);
    if (!sigma_transform(inputs, 2 + 4 * sticks, sticks_yaw, &work, false, &yaw) || fabs(yaw.value) > STICK_YAW_MAX) {
        return false;
    }
    camera->yaw = yaw.value;
    camera->yaw_sd = hypot(yaw.sd_systematic, CAMERA_LAYING_SD_DEG);
    camera->reference = sticks == 2 ? CAMERA_REF_TWO_STICKS : CAMERA_REF_ONE_STICK;
    return true;
}

/* True when the sticks gave the yaw. */
static bool pose_from_sticks(const struct swing_view *view, int index, struct camera *camera,
                             struct camera_findings *findings)
{
    struct camera_finding crossed = {.view = index, .kind = view->kind, .issue = CAMERA_STICKS_CROSS};
    bool done = false;

    if (view->stick_count >= 2) {
        if (!view->pitch_deg.given && view->kind == VIEW_DOWN_THE_LINE) {
            done = pose_from_vanishing_point(view, camera);
        }
        if (!done && sticks_agree(view, camera)) {
            done = pose_from_level_sticks(view, 2, camera);
        }
    } else if (view->stick_count == 1) {
        done = pose_from_level_sticks(view, 1, camera);
    }
    if (!done && view->stick_count > 0) {
        camera_report(findings, &crossed);
    }
    return done;
}

/* Pitch at which a marked point lies as far below the level line of sight as x[3] (height) is over x[4] (distance, 0 =
 * far away); x: roll, u, v, height, distance. */
static bool pitch_of_drop(const double *x, void *context, double *out)
{
    const struct pose_work *work = context;
    const double drop = x[4] > 0.0 ? atan(x[3] / x[4]) : 0.0;

    *out = 0.0;
    for (int i = 0; i < 4; i++) {
        struct camera_axes axes;
        struct vec3 ray;
        camera_turn(0.0, *out, x[0], &axes);
        if (!camera_ray(work->camera, &axes, x[1], x[2], &ray)) {
            return false;
        }
        *out += (atan(ray.y) + drop) * VEC_DEG;
    }
    return true;
}

/* Takes one more look at the pitch into account, by its error; own = what the inputs do not bring. */
static void pitch_take(struct camera *camera, const struct sigma_input inputs[5], double own)
{
    struct pose_work work = {camera, 0};
    struct sigma_result pitch;

    if (!sigma_transform(inputs, 5, pitch_of_drop, &work, false, &pitch) || fabs(pitch.value) > STICK_PITCH_MAX) {
        return;
    }
    double was = 1.0 / (camera->pitch_sd * camera->pitch_sd);
    double is = 1.0 / (pitch.sd_systematic * pitch.sd_systematic + own * own);
    camera->pitch = (camera->pitch * was + pitch.value * is) / (was + is);
    camera->pitch_sd = 1.0 / sqrt(was + is);
}

/* A tablet's tilt that neither its level nor sticks tell: a distant flag stands near the horizon, and the ball lies as
 * far below it as the lens' height and distance say. */
static void pitch_from_flag(const struct swing_view *view, struct camera *camera)
{
    const struct frame *address = swing_frame(view, CHECKPOINT_ADDRESS);
    const double line = swing_line_error(view);
    struct sigma_input inputs[5] = {{camera->roll, camera->roll_sd, true},
                                    {view->target[0], line, true},
                                    {view->target[1], line, true},
                                    {0.0, 0.0, true},
                                    {0.0, 0.0, true}};

    pitch_take(camera, inputs, CAMERA_HORIZON_SD_DEG);
    if (address == NULL || !address->points[POINT_BALL].seen || !view->height_m.given || !view->distance_m.given ||
        !(view->distance_m.value > 0.5)) {
        return;
    }
    const struct swing_mark *ball = &address->points[POINT_BALL];
    const double sd = ball->sd > 0.0 ? ball->sd : SWING_MARK_SD_PX;
    inputs[1] = (struct sigma_input){ball->u, sd, true};
    inputs[2] = (struct sigma_input){ball->v, sd, true};
    inputs[3] = (struct sigma_input){view->height_m.value - CAMERA_BALL_M, CAMERA_HEIGHT_SD_M, true};
    inputs[4] = (struct sigma_input){view->distance_m.value, CAMERA_DISTANCE_SD_M, true};
    pitch_take(camera, inputs, 0.0);
}

static void pose_from_target(const struct swing_view *view, struct camera *camera)
{
    struct sigma_input inputs[4] = {
        {camera->pitch, camera->pitch_sd, true},
        {camera->roll, camera->roll_sd, true},
        {view->target[0], swing_line_error(view), true},
        {view->target[1], swing_line_error(view), true},
    };
    struct pose_work work = {camera, 0};
    struct sigma_result yaw;

    if (sigma_transform(inputs, 4, target_yaw, &work, false, &yaw)) {
        camera->yaw = yaw.value;
        camera->yaw_sd = hypot(yaw.sd_systematic, CAMERA_TARGET_SD_DEG);
        camera->reference = CAMERA_REF_TARGET;
    }
}

static void report_pose(int index, const struct camera *camera, struct camera_findings *findings)
{
    struct camera_finding finding = {.view = index, .kind = camera->kind};
    double roll = fabs(camera->roll);

    /* Face on no plan angle is read, so a missing target line is nothing to mend. */
    bool plan = camera->kind == VIEW_DOWN_THE_LINE;
    if (plan && camera->reference == CAMERA_REF_NONE) {
        finding.issue = CAMERA_NO_REFERENCE;
        camera_report(findings, &finding);
    } else if (plan && camera->reference == CAMERA_REF_ONE_STICK) {
        finding.issue = CAMERA_ONE_STICK;
        camera_report(findings, &finding);
    }
    if (fabs(camera->yaw) > CAMERA_YAW_LIMIT_DEG) {
        finding.issue = CAMERA_YAW;
        finding.fault = true;
        finding.value = camera->yaw;
        finding.turn_right_deg = -camera->yaw;
        camera_report(findings, &finding);
        finding.turn_right_deg = 0.0;
    }
    if (roll > CAMERA_ROLL_SLIGHT_DEG) {
        finding.fault = roll > CAMERA_ROLL_LIMIT_DEG;
        finding.issue = finding.fault ? CAMERA_ROLL : CAMERA_ROLL_SLIGHT;
        finding.value = camera->roll;
        finding.roll_clockwise_deg = -camera->roll;
        camera_report(findings, &finding);
    }
}

bool camera_pose(const struct swing_view *view, int index, struct camera *out, struct camera_findings *findings)
{
    *out = (struct camera){.kind = view->kind, .focal_px = camera_focal(view)};
    if (!(out->focal_px > 0.0) || !isfinite(out->focal_px)) {
        return false;
    }
    out->centre_u = 0.5 * view->width_px;
    out->centre_v = 0.5 * view->height_px;
    out->yaw_sd = CAMERA_UNKNOWN_SD_DEG;
    out->pitch = view->pitch_deg.given ? view->pitch_deg.value : 0.0;
    out->pitch_sd = view->pitch_deg.given ? CAMERA_LEVEL_SD_DEG : CAMERA_PITCH_SD_DEG;
    out->roll = view->roll_deg.given ? view->roll_deg.value : 0.0;
    out->roll_sd = view->roll_deg.given ? CAMERA_LEVEL_SD_DEG : CAMERA_ROLL_SD_DEG;
    (void)pose_from_sticks(view, index, out, findings);
    if (view->has_target && view->kind == VIEW_DOWN_THE_LINE) {
        if (!view->pitch_deg.given && view->stick_count == 0) {
            pitch_from_flag(view, out);
        }
        pose_from_target(view, out); /* after the sticks, which may have given a better pitch */
    }
    report_pose(index, out, findings);
    return true;
}

/* Depth at which a club of length L and slope a shows as it does at address; false when it does not fit. */
static bool club_depth(const struct camera *camera, const struct frame *frame, double length, double slope_deg,
                       double *depth)
{
    const struct swing_mark *grip = &frame->points[POINT_GRIP];
    const struct swing_mark *head = &frame->points[POINT_CLUBHEAD];
    struct camera_axes axes;
    struct vec3 g;
    struct vec3 h;

    camera_turn(camera->yaw, camera->pitch, camera->roll, &axes);
    if (!grip->seen || !head->seen || !camera_ray(camera, &axes, grip->u, grip->v, &g) ||
        !camera_ray(camera, &axes, head->u, head->v, &h)) {
        return false;
    }
    bool face_on = camera->kind == VIEW_FACE_ON;
    double across = face_on ? length * sin(slope_deg * VEC_RAD) : length;
    double nearer = face_on ? length * cos(slope_deg * VEC_RAD) : 0.0;
    /* |(g - h) d + h nearer| = across, over the two directions of the picture */
    double dy = g.y - h.y;
    double dz = g.z - h.z;
    double a = dy * dy + dz * dz;
    double b = nearer * (dy * h.y + dz * h.z);
    double c = nearer * nearer * (h.y * h.y + h.z * h.z) - across * across;
    double disc = b * b - a * c;
    if (!(a > 1e-8) || !(disc >= 0.0)) {
        return false;
    }
    *depth = (-b + sqrt(disc)) / a;
    return *depth > 0.5 && *depth < 100.0;
}

void camera_find_depth(const struct swing_view *view, struct maybe length_m, double slope_deg, double share_sd,
                       int index, struct camera *camera, struct camera_findings *findings)
{
    const struct frame *frame = swing_frame(view, CHECKPOINT_ADDRESS);
    double club = 0.0;
    double weight = 0.0;
    double sum = 0.0;
    bool has_club = frame != NULL && length_m.given && club_depth(camera, frame, length_m.value, slope_deg, &club) &&
                    share_sd > 0.0;
    bool has_distance = view->distance_m.given && view->distance_m.value > 0.5;

    if (has_club) {
        weight += 1.0 / (club * club * share_sd * share_sd);
        sum += club / (club * club * share_sd * share_sd);
    }
    if (has_distance) {
        double w = 1.0 / (CAMERA_DISTANCE_SD_M * CAMERA_DISTANCE_SD_M);
        weight += w;
        sum += w * view->distance_m.value;
    }
    if (has_club && has_distance &&
        fabs(club - view->distance_m.value) > 2.0 * hypot(club * share_sd, CAMERA_DISTANCE_SD_M)) {
        struct camera_finding finding = {
            .view = index, .kind = view->kind, .issue = CAMERA_DISTANCE, .value = club - view->distance_m.value};
        camera_report(findings, &finding);
    }
    camera->has_depth = weight > 0.0 && isfinite(sum);
    if (camera->has_depth) {
        camera->depth = sum / weight;
        camera->depth_sd = 1.0 / sqrt(weight);
    }
}

/* Height above the lens and place to its right of the mean of the points that are seen; false when none is. */
static bool seen_at(const struct frame *frame, const struct camera *camera, const enum point *points, int count,
                    double *up, double *right)
{
    struct camera_axes axes;
    int n = 0;

    *up = 0.0;
    *right = 0.0;
    camera_turn(camera->yaw, camera->pitch, camera->roll, &axes);
    for (int i = 0; i < count; i++) {
        const struct swing_mark *mark = &frame->points[points[i]];
        struct vec3 ray;
        if (mark->seen && camera_ray(camera, &axes, mark->u, mark->v, &ray)) {
            *up += ray.y * camera->depth;
            *right += ray.z * camera->depth;
            n++;
        }
    }
    if (n == 0) {
        return false;
    }
    *up /= n;
    *right /= n;
    return isfinite(*up) && isfinite(*right);
}

void camera_check(const struct swing_view *view, int index, const struct camera *camera,
                  struct camera_findings *findings)
{
    static const enum point head[] = {POINT_HEAD};
    static const enum point knees[] = {POINT_LEAD_KNEE, POINT_TRAIL_KNEE};
    static const enum point hands[] = {POINT_GRIP};
    const struct frame *frame = swing_frame(view, CHECKPOINT_ADDRESS);
    struct camera_finding finding = {.view = index, .kind = view->kind};
    double up;
    double right;
    double hands_up;

    if (frame == NULL || !camera->has_depth) {
        return;
    }
    /* A pitch that is only assumed moves the horizon: say nothing that it could explain. */
    double doubt = camera->depth * tan(camera->pitch_sd * VEC_RAD);
    bool has_hands = seen_at(frame, camera, hands, 1, &hands_up, &right);
    if (has_hands && view->kind == VIEW_DOWN_THE_LINE && camera->reference != CAMERA_REF_NONE &&
        fabs(right) > CAMERA_OFF_LINE_M) {
        finding.issue = CAMERA_OFF_LINE;
        finding.value = -right;
        finding.move_right_m = right;
        camera_report(findings, &finding);
        finding.move_right_m = 0.0;
    }
    if (seen_at(frame, camera, head, 1, &up, &right) && -up > doubt) {
        finding.issue = CAMERA_TOO_HIGH;
    } else if (seen_at(frame, camera, knees, 2, &up, &right) && up > doubt) {
        finding.issue = CAMERA_TOO_LOW;
    } else {
        return;
    }
    finding.fault = true;
    finding.value = fabs(up);
    finding.move_up_m = has_hands ? hands_up : up;
    camera_report(findings, &finding);
}
