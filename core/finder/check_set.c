/* Sets a scene: the marks' rays, the depths, the feet, and how the two views fit together: scales, heights, and whether
 * their lines of sight are square. Medians and Cauchy weights, so that one slip does not turn the rest. */
#include <math.h>
#include <string.h>

#include "core/finder/check_scene.h"
#include "core/shaft.h"

#define BODY_HEIGHT_M 1.72     /* when neither distance nor club is known (common practice) */
#define STANDING_SHARE 0.84    /* head to ankles in posture, of the height (simulated) */
#define FEET_BEHIND_HANDS 0.35 /* m, face on: the feet stand farther than the hands */
#define VALUES_MAX 400
#define ROUNDS 3

static bool usable_ray(const struct camera *camera, const struct camera_axes *axes, double u, double v,
                       struct vec3 *out)
{
    return isfinite(u) && isfinite(v) && camera_ray(camera, axes, u, v, out) && fabs(out->y) < 5.0 &&
           fabs(out->z) < 5.0;
}

static void take_marks(struct scene *scene, enum scene_side side)
{
    const struct swing_view *view = &scene->swing->views[scene->view[side]];
    struct camera_axes axes;
    const struct camera *camera = &scene->camera[side];

    camera_turn(camera->yaw, camera->pitch, camera->roll, &axes);
    for (int f = view->frame_count - 1; f >= 0; f--) {
        const struct frame *frame = &view->frames[f];
        if ((unsigned)frame->checkpoint >= CHECKPOINT_COUNT) {
            continue;
        }
        bool timed = frame->time_s.given && isfinite(frame->time_s.value);
        scene->time[side][frame->checkpoint] = timed ? frame->time_s.value : NAN;
        for (int p = 0; p < POINT_COUNT; p++) {
            const struct swing_mark *mark = &frame->points[p];
            struct spot *spot = &scene->spots[frame->checkpoint][p][side];
            struct vec3 ray;
            *spot = (struct spot){.settled = (frame->confirmed >> p & 1U) != 0};
            if (mark->seen && !mark->found && usable_ray(camera, &axes, mark->u, mark->v, &ray)) {
                spot->seen = true;
                spot->ray[0] = ray.z;
                spot->ray[1] = ray.y;
                spot->px = mark->sd > 0.0 && isfinite(mark->sd) ? mark->sd : SWING_MARK_SD_PX;
            }
            const struct swing_spot *film = &frame->film[p];
            struct seen_place *place = &scene->film[frame->checkpoint][p][side];
            *place = (struct seen_place){.px = film->sd};
            if (spot->seen && !spot->settled && film->sd > 0.0 && isfinite(film->sd) &&
                usable_ray(camera, &axes, film->u, film->v, &ray)) {
                place->seen = true;
                place->ray[0] = ray.z;
                place->ray[1] = ray.y;
            }
        }
    }
}

/* Median over the moments of points' rays; false when none is seen. */
static bool ray_middle(const struct scene *scene, enum scene_side side, const enum point *points, int n, double out[2])
{
    double values[2][VALUES_MAX];
    int count = 0;
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        for (int i = 0; i < n; i++) {
            const struct spot *spot = &scene->spots[c][points[i]][side];
            if (spot->seen && count < VALUES_MAX) {
                values[0][count] = spot->ray[0];
                values[1][count++] = spot->ray[1];
            }
        }
    }
    if (count == 0) {
        return false;
    }
    out[0] = scene_middle(values[0], count);
    out[1] = scene_middle(values[1], count);
    return true;
}

/* The feet's rays (of each foot, then their middle), else the hips', else of all that is marked. */
static bool feet_ray(const struct scene *scene, enum scene_side side, double out[2])
{
    static const enum point order[][2] = {{POINT_LEAD_ANKLE, POINT_TRAIL_ANKLE}, {POINT_LEAD_HIP, POINT_TRAIL_HIP}};
    enum point all[POINT_COUNT];
    for (size_t i = 0; i < sizeof order / sizeof *order; i++) {
        double a[2];
        double b[2];
        if (ray_middle(scene, side, &order[i][0], 1, a) && ray_middle(scene, side, &order[i][1], 1, b)) {
            out[0] = 0.5 * (a[0] + b[0]);
            out[1] = 0.5 * (a[1] + b[1]);
            return i == 0;
        }
    }
    for (int p = 0; p < POINT_COUNT; p++) {
        all[p] = (enum point)p;
    }
    if (!ray_middle(scene, side, all, POINT_COUNT, out)) {
        out[0] = out[1] = 0.0;
    }
    return false;
}

/* A first depth of the feet: the stated distance, else what the body's height says, else 4 m. */
static double first_depth(const struct scene *scene, enum scene_side side)
{
    const struct swing_view *view = &scene->swing->views[scene->view[side]];
    static const enum point head[] = {POINT_HEAD};
    double top[2];
    double feet[2];
    if (view->distance_m.given && view->distance_m.value > 0.5 && view->distance_m.value < 100.0) {
        return view->distance_m.value + (side == SIDE_FACE ? FEET_BEHIND_HANDS : 0.0);
    }
    if (ray_middle(scene, side, head, 1, top) && feet_ray(scene, side, feet) && top[1] - feet[1] > 0.02) {
        return BODY_HEIGHT_M * STANDING_SHARE / (top[1] - feet[1]);
    }
    return 4.0;
}

