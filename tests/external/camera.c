/* Driver of check_camera.py: one request a line on stdin, one answer a line on stdout. */
#include <stdio.h>
#include <string.h>

#include "core/camera.h"
#include "core/measure/measure.h"
#include "core/shaft.h"

/* shaft CHECKPOINT focal cu cv yaw pitch roll depth length gu gv hu hv [root] -> plan elevation clipped */
static void do_shaft(const char *line)
{
    int at;
    int root = 0;
    double f, cu, cv, yaw, pitch, roll, depth, length, g[2], h[2];
    struct camera_axes axes;
    struct vec3 grip, head;
    struct shaft shaft;
    int n = sscanf(line, "shaft %d %lf %lf %lf %lf %lf %lf %lf %lf %lf %lf %lf %lf %d", &at, &f, &cu, &cv, &yaw, &pitch,
                   &roll, &depth, &length, &g[0], &g[1], &h[0], &h[1], &root);
    struct camera camera = {.kind = VIEW_DOWN_THE_LINE, .focal_px = f, .centre_u = cu, .centre_v = cv};
    if (n < 13) {
        puts("bad");
        return;
    }
    camera_turn(yaw, pitch, roll, &axes);
    enum shaft_root r = root ? (enum shaft_root)root : shaft_root((enum checkpoint)at);
    if (!camera_ray(&camera, &axes, g[0], g[1], &grip) || !camera_ray(&camera, &axes, h[0], h[1], &head) ||
        !shaft_solve(grip, head, depth, length, r, &shaft)) {
        puts("none");
        return;
    }
    printf("%.15g %.15g %d\n", shaft_plan_angle(shaft.direction, (enum checkpoint)at), shaft_elevation(shaft.direction),
           shaft.clipped);
}

/* plane alpha e -> angle */
static void do_plane(const char *line)
{
    double alpha, e;
    if (sscanf(line, "plane %lf %lf", &alpha, &e) == 2) {
        printf("%.15g\n", shaft_on_plane(alpha, e));
    } else {
        puts("bad");
    }
}

/* stick focal cu cv pitch roll u1 v1 u2 v2 -> yaw yaw_sd */
static void do_stick(const char *line)
{
    struct swing_view view = {.kind = VIEW_DOWN_THE_LINE, .stick_count = 1};
    struct camera_findings findings = {.count = 0};
    struct camera camera;
    double f, cu, cv;
    int n = sscanf(line, "stick %lf %lf %lf %lf %lf %lf %lf %lf %lf", &f, &cu, &cv, &view.pitch_deg.value,
                   &view.roll_deg.value, &view.sticks[0][0][0], &view.sticks[0][0][1], &view.sticks[0][1][0],
                   &view.sticks[0][1][1]);
    view.pitch_deg.given = view.roll_deg.given = true;
    view.width_px = 2 * cu;
    view.height_px = 2 * cv;
    view.hfov_deg = 2 * atan(cu / f) * VEC_DEG;
    if (n != 9 || !camera_pose(&view, 0, &camera, &findings)) {
        puts("bad");
        return;
    }
    printf("%.15g %.15g\n", camera.yaw, camera.yaw_sd);
}

/* measure ITEM width height hfov length target(u v) address(gu gv hu hv) now(gu gv hu hv), 240 000 frames a second
 * -> observed clipped value random systematic yaw yaw_sd pitch pitch_sd roll roll_sd depth depth_sd */
static void do_measure(const char *line)
{
    static struct swing swing;
    struct measure_set set;
    struct camera_findings findings = {.count = 0};
    struct camera camera;
    char name[32], at[32];
    double p[8];
    enum measure_item item;
    enum checkpoint checkpoint;
    memset(&swing, 0, sizeof swing);
    struct swing_view *view = &swing.views[0];
    swing.view_count = 1;
    int n = sscanf(line, "measure %31s %31s %lf %lf %lf %lf %lf %lf %lf %lf %lf %lf %lf %lf %lf %lf", name, at,
                   &view->width_px, &view->height_px, &view->hfov_deg, &swing.club_length_m.value, &view->target[0],
                   &view->target[1], &p[0], &p[1], &p[2], &p[3], &p[4], &p[5], &p[6], &p[7]);
    if (n != 16 || !checkpoint_parse(at, &checkpoint) || !measure_find(name, checkpoint, &item)) {
        puts("bad");
        return;
    }
    swing.club_length_m.given = true;
    view->has_target = true;
    view->fps = (struct maybe){true, 240000.0};
    view->frame_count = 2;
    view->frames[0].checkpoint = CHECKPOINT_ADDRESS;
    view->frames[1].checkpoint = checkpoint;
    for (int i = 0; i < 2; i++) {
        view->frames[i].points[POINT_GRIP] =
            (struct swing_mark){.seen = true, .u = p[4 * i], .v = p[4 * i + 1], .sd = 3};
        view->frames[i].points[POINT_CLUBHEAD] =
            (struct swing_mark){.seen = true, .u = p[4 * i + 2], .v = p[4 * i + 3], .sd = 3};
    }
    measure_swing(&swing, &set, &findings);
    if (!camera_pose(view, 0, &camera, &findings)) {
        puts("bad");
        return;
    }
    struct maybe length = {true, swing.club_length_m.value - SHAFT_BUTT_TO_GRIP_M};
    camera_find_depth(view, length, shaft_slope_default(swing.club), CAMERA_LENGTH_SD, 0, &camera, &findings);
    const struct measure *m = &set.items[item];
    printf("%d %d %.15g %.15g %.15g %.15g %.15g %.15g %.15g %.15g %.15g %.15g %.15g\n", m->observed, m->clipped,
           m->value, m->sd_random, m->sd_systematic, camera.yaw, camera.yaw_sd, camera.pitch, camera.pitch_sd,
           camera.roll, camera.roll_sd, camera.depth + shaft_hands_farther(view->kind, checkpoint),
           hypot(camera.depth_sd, CAMERA_DEPTH_HANDS_SD_M));
}

int main(void)
{
    char line[1024];
    while (fgets(line, sizeof line, stdin) != NULL) {
        if (strncmp(line, "shaft ", 6) == 0) {
            do_shaft(line);
        } else if (strncmp(line, "plane ", 6) == 0) {
            do_plane(line);
        } else if (strncmp(line, "stick ", 6) == 0) {
            do_stick(line);
        } else if (strncmp(line, "measure ", 8) == 0) {
            do_measure(line);
        } else {
            puts("bad");
        }
    }
    return 0;
}
