/* Rays, pose, depth, check, and the shaft from one picture. */
#include <criterion/criterion.h>
#include <stdlib.h>

#include "core/camera.h"
#include "core/shaft.h"
#include "core/sigma.h"
#include "tests/core/posed_figure.h"

static double uniform(double low, double high)
{
    return low + (high - low) * (rand() / (double)RAND_MAX);
}

static bool has_issue(const struct camera_findings *f, enum camera_issue issue)
{
    for (int i = 0; i < f->count; i++) {
        if (f->items[i].issue == issue) {
            return true;
        }
    }
    return false;
}

static const struct camera_finding *find_issue(const struct camera_findings *f, enum camera_issue issue)
{
    for (int i = 0; i < f->count; i++) {
        if (f->items[i].issue == issue) {
            return &f->items[i];
        }
    }
    return NULL;
}

Test(camera, ray_undoes_projection_for_both_views)
{
    srand(7);
    for (int i = 0; i < 2000; i++) {
        enum view_kind kind = i % 2 ? VIEW_FACE_ON : VIEW_DOWN_THE_LINE;
        struct swing_view view = posed_view(kind);
        struct posed_camera pc = {vec_make(0, 1, 0), uniform(-15, 15), uniform(-8, 8), uniform(-4, 4), kind};
        pc.at = kind == VIEW_FACE_ON ? vec_make(0.1, 1.1, 4.0) : vec_make(-4.0, 1.1, 0.2);
        struct vec3 p = vec_make(uniform(-.6, .6), uniform(0, 2), uniform(-.6, .6));
        struct swing_mark m = posed_project(&pc, &view, p);
        struct camera cam = {.kind = kind, .focal_px = camera_focal(&view), .centre_u = 960, .centre_v = 540};
        struct camera_axes axes;
        struct vec3 ray;
        camera_turn(pc.yaw, pc.pitch, pc.roll, &axes);
        cr_assert(camera_ray(&cam, &axes, m.u, m.v, &ray));
        struct vec3 d = vec_sub(p, pc.at);
        double ahead = kind == VIEW_FACE_ON ? -d.z : d.x, right = kind == VIEW_FACE_ON ? d.x : d.z;
        cr_assert_float_eq(ray.z * ahead, right, 1e-9);
        cr_assert_float_eq(ray.y * ahead, d.y, 1e-9);
    }
}

Test(camera, two_sticks_give_yaw_and_pitch)
{
    for (double yaw = -9; yaw <= 9; yaw += 3) {
        for (double pitch = -2; pitch <= 8; pitch += 2) {
            struct swing_view view = posed_view(VIEW_DOWN_THE_LINE);
            struct posed_camera pc = {vec_make(-4, 1, 0.1), yaw, pitch, 0, VIEW_DOWN_THE_LINE};
            struct camera cam;
            struct camera_findings f = {0};
            posed_sticks(&view, &pc);
            cr_assert(camera_pose(&view, 0, &cam, &f));
            cr_assert_eq(cam.reference, CAMERA_REF_TWO_STICKS);
            cr_assert_float_eq(cam.yaw, yaw, 1e-6);
            cr_assert_float_eq(cam.pitch, pitch, 1e-6);
            cr_assert_geq(cam.yaw_sd, CAMERA_LAYING_SD_DEG);
            cr_assert_lt(cam.yaw_sd, 2.0);
        }
    }
}

Test(camera, one_stick_and_a_level_give_yaw_in_both_views)
{
    for (int kind = 0; kind < 2; kind++) {
        for (double yaw = -8; yaw <= 8; yaw += 4) {
            struct swing_view view = posed_view((enum view_kind)kind);
            struct posed_camera pc = {kind ? vec_make(0, 1, 4) : vec_make(-4, 1, 0), yaw, 3, 1, (enum view_kind)kind};
            struct camera cam;
            struct camera_findings f = {0};
            posed_sticks(&view, &pc);
            view.stick_count = 1;
            view.pitch_deg = (struct maybe){true, 3};
            view.roll_deg = (struct maybe){true, 1};
            cr_assert(camera_pose(&view, 0, &cam, &f));
            cr_assert_float_eq(cam.yaw, yaw, 1e-6, "kind %d yaw %g", kind, yaw);
            cr_assert_eq(has_issue(&f, CAMERA_ONE_STICK), kind == VIEW_DOWN_THE_LINE); /* face on it is no matter */
        }
    }
}