/* Heights over one another in both views say how the two scales compare. */
static void match_scales(struct scene *scene)
{
    enum { LOW = POINT_TRAIL_ANKLE - POINT_LEAD_HIP + 1, PAIRS = 4 * LOW };
    static const enum point high[] = {POINT_HEAD, POINT_NECK, POINT_LEAD_SHOULDER, POINT_TRAIL_SHOULDER};
    double ratios[CHECKPOINT_COUNT * PAIRS];
    int count = 0;
    for (int i = 0; i < CHECKPOINT_COUNT * PAIRS; i++) {
        const struct spot *a = scene->spots[i / PAIRS][high[i % PAIRS / LOW]];
        const struct spot *b = scene->spots[i / PAIRS][POINT_LEAD_HIP + i % LOW];
        bool seen = a[0].seen && a[1].seen && b[0].seen && b[1].seen;
        double line = a[0].at[1] - b[0].at[1];
        double face = a[1].at[1] - b[1].at[1];
        if (seen && line > 0.2 && face > 0.2) {
            ratios[count++] = line / face;
        }
    }
    if (count >= 3) {
        double ratio = fmin(fmax(scene_middle(ratios, count), 0.4), 2.5);
        scene->depth[SIDE_FACE] *= ratio;
        scene->side0[SIDE_FACE] *= ratio;
        scene->up0[SIDE_FACE] *= ratio;
        scene_place_all(scene);
    }
}

/* m x = b for a small symmetric m, regular by its priors. */
static void solve_small(int n, double m[4][4], double b[4])
{
    for (int i = 0; i < n; i++) {
        for (int k = i + 1; k < n; k++) {
            double f = m[k][i] / m[i][i];
            for (int j = i; j < n; j++) {
                m[k][j] -= f * m[i][j];
            }
            b[k] -= f * b[i];
        }
    }
    for (int i = n - 1; i >= 0; i--) {
        for (int j = i + 1; j < n; j++) {
            b[i] -= m[i][j] * b[j];
        }
        b[i] /= m[i][i];
    }
}

/* Weight of a misfit, by the square of its sd: a gross one counts for little (Cauchy: 1 / (1 + r^2 / 4) of 1 / sd^2).
 */
static double trust(double left, double square)
{
    return 1.0 / (square + 0.25 * left * left);
}

/* What a point's two heights differ by, and what that may hang on. */
struct heights {
    double a[4]; /* 1, and the point's height, x and z */
    double gap, square;
};

static int heights_of(const struct scene *scene, struct heights out[CHECKPOINT_COUNT * POINT_COUNT])
{
    int count = 0;
    for (int i = 0; i < CHECKPOINT_COUNT * POINT_COUNT; i++) {
        const struct spot *s = scene->spots[i / POINT_COUNT][i % POINT_COUNT];
        if (s[0].seen && s[1].seen) {
            out[count++] = (struct heights){{1.0, s[1].at[1], s[1].at[0], s[0].at[0]},
                                            s[0].at[1] - s[1].at[1],
                                            s[0].sd[1] * s[0].sd[1] + s[1].sd[1] * s[1].sd[1]};
        }
    }
    return count;
}

/* Adds one point's two heights to the equations of what they differ by, found so far; m: its lower triangle. */
static inline void add_heights(const struct heights *of, const double found[4], double m[4][4], double b[4])
{
    double left = of->gap;
    for (int i = 0; i < 4; i++) {
        left -= of->a[i] * found[i];
    }
    const double weight = trust(left, of->square);
    for (int i = 0; i < 4; i++) {
        const double wa = weight * of->a[i];
        b[i] += wa * of->gap;
        for (int k = 0; k <= i; k++) {
            m[i][k] += wa * of->a[k];
        }
    }
}

/* What the two heights of every point differ by: a step, a share of the height, and with x and z, for a tilt of either
 * camera that nobody stated is a height that grows to the side or ahead. */
static void match_heights(struct scene *scene)
{
    static const double prior[4] = {0.5, 0.1, 0.05, 0.05};
    struct heights heights[CHECKPOINT_COUNT * POINT_COUNT];
    const int count = heights_of(scene, heights);
    double found[4] = {0};
    for (int round = 0; round < ROUNDS; round++) {
        double m[4][4] = {{0}};
        double b[4] = {0};
        for (int i = 0; i < 4; i++) {
            m[i][i] = 1.0 / (prior[i] * prior[i]);
        }
        for (int i = 0; i < count; i++) {
            add_heights(&heights[i], found, m, b);
        }
        for (int i = 0; i < 6; i++) {
            static const int at[6][2] = {{0, 1}, {0, 2}, {0, 3}, {1, 2}, {1, 3}, {2, 3}};
            m[at[i][0]][at[i][1]] = m[at[i][1]][at[i][0]];
        }
        solve_small(4, m, b);
        memcpy(found, b, sizeof found);
    }
    double ratio = fmin(fmax(1.0 + found[1], 0.8), 1.25);
    scene->depth[SIDE_FACE] *= ratio;
    scene->side0[SIDE_FACE] *= ratio;
    scene->up0[SIDE_FACE] = scene->up0[SIDE_FACE] * ratio - found[0];
    scene->tilt[0] += found[2];
    scene->tilt[1] += found[3];
    scene_place_all(scene);
}

