/* A player in three dimensions and two cameras that picture him: what the measures' tests start from.
 * The projection here is written on its own (rotation by explicit angles) and shares nothing with core/camera.c. */
#ifndef LEADSIDE_TESTS_CORE_POSED_FIGURE_H
#define LEADSIDE_TESTS_CORE_POSED_FIGURE_H

#include <math.h>
#include <string.h>

#include "core/swing.h"
#include "core/vec.h"

struct posed_camera {
    struct vec3 at;
    double yaw, pitch, roll; /* deg, + right, + down, + clockwise */
    enum view_kind kind;
};

/* Pixels of a world point. */
static inline struct swing_mark posed_project(const struct posed_camera *camera, const struct swing_view *view,
                                              struct vec3 p)
{
    struct vec3 d = vec_sub(p, camera->at);
    double ahead = camera->kind == VIEW_DOWN_THE_LINE ? d.x : -d.z;
    double right = camera->kind == VIEW_DOWN_THE_LINE ? d.z : d.x;
    double y = camera->yaw * VEC_RAD, t = camera->pitch * VEC_RAD, r = camera->roll * VEC_RAD;
    double a1 = ahead * cos(y) + right * sin(y);
    double r1 = right * cos(y) - ahead * sin(y);
    double a2 = a1 * cos(t) - d.y * sin(t);
    double down = -d.y * cos(t) - a1 * sin(t);
    double u = r1 * cos(r) + down * sin(r);
    double v = down * cos(r) - r1 * sin(r);
    double f = 0.5 * view->width_px / tan(0.5 * view->hfov_deg * VEC_RAD);
    return (struct swing_mark){
        .seen = true, .u = 0.5 * view->width_px + f * u / a2, .v = 0.5 * view->height_px + f * v / a2, .sd = 3.0};
}

static inline struct swing_view posed_view(enum view_kind kind)
{
    struct swing_view view;
    memset(&view, 0, sizeof view);
    view.kind = kind;
    view.width_px = 1920;
    view.height_px = 1080;
    view.hfov_deg = 62;
    view.fps = (struct maybe){true, 240};
    return view;
}

/* The shaft at a checkpoint from plan angle and elevation, by that checkpoint's convention. */
static inline struct vec3 posed_shaft(enum checkpoint at, double plan, double elevation)
{
    double e = elevation * VEC_RAD, p = plan * VEC_RAD;
    bool through = at == CHECKPOINT_TOP || at >= CHECKPOINT_IMPACT;
    return vec_make((through ? 1.0 : -1.0) * cos(e) * cos(p), sin(e), cos(e) * sin(p));
}

#define POSED_LENGTH 0.94
#define POSED_REACH (POSED_LENGTH - 0.10)

/* World points of a sound right-hander at each checkpoint; hands, club and shoulders move, the rest little. */
struct posed_body {
    struct vec3 points[POINT_COUNT];
};

static inline void posed_club(struct posed_body *body, struct vec3 grip, struct vec3 shaft)
{
    body->points[POINT_GRIP] = grip;
    body->points[POINT_LEAD_WRIST] = vec_add(grip, vec_make(0.02, 0.06, 0.0));
    body->points[POINT_TRAIL_WRIST] = vec_add(grip, vec_make(-0.03, 0.05, 0.0));
    body->points[POINT_BUTT] = vec_sub(grip, vec_scale(shaft, 0.10));
    body->points[POINT_CLUBHEAD] = vec_add(grip, vec_scale(shaft, POSED_REACH));
}

static inline struct posed_body posed_address(void)
{
    struct posed_body b;
    double tilt = 36.0 * VEC_RAD;
    struct vec3 *p = b.points;
    p[POINT_LEAD_ANKLE] = vec_make(0.25, 0.09, -0.02);
    p[POINT_TRAIL_ANKLE] = vec_make(-0.25, 0.09, -0.02);
    p[POINT_LEAD_TOE] = vec_make(0.30, 0.03, 0.16);
    p[POINT_TRAIL_TOE] = vec_make(-0.28, 0.03, 0.16);
    p[POINT_LEAD_KNEE] = vec_make(0.20, 0.50, 0.06);
    p[POINT_TRAIL_KNEE] = vec_make(-0.20, 0.50, 0.06);
    p[POINT_LEAD_HIP] = vec_make(0.10, 0.92, -0.06);
    p[POINT_TRAIL_HIP] = vec_make(-0.10, 0.92, -0.06);
    p[POINT_NECK] = vec_make(0.0, 0.92 + 0.55 * cos(tilt), -0.06 + 0.55 * sin(tilt));
    p[POINT_HEAD] = vec_add(p[POINT_NECK], vec_make(0.0, 0.16, 0.10));
    p[POINT_LEAD_SHOULDER] = vec_add(p[POINT_NECK], vec_make(0.19, -0.04, 0.0));
    p[POINT_TRAIL_SHOULDER] = vec_add(p[POINT_NECK], vec_make(-0.19, -0.04, 0.0));
    p[POINT_LEAD_ELBOW] = vec_make(0.14, 1.05, 0.32);
    p[POINT_TRAIL_ELBOW] = vec_make(-0.14, 1.05, 0.30);
    posed_club(&b, vec_make(0.02, 0.80, 0.40), vec_make(0.0, -sin(50 * VEC_RAD), cos(50 * VEC_RAD)));
    p[POINT_BALL] = p[POINT_CLUBHEAD];
    return b;
}