Test(camera, target_beats_sticks)
{
    struct swing_view view = posed_view(VIEW_DOWN_THE_LINE);
    struct posed_camera pc = {vec_make(-4, 1, 0), 4, 2, 0, VIEW_DOWN_THE_LINE};
    struct camera cam;
    struct camera_findings f = {0};
    posed_sticks(&view, &pc);
    posed_target(&view, &pc);
    view.sticks[0][1][0] += 8; /* badly laid */
    cr_assert(camera_pose(&view, 0, &cam, &f));
    cr_assert_eq(cam.reference, CAMERA_REF_TARGET);
    cr_assert_float_eq(cam.yaw, 4, 0.05);
    cr_assert_lt(cam.yaw_sd, 0.5);
}

Test(camera, without_reference_six_degrees)
{
    struct swing_view view = posed_view(VIEW_DOWN_THE_LINE);
    struct camera cam;
    struct camera_findings f = {0};
    cr_assert(camera_pose(&view, 0, &cam, &f));
    cr_assert_float_eq(cam.yaw, 0, 1e-12);
    cr_assert_float_eq(cam.yaw_sd, 6, 1e-12);
    cr_assert(has_issue(&f, CAMERA_NO_REFERENCE));
    view.hfov_deg = 0;
    cr_assert_not(camera_pose(&view, 0, &cam, &f));
}

Test(camera, yaw_roll_and_crossed_sticks_are_found)
{
    struct swing_view view = posed_view(VIEW_DOWN_THE_LINE);
    struct posed_camera pc = {vec_make(-4, 1, 0), 12, 3, 0, VIEW_DOWN_THE_LINE};
    struct camera cam;
    struct camera_findings f = {0};
    posed_sticks(&view, &pc);
    cr_assert(camera_pose(&view, 0, &cam, &f));
    const struct camera_finding *yaw = find_issue(&f, CAMERA_YAW);
    cr_assert(yaw != NULL && yaw->fault);
    cr_assert_float_eq(yaw->turn_right_deg, -12, 1e-6);

    f.count = 0;
    view.roll_deg = (struct maybe){true, 4};
    view.pitch_deg = (struct maybe){true, 3};
    view.sticks[1][1][0] = view.sticks[1][0][0] + 500; /* lies across */
    view.sticks[1][1][1] = view.sticks[1][0][1] - 20;
    cr_assert(camera_pose(&view, 0, &cam, &f));
    cr_assert(has_issue(&f, CAMERA_STICKS_CROSS));
    cr_assert(has_issue(&f, CAMERA_ROLL));
    cr_assert_eq(cam.reference, CAMERA_REF_NONE);
}

Test(camera, depth_from_the_club_and_from_the_distance)
{
    for (int kind = 0; kind < 2; kind++) {
        struct swing_view view = posed_view((enum view_kind)kind);
        struct posed_camera pc = {kind ? vec_make(0, 1, 4.4) : vec_make(-4, 1, 0.4), 0, 0, 0, (enum view_kind)kind};
        struct posed_body body = posed_address();
        struct camera cam;
        struct camera_findings f = {0};
        posed_frame(&view, &pc, CHECKPOINT_ADDRESS, 0, &body);
        cr_assert(camera_pose(&view, 0, &cam, &f));
        camera_find_depth(&view, (struct maybe){true, POSED_REACH}, 50, 0.03, 0, &cam, &f);
        cr_assert(cam.has_depth);
        cr_assert_float_eq(cam.depth, kind ? 4.0 : 4.02, 1e-6);
        cr_assert_float_eq(cam.depth_sd, 0.03 * cam.depth, 1e-9);
        view.distance_m = (struct maybe){true, 5.5};
        camera_find_depth(&view, (struct maybe){true, POSED_REACH}, 50, 0.03, 0, &cam, &f);
        cr_assert_gt(cam.depth, 4.1);
        cr_assert_lt(cam.depth_sd, 0.12);
        cr_assert(has_issue(&f, CAMERA_DISTANCE));
    }
    struct swing_view bare = posed_view(VIEW_DOWN_THE_LINE);
    struct camera cam;
    struct camera_findings f = {0};
    cr_assert(camera_pose(&bare, 0, &cam, &f));
    camera_find_depth(&bare, (struct maybe){false, 0}, 50, 0.03, 0, &cam, &f);
    cr_assert_not(cam.has_depth);
}