/* Lengths that look longer where x and z grow together: the lines of sight are not square to one another. */
static void match_squareness(struct scene *scene)
{
    double yaw = scene_hypot(scene->camera[0].yaw_sd, scene->camera[1].yaw_sd) * VEC_RAD;
    double m = 1.0 / (yaw * yaw + 1e-6);
    double b = -scene->skew * m;
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        for (int i = 0; i < SCENE_BONES; i++) {
            const struct scene_bone *bone = &scene_bones[i];
            double middle = scene->length[bone->length];
            double p[3];
            double q[3];
            if (scene_length_at_most(bone->length) || middle < 0.15 ||
                !scene_place(scene, (enum checkpoint)c, bone->a, p) ||
                !scene_place(scene, (enum checkpoint)c, bone->b, q)) {
                continue;
            }
            double x = p[0] - q[0];
            double z = p[2] - q[2];
            double length = sqrt(x * x + (p[1] - q[1]) * (p[1] - q[1]) + z * z);
            double slope = x * z / fmax(length, 0.1);
            const struct spot *sa = scene->spots[c][bone->a];
            const struct spot *sb = scene->spots[c][bone->b];
            const double square =
                scene_length_square(scene, bone->length) + sa[0].sd[0] * sa[0].sd[0] + sb[1].sd[0] * sb[1].sd[0];
            double left = length - middle;
            double weight = trust(left, square);
            m += weight * slope * slope;
            b += weight * slope * left;
        }
    }
    scene->skew += fmin(fmax(b / m, -0.2), 0.2);
    scene_place_all(scene);
}

/* Metres by the club, the one length that is known. */
static void scale_by_club(struct scene *scene)
{
    double seen = scene_find_length(scene, LENGTH_CLUB);
    if (!scene->paired || scene->club <= 0.0 || seen <= 0.0) {
        return;
    }
    double scale = fmin(fmax(scene->club / seen, 0.7), 1.4);
    for (int s = 0; s < SCENE_SIDES; s++) {
        scene->depth[s] *= scale;
        scene->side0[s] *= scale;
        scene->up0[s] *= scale;
    }
    scene_place_all(scene);
}

void scene_measure(struct scene *scene)
{
    for (int s = 0; s < SCENE_SIDES; s++) {
        double feet[2];
        if (scene->view[s] >= 0) {
            (void)feet_ray(scene, (enum scene_side)s, feet);
            scene->side0[s] = feet[0] * scene->depth[s];
            scene->up0[s] = feet[1] * scene->depth[s];
        }
    }
    scene->skew = scene->tilt[0] = scene->tilt[1] = 0.0;
    scene_place_all(scene);
    for (int i = 0; i < ROUNDS && scene->paired; i++) {
        if (i < 2) {
            match_scales(scene);
        }
        scene_find_errors(scene);
        match_heights(scene);
        scene_find_lengths(scene);
        match_squareness(scene);
    }
    scale_by_club(scene);
    scene_find_lengths(scene);
    scene_find_errors(scene);
}

bool scene_set(struct scene *scene, const struct swing *swing, int line, int face)
{
    const int views[SCENE_SIDES] = {line, face};
    struct camera_findings findings = {.count = 0};
    bool any = false;

    memset(scene, 0, sizeof *scene);
    scene->swing = swing;
    for (int i = 0; i < POINT_COUNT * SCENE_SIDES; i++) {
        scene->gap_times[i / SCENE_SIDES][i % SCENE_SIDES] = 1.0;
    }
    scene->club = swing->club_length_m.given && swing->club_length_m.value > 0.4 && swing->club_length_m.value < 3.0
                      ? swing->club_length_m.value - SHAFT_BUTT_TO_GRIP_M
                      : 0.0;
    for (int s = 0; s < SCENE_SIDES; s++) {
        scene->view[s] = -1;
        for (int c = 0; c < CHECKPOINT_COUNT; c++) {
            scene->time[s][c] = NAN;
        }
        if (views[s] < 0 || !camera_pose(&swing->views[views[s]], views[s], &scene->camera[s], &findings)) {
            continue;
        }
        const struct swing_view *view = &swing->views[views[s]];
        scene->view[s] = views[s];
        scene->fps[s] = view->fps.given && view->fps.value > 1.0 ? view->fps.value : SHAFT_FPS_DEFAULT;
        scene_find_instants(scene, (enum scene_side)s);
        take_marks(scene, (enum scene_side)s);
        scene->depth[s] = first_depth(scene, (enum scene_side)s);
        any = true;
    }
    scene->paired = scene->view[SIDE_LINE] >= 0 && scene->view[SIDE_FACE] >= 0;
    scene_measure(scene);
    return any;
}