/* Hands of a flat swing about the hub of address: t deg of swing on the plane of slope alpha. */
static inline struct vec3 posed_hands(double t_deg, double alpha_deg)
{
    struct posed_body a = posed_address();
    struct vec3 hub = vec_scale(vec_add(a.points[POINT_LEAD_SHOULDER], a.points[POINT_TRAIL_SHOULDER]), 0.5);
    double t = t_deg * VEC_RAD, al = alpha_deg * VEC_RAD, r = 0.6;
    return vec_add(hub, vec_make(-r * sin(t), -r * cos(t) * sin(al), r * cos(t) * cos(al)));
}

static inline void posed_frame(struct swing_view *view, const struct posed_camera *camera, enum checkpoint at,
                               double time, const struct posed_body *body)
{
    struct frame *frame = &view->frames[view->frame_count++];
    frame->checkpoint = at;
    frame->time_s = (struct maybe){true, time};
    for (int i = 0; i < POINT_COUNT; i++) {
        frame->points[i] = posed_project(camera, view, body->points[i]);
    }
}

/* Two 1.2 m sticks on the ground along the target line, and a flag 150 m out. */
static inline void posed_sticks(struct swing_view *view, const struct posed_camera *camera)
{
    const double z[2] = {-0.5, 0.75};
    view->stick_count = 2;
    for (int i = 0; i < 2; i++) {
        struct swing_mark a = posed_project(camera, view, vec_make(-0.9, 0, z[i]));
        struct swing_mark b = posed_project(camera, view, vec_make(0.3, 0, z[i]));
        view->sticks[i][0][0] = a.u;
        view->sticks[i][0][1] = a.v;
        view->sticks[i][1][0] = b.u;
        view->sticks[i][1][1] = b.v;
    }
}

static inline void posed_target(struct swing_view *view, const struct posed_camera *camera)
{
    struct swing_mark t = posed_project(camera, view, vec_make(camera->at.x + 50000.0, 1.0, camera->at.z));
    view->has_target = true;
    view->target[0] = t.u;
    view->target[1] = t.v;
}

/* A whole sound swing in one view. */
static inline void posed_swing(struct swing_view *view, const struct posed_camera *camera, double plan, double cross)
{
    static const double turn[CHECKPOINT_COUNT] = {0, 45, 80, 120, 80, 45, 0, -45, -80, -120};
    static const double time[CHECKPOINT_COUNT] = {0, .25, .45, .80, .93, 1.0, 1.0667, 1.1, 1.15, 1.6};
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        struct posed_body b = posed_address();
        struct vec3 shaft = vec_make(0.0, -sin(50 * VEC_RAD), cos(50 * VEC_RAD));
        if (c == CHECKPOINT_TOP) {
            shaft = posed_shaft(CHECKPOINT_TOP, cross, 0.0);
        } else if (c == CHECKPOINT_SHAFT_BACK || c == CHECKPOINT_SHAFT_DOWN || c == CHECKPOINT_SHAFT_THROUGH) {
            shaft = posed_shaft((enum checkpoint)c, plan, 0.0);
        } else if (c == CHECKPOINT_ARM_DOWN) {
            shaft = vec_make(-0.4, 0.9165 * sin(60 * VEC_RAD), -0.9165 * cos(60 * VEC_RAD));
        }
        if (c == CHECKPOINT_TOP) { /* shoulders turned by 90 deg, the lead one 0.2 m lower */
            b.points[POINT_LEAD_SHOULDER] = vec_add(b.points[POINT_NECK], vec_make(0, -0.14, 0.16));
            b.points[POINT_TRAIL_SHOULDER] = vec_add(b.points[POINT_NECK], vec_make(0, 0.06, -0.16));
            b.points[POINT_HEAD].x -= 0.038;
            b.points[POINT_NECK].x -= 0.05;
        }
        if (c == CHECKPOINT_IMPACT) {
            b.points[POINT_LEAD_HIP] = vec_add(b.points[POINT_LEAD_HIP], vec_make(0.10, 0, 0.06));
            b.points[POINT_TRAIL_HIP] = vec_add(b.points[POINT_TRAIL_HIP], vec_make(0.10, 0, 0.06));
        }
        posed_club(&b, c == 0 ? b.points[POINT_GRIP] : posed_hands(turn[c], 50), shaft);
        posed_frame(view, camera, (enum checkpoint)c, time[c], &b);
    }
}

#endif