Test(camera, height_and_place_are_checked)
{
    static const struct {
        double y, z;
        enum camera_issue issue;
    } rows[] = {{2.2, 0.4, CAMERA_TOO_HIGH}, {0.2, 0.4, CAMERA_TOO_LOW}, {1.0, -0.4, CAMERA_OFF_LINE}};
    for (size_t i = 0; i < 3; i++) {
        struct swing_view view = posed_view(VIEW_DOWN_THE_LINE);
        struct posed_camera pc = {vec_make(-4, rows[i].y, rows[i].z), 0, 0, 0, VIEW_DOWN_THE_LINE};
        struct posed_body body = posed_address();
        struct camera cam;
        struct camera_findings f = {0};
        posed_frame(&view, &pc, CHECKPOINT_ADDRESS, 0, &body);
        posed_sticks(&view, &pc);
        cr_assert(camera_pose(&view, 0, &cam, &f));
        camera_find_depth(&view, (struct maybe){true, POSED_REACH}, 50, 0.03, 0, &cam, &f);
        camera_check(&view, 0, &cam, &f);
        for (int k = 0; k < 3; k++) {
            cr_assert_eq(has_issue(&f, rows[k].issue), k == (int)i, "row %zu issue %d", i, k);
        }
    }
}

Test(shaft, projection_is_recovered)
{
    static const enum checkpoint at[] = {CHECKPOINT_SHAFT_BACK, CHECKPOINT_TOP, CHECKPOINT_SHAFT_DOWN,
                                         CHECKPOINT_SHAFT_THROUGH};
    int done = 0;
    srand(11);
    for (int i = 0; i < 4000; i++) {
        enum checkpoint c = at[i % 4];
        double plan = uniform(-45, 45), e = uniform(-20, 30);
        struct vec3 s = posed_shaft(c, plan, e);
        struct vec3 grip = vec_make(uniform(3, 5), uniform(-.5, .5), uniform(-.5, .5));
        struct vec3 head = vec_add(grip, vec_scale(s, 0.84));
        if (fabs(vec_dot(s, head)) < 0.05 * vec_norm(head)) {
            continue; /* next to the tangent the two points fall together */
        }
        struct shaft out;
        cr_assert(
            shaft_solve(vec_scale(grip, 1 / grip.x), vec_scale(head, 1 / head.x), grip.x, 0.84, shaft_root(c), &out));
        cr_assert_not(out.clipped);
        cr_assert_float_eq(shaft_plan_angle(out.direction, c), plan, 1e-6);
        cr_assert_float_eq(shaft_elevation(out.direction), e, 1e-6);
        done++;
    }
    cr_assert_gt(done, 3900);
}

Test(shaft, a_club_too_long_for_its_sphere_is_clipped)
{
    struct shaft out;
    cr_assert(shaft_solve(vec_make(1, 0, 0), vec_make(1, 0.4, 0), 4, 0.84, SHAFT_FARTHER, &out));
    cr_assert(out.clipped);
    cr_assert_gt(out.miss_deg, 1.0);
    cr_assert_float_eq(vec_norm(out.direction), 1, 1e-12);
    cr_assert_not(shaft_solve(vec_make(1, 0, 0), vec_make(1, 0.4, 0), 0, 0.84, SHAFT_FARTHER, &out));
}

Test(shaft, on_plane_angle_and_its_limits)
{
    cr_assert_float_eq(shaft_on_plane(50, 30), -28.976732, 1e-5);
    cr_assert_float_eq(shaft_on_plane(50, 0), 0, 1e-12);
    cr_assert_float_eq(shaft_on_plane(50, -30), 28.976732, 1e-5);
    cr_assert_float_eq(shaft_on_plane(50, 50), -90, 1e-6);
    cr_assert_float_eq(shaft_on_plane(50, 80), -90, 1e-6);
    cr_assert_float_eq(shaft_on_plane(85, 30), -2.882, 0.05);
}

/* A shaft that stops at 15 degrees in a plane of 55, pictured at normal instants about its turning point. */
Test(shaft, a_picture_beside_the_top_never_shows_it_too_far)
{
    const double slope = 55, top = 15, instant = 0.02;
    const double start = asin(sin(top * VEC_RAD) / sin(slope * VEC_RAD));
    double weight = 0, sum = 0, squares = 0, mean, sd;
    for (int i = -500; i <= 500; i++) {
        const double t = instant * i / 100.0;
        const double turn = 0.5 * (t > 0 ? SHAFT_TOP_SPEEDS_UP : SHAFT_TOP_BRAKES) * t * t * VEC_RAD;
        const double missed = asin(sin(slope * VEC_RAD) * sin(start + turn)) * VEC_DEG - top;
        const double share = exp(-0.5 * (i / 100.0) * (i / 100.0));
        cr_assert_geq(missed, -1e-12);
        weight += share;
        sum += share * missed;
        squares += share * missed * missed;
    }
    shaft_top_missed(slope, top, instant, &mean, &sd);
    cr_assert_float_eq(mean, sum / weight, 0.02 * mean);
    cr_assert_float_eq(sd, sqrt(squares / weight - sum * sum / weight / weight), 0.02 * sd);
    double slow_mean, slow_sd;
    shaft_top_missed(slope, top, 2 * instant, &slow_mean, &slow_sd);
    cr_assert_float_eq(slow_mean, 4 * mean, 1e-9);
    cr_assert_float_eq(slow_sd, 4 * sd, 1e-9);
    shaft_top_missed(slope, 70, instant, &mean, &sd);
    cr_assert(mean == 0 && sd == 0);
    shaft_top_missed(slope, 90, instant, &mean, &sd);
    cr_assert(mean == 0 && sd == 0);
}

static bool quadratic(const double *x, void *context, double *y)
{
    (void)context;
    *y = 3 * x[0] + x[1] * x[1];
    return true;
}

Test(sigma, parts_are_exact_for_a_sum_of_quadratics)
{
    struct sigma_input in[2] = {{1, 0.5, false}, {2, 0.3, true}};
    struct sigma_result r;
    cr_assert(sigma_transform(in, 2, quadratic, NULL, false, &r));
    cr_assert_float_eq(r.value, 7, 1e-12);
    cr_assert_float_eq(r.sd_random, 1.5, 1e-12);
    cr_assert_float_eq(r.sd_systematic, sqrt(16 * 0.09 + 2 * 0.09 * 0.09), 1e-12);
    cr_assert_not(sigma_transform(in, 0, quadratic, NULL, false, &r));
}

Test(camera, a_tilt_is_told_by_a_distant_flag_and_by_the_ball)
{
    static const double tilts[] = {-2, 0, 3, 6};
    for (size_t i = 0; i < sizeof tilts / sizeof *tilts; i++) {
        const struct posed_camera pc = {vec_make(-4, 1.1, 0.35), 0, tilts[i], 0, VIEW_DOWN_THE_LINE};
        struct swing_view view = posed_view(VIEW_DOWN_THE_LINE);
        struct camera_findings none = {.count = 0};
        struct camera level, flag, ball;
        view.frame_count = 1;
        view.frames[0].checkpoint = CHECKPOINT_ADDRESS;
        view.frames[0].points[POINT_BALL] = posed_project(&pc, &view, vec_make(0, 0.02, 0.9));
        cr_assert(camera_pose(&view, 0, &level, &none));
        cr_assert(level.pitch == 0 && level.pitch_sd == CAMERA_PITCH_SD_DEG, "with neither it is taken as level");
        posed_target(&view, &pc);
        cr_assert(camera_pose(&view, 0, &flag, &none));
        cr_assert(fabs(flag.pitch - tilts[i]) <= 0.3 * fabs(tilts[i]) + 0.05 && flag.pitch_sd < 1.1, "%g: %g ± %g",
                  tilts[i], flag.pitch, flag.pitch_sd);
        view.height_m = (struct maybe){true, 1.1};
        view.distance_m = (struct maybe){true, 4.0};
        cr_assert(camera_pose(&view, 0, &ball, &none));
        cr_assert(fabs(ball.pitch - tilts[i]) <= 0.15 * fabs(tilts[i]) + 0.01 && ball.pitch_sd < 0.8, "%g: %g ± %g",
                  tilts[i], ball.pitch, ball.pitch_sd);
        view.pitch_deg = (struct maybe){true, 1.0};
        cr_assert(camera_pose(&view, 0, &ball, &none));
        cr_assert(ball.pitch == 1.0 && ball.pitch_sd == CAMERA_LEVEL_SD_DEG, "the tablet's own level is believed");
    }
}
