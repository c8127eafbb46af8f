/* The equations of one moment: three unknowns a point; rows for marks, lengths, expected places, the level shaft and
 * arm, the ball. What of them does not change with the places is worked out once. */
#include "core/finder/check_adjust.h"

#include <math.h>
#include <string.h>

#include "core/finder/check_normal.h"
#include "core/shaft.h"

#define STEPS 2          /* of Gauss and Newton: lengths bend little within the marks' errors */
#define LOOSE_M 3.0      /* a place is at least known to be near: keeps the equations regular */
#define DEPTH_M 0.4      /* how far a point that one view shows is from its plane */
#define LEVEL_SD_DEG 5.0 /* a picture taken as the one of the level shaft, beside its instant (common practice) */
#define SKEW_LEFT 0.04   /* rad, of the lines of sight after matching lengths */
#define LEVEL_ARM_SD_M 0.08
#define STRAIGHT_SD_M 0.03 /* of the butt from the line of grip and clubhead, and along it */
#define BALL_SD_M 0.06     /* clubhead to ball at address and impact */
#define TIE_M 1e-6 /* a length measured at this very moment is no longer than itself, whatever the last bit says */
#define BALL_BACK_M 0.20 /* how far the club has gone 0.06 s after it began to move (simulated) */
#define REDUNDANT 0.02   /* share of a mark's variance that shows in its residual: less is no check */

/* What a picture says of a point to one side, mark and film together. */
struct sight {
    double ray, weight;
    struct scene_gap gap;
    bool film; /* shows the point */
};

/* What is known besides of a point in a picture, or beside others: the same in every step. */
struct expected {
    bool is;
    double at[2], weight;
};

struct moment {
    const struct scene *scene;
    enum checkpoint at;
    int of[POINT_COUNT]; /* place of a point in the order of those that are seen, -1 = none */
    struct sight sights[POINT_COUNT][SCENE_SIDES][2];
    struct expected near[POINT_COUNT][SCENE_SIDES], beside[SCENE_RELATIONS][SCENE_SIDES];
    struct normal normal;
};

/* In this order a point is tied to two later ones at most, and taking it out ties no others: from the ends of the limbs
 * and of the club to the shoulders. */
static const enum point order[POINT_COUNT] = {
    POINT_LEAD_TOE,   POINT_TRAIL_TOE,   POINT_LEAD_ANKLE, POINT_TRAIL_ANKLE,   POINT_LEAD_KNEE,
    POINT_TRAIL_KNEE, POINT_BALL,        POINT_BUTT,       POINT_CLUBHEAD,      POINT_HEAD,
    POINT_LEAD_ELBOW, POINT_TRAIL_ELBOW, POINT_LEAD_WRIST, POINT_TRAIL_WRIST,   POINT_GRIP,
    POINT_LEAD_HIP,   POINT_TRAIL_HIP,   POINT_NECK,       POINT_LEAD_SHOULDER, POINT_TRAIL_SHOULDER};

static double weight_of(double sd)
{
    return 1.0 / (sd * sd);
}

/* How much of a mark is in what a picture says of a point; the film, where it shows the point, is the rest. */
static double mark_share(const struct scene_gap *gap)
{
    double mark = 1.0 / (gap->mark_sd * gap->mark_sd);
    return mark / (mark + 1.0 / (gap->film_sd * gap->film_sd));
}

/* Mark and film are one place with one error. */
static void see(const struct scene *scene, enum checkpoint at, enum point point, enum scene_side side, int way,
                struct sight *out)
{
    const struct spot *spot = &scene->spots[at][point][side];
    double square = spot->sd[way] * spot->sd[way];
    out->ray = spot->ray[way];
    out->film = scene_gap(scene, at, point, side, way, &out->gap);
    if (out->film) {
        const double rest = 1.0 - mark_share(&out->gap);
        out->ray -= rest * out->gap.gap / spot->depth;
        square = fmax(square - rest * out->gap.mark_sd * out->gap.mark_sd, 1e-8);
    }
    out->weight = 1.0 / square;
}

/* What a picture says of a point to the side (0) or up (1), as a row. Returns by how much it is not met. */
static inline double mark_row(const struct moment *moment, enum point point, enum scene_side side, int way, double a[3])
{
    const struct scene *scene = moment->scene;
    const double ray = moment->sights[point][side][way].ray;
    const double *x = moment->normal.x[moment->of[point]];
    double depth = scene->depth[side] + (side == SIDE_LINE ? x[AXIS_X] : -x[AXIS_Z]);
    depth = fmax(depth, 0.2 * scene->depth[side]);
    const enum normal_axis across = side == SIDE_LINE ? AXIS_Z : AXIS_X;
    const enum normal_axis ahead = side == SIDE_LINE ? AXIS_X : AXIS_Z;
    const double place = way == 1 ? x[AXIS_Y] + scene->up0[side] : x[across] + scene->side0[side];
    double off = ray * depth - place;
    a[across] = way == 1 ? 0.0 : 1.0;
    a[AXIS_Y] = way == 1 ? 1.0 : 0.0;
    a[ahead] = side == SIDE_LINE ? -ray : ray; /* nearer or farther */
    if (side == SIDE_LINE && way == 0) {
        a[AXIS_X] += scene->skew;
        off -= scene->skew * x[AXIS_X];
    } else if (side == SIDE_FACE && way == 1) {
        a[AXIS_Z] -= scene->tilt[1];
        a[AXIS_X] = -scene->tilt[0];
        off += scene->tilt[0] * x[AXIS_X] + scene->tilt[1] * x[AXIS_Z];
    }
    return off;
}

/* A point's place along an axis. */
static void value_add(struct normal *normal, int point, enum normal_axis axis, double value, double weight)
{
    const double a = 1.0;
    normal_add_axis(normal, axis, 1, &point, &a, value, weight);
}

/* How far one point lies from another along an axis. */
static void difference_add(struct normal *normal, int from, int to, enum normal_axis axis, double value, double sd)
{
    normal_add_axis(normal, axis, 2, (const int[]){from, to}, (const double[]){1.0, -1.0}, value, weight_of(sd));
}

/* What stays the same in every step. */
static void look(struct moment *moment)
{
    const struct scene *scene = moment->scene;
    const enum checkpoint at = moment->at;
    double sd;
    for (int i = 0; i < POINT_COUNT * SCENE_SIDES; i++) {
        const enum point p = (enum point)(i / SCENE_SIDES);
        const enum scene_side side = (enum scene_side)(i % SCENE_SIDES);
        struct expected *near = &moment->near[p][side];
        near->is = false;
        if (scene->spots[at][p][side].seen) {
            see(scene, at, p, side, 0, &moment->sights[p][side][0]);
            see(scene, at, p, side, 1, &moment->sights[p][side][1]);
            near->is = scene_expected(scene, at, p, side, near->at, &sd);
            near->weight = near->is ? weight_of(sd) : 0.0;
        }
    }
    for (int i = 0; i < SCENE_RELATIONS * SCENE_SIDES; i++) {
        const struct scene_relation *relation = &scene_relations[i / SCENE_SIDES];
        const enum scene_side side = (enum scene_side)(i % SCENE_SIDES);
        struct expected *beside = &moment->beside[i / SCENE_SIDES][side];
        beside->is = scene->spots[at][relation->point][side].seen && scene->spots[at][relation->beside[0]][side].seen &&
                     scene->spots[at][relation->beside[1]][side].seen &&
                     scene_beside(scene, at, relation, side, beside->at, &sd);
        beside->weight = beside->is ? weight_of(sd) : 0.0;
    }
}

static void start(struct moment *moment)
{
    const struct scene *scene = moment->scene;
    const enum checkpoint at = moment->at;
    struct normal *normal = &moment->normal;
    normal->points = 0;
    for (int i = 0; i < POINT_COUNT; i++) {
        const enum point p = order[i];
        const struct spot *s = scene->spots[at][p];
        moment->of[p] = -1;
        if (!s[0].seen && !s[1].seen) {
            continue;
        }
        moment->of[p] = normal->points++;
        double *x = normal->x[moment->of[p]];
        x[AXIS_X] = s[SIDE_FACE].seen ? s[SIDE_FACE].at[0] : s[SIDE_LINE].depth - scene->depth[SIDE_LINE];
        x[AXIS_Y] = s[0].seen && s[1].seen ? 0.5 * (s[0].at[1] + s[1].at[1]) : s[0].seen ? s[0].at[1] : s[1].at[1];
        x[AXIS_Z] = s[SIDE_LINE].seen ? s[SIDE_LINE].at[0] : scene->depth[SIDE_FACE] - s[SIDE_FACE].depth;
    }
    look(moment);
}

static void add_marks(struct moment *moment)
{
    const struct scene *scene = moment->scene;
    for (int i = 0; i < POINT_COUNT * SCENE_SIDES; i++) {
        const enum point p = (enum point)(i / SCENE_SIDES);
        const enum scene_side side = (enum scene_side)(i % SCENE_SIDES);
        const struct spot *s = scene->spots[moment->at][p];
        const struct expected *near = &moment->near[p][side];
        const enum normal_axis across = side == SIDE_LINE ? AXIS_Z : AXIS_X;
        if (moment->of[p] < 0) {
            continue;
        }
        if (!s[side].seen) {
            value_add(&moment->normal, moment->of[p], across,
                      side == SIDE_LINE ? scene->depth[SIDE_FACE] - s[SIDE_FACE].depth
                                        : s[SIDE_LINE].depth - scene->depth[SIDE_LINE],
                      weight_of(DEPTH_M));
            continue;
        }
        for (int way = 0; way < 2; way++) {
            double a[3];
            const double off = mark_row(moment, p, side, way, a);
            normal_add_point(&moment->normal, moment->of[p], a, off, moment->sights[p][side][way].weight);
        }
        if (near->is) {
            value_add(&moment->normal, moment->of[p], across, near->at[0], near->weight);
            value_add(&moment->normal, moment->of[p], AXIS_Y, near->at[1], near->weight);
        }
    }
}

/* A point beside others. */
static void add_relations(struct moment *moment)
{
    static const double share[3] = {1.0, -0.5, -0.5};
    for (int i = 0; i < SCENE_RELATIONS * SCENE_SIDES; i++) {
        const struct scene_relation *relation = &scene_relations[i / SCENE_SIDES];
        const int points[3] = {moment->of[relation->point], moment->of[relation->beside[0]],
                               moment->of[relation->beside[1]]};
        const struct expected *beside = &moment->beside[i / SCENE_SIDES][i % SCENE_SIDES];
        if (beside->is) {
            const enum normal_axis across = i % SCENE_SIDES == SIDE_LINE ? AXIS_Z : AXIS_X;
            normal_add_axis(&moment->normal, across, 3, points, share, beside->at[0], beside->weight);
            normal_add_axis(&moment->normal, AXIS_Y, 3, points, share, beside->at[1], beside->weight);
        }
    }
}

/* A length in space; of `mask` unknowns only, when it is seen in one picture. square: of its sd. */
static void length_add(struct normal *normal, int p, int q, const bool mask[3], double length, double square,
                       bool at_most)
{
    double d[3];
    double now = 0.0;
    for (int k = 0; k < 3; k++) {
        d[k] = mask[k] ? normal->x[p][k] - normal->x[q][k] : 0.0;
        now += d[k] * d[k];
    }
    now = sqrt(now);
    if (now < 1e-3 || (at_most && now <= length + TIE_M)) {
        return;
    }
    for (int k = 0; k < 3; k++) {
        d[k] /= now;
    }
    normal_add_between(normal, p, q, d, length - now, 1.0 / square);
}

static void add_lengths(struct moment *moment)
{
    static const bool space[3] = {true, true, true};
    static const bool picture[SCENE_SIDES][3] = {{false, true, true}, {true, true, false}};
    const struct scene *scene = moment->scene;
    for (int i = 0; i < SCENE_BONES; i++) {
        const struct scene_bone *bone = &scene_bones[i];
        const struct spot *a = scene->spots[moment->at][bone->a];
        const struct spot *b = scene->spots[moment->at][bone->b];
        const int p = moment->of[bone->a];
        const int q = moment->of[bone->b];
        const double length = scene->length[bone->length];
        if (length <= 0.0 || p < 0 || q < 0) {
            continue;
        }
        const double square = scene_length_square(scene, bone->length);
        if (a[0].seen && a[1].seen && b[0].seen && b[1].seen) {
            /* Lines of sight that are not square show a slanting length too long or too short. */
            double x = a[SIDE_FACE].at[0] - b[SIDE_FACE].at[0];
            double z = a[SIDE_LINE].at[0] - b[SIDE_LINE].at[0];
            double skew = fmin(0.15 * length, SKEW_LEFT * fabs(x * z) / length);
            length_add(&moment->normal, p, q, space, length, square + skew * skew, scene_length_at_most(bone->length));
            continue;
        }
        for (int side = 0; side < SCENE_SIDES; side++) {
            if (a[side].seen && b[side].seen) {
                const double looks = 0.05 * length;
                length_add(&moment->normal, p, q, picture[side], length, square + looks * looks, true);
            }
        }
    }
}

static double slowest_fps(const struct scene *scene)
{
    double fps = 1e9;
    for (int s = 0; s < SCENE_SIDES; s++) {
        fps = scene->view[s] >= 0 ? fmin(fps, scene->fps[s]) : fps;
    }
    return fps;
}

/* A club is straight, and its butt as far behind the grip as is known: in space where both views show it, else in the
 * picture. */
static void add_straight(struct moment *moment)
{
    const struct scene *scene = moment->scene;
    const enum checkpoint at = moment->at;
    struct normal *normal = &moment->normal;
    const int of[3] = {moment->of[POINT_BUTT], moment->of[POINT_GRIP], moment->of[POINT_CLUBHEAD]};
    const struct spot *spots[3] = {scene->spots[at][POINT_BUTT], scene->spots[at][POINT_GRIP],
                                   scene->spots[at][POINT_CLUBHEAD]};
    const double length = scene->length[LENGTH_CLUB];
    if (of[0] < 0 || of[1] < 0 || of[2] < 0 || length <= 0.3) {
        return;
    }
    const double share = SHAFT_BUTT_TO_GRIP_M / length;
    for (int k = 0; k < 3; k++) {
        bool seen = true;
        for (int i = 0; i < 3; i++) {
            seen = seen && (k == 1 || spots[i][k == 0 ? SIDE_FACE : SIDE_LINE].seen);
        }
        if (!seen) {
            continue;
        }
        normal_add_axis(normal, (enum normal_axis)k, 3, of, (const double[]){1.0, -1.0 - share, share}, 0.0,
                        weight_of(STRAIGHT_SD_M));
    }
}

/* What makes a moment what it is. */
static void add_moment(struct moment *moment)
{
    const struct scene *scene = moment->scene;
    const enum checkpoint at = moment->at;
    struct normal *normal = &moment->normal;
    int grip = moment->of[POINT_GRIP];
    int head = moment->of[POINT_CLUBHEAD];
    int ball = moment->of[POINT_BALL];
    bool level = at == CHECKPOINT_SHAFT_BACK || at == CHECKPOINT_SHAFT_DOWN || at == CHECKPOINT_SHAFT_THROUGH;
    if (level && grip >= 0 && head >= 0) {
        double turn = scene_hypot(LEVEL_SD_DEG, 0.6 * shaft_turn_rate(at) / slowest_fps(scene));
        double length = scene->length[LENGTH_CLUB] > 0.0 ? scene->length[LENGTH_CLUB] : 1.0;
        difference_add(normal, head, grip, AXIS_Y, 0.0, length * sin(fmin(turn, 60.0) * VEC_RAD));
    }
    bool lead = at == CHECKPOINT_ARM_BACK || at == CHECKPOINT_ARM_DOWN;
    if (lead || at == CHECKPOINT_ARM_THROUGH) {
        int wrist = moment->of[lead ? POINT_LEAD_WRIST : POINT_TRAIL_WRIST];
        int shoulder = moment->of[lead ? POINT_LEAD_SHOULDER : POINT_TRAIL_SHOULDER];
        double sd = scene_hypot(LEVEL_ARM_SD_M, 0.6 * scene_speed(at, POINT_GRIP) / slowest_fps(scene));
        if (wrist >= 0 && shoulder >= 0) {
            difference_add(normal, wrist, shoulder, AXIS_Y, 0.0, sd);
        }
    }
    /* A ball or a clubhead that one of two views shows has no depth to compare. */
    const struct spot *b = scene->spots[at][POINT_BALL];
    const struct spot *h = scene->spots[at][POINT_CLUBHEAD];
    bool full = !scene->paired || (b[0].seen && b[1].seen && h[0].seen && h[1].seen);
    if ((at == CHECKPOINT_ADDRESS || at == CHECKPOINT_IMPACT) && ball >= 0 && head >= 0 && full) {
        double sd = scene_hypot(BALL_SD_M, 0.6 * scene_speed(at, POINT_CLUBHEAD) / slowest_fps(scene));
        for (int k = 0; k < 3; k++) {
            bool seen = k == 1 || b[k == 0 ? SIDE_FACE : SIDE_LINE].seen;
            if (seen) {
                /* An address told a little late shows the club on its way back. */
                double back = k == 0 && at == CHECKPOINT_ADDRESS ? BALL_BACK_M : 0.0;
                double now = normal->x[head][AXIS_X] - normal->x[ball][AXIS_X];
                difference_add(normal, head, ball, (enum normal_axis)k, -fmin(fmax(-now, 0.0), back), sd);
            }
        }
    }
}

/* Tests one mark one way. a, off: its row; q: cofactors of its point's unknowns. */
static void test_mark(const double a[3], double off, double q[3][3], const struct sight *sight, struct adjust_test *out,
                      int way)
{
    const struct scene_gap *gap = &sight->gap;
    double var = 0.0;
    for (int i = 0; i < 3; i++) {
        var += a[i] * (a[0] * q[i][0] + a[1] * q[i][1] + a[2] * q[i][2]);
    }
    double redundancy = 1.0 - var * sight->weight;
    if (redundancy > REDUNDANT) {
        out->left[way] = off * sight->weight;
        out->known[way] = redundancy * sight->weight;
    }
    out->share[way] = 1.0;
    if (sight->film) {
        out->share[way] = mark_share(gap);
        out->gap[way] = gap->gap;
        out->apart[way] = 1.0 / (gap->mark_sd * gap->mark_sd + gap->film_sd * gap->film_sd);
    }
}

static void test_point(struct moment *moment, enum point point, struct adjust_test out[SCENE_SIDES])
{
    const int p = moment->of[point];
    for (int side = 0; side < SCENE_SIDES; side++) {
        const struct spot *spot = &moment->scene->spots[moment->at][point][side];
        for (int way = 0; spot->seen && way < 2; way++) {
            double a[3];
            const double off = mark_row(moment, point, (enum scene_side)side, way, a);
            test_mark(a, off, moment->normal.m[p][p], &moment->sights[point][side][way], &out[side], way);
        }
    }
}

/* A place that is off by d, the mark's or the film's, shows by its part in what the picture says, and in the whole gap.
 */
double adjust_w(const struct adjust_test *test, double scale, bool film, double off[2])
{
    double sum = 0.0;
    for (int way = 0; way < 2; way++) {
        double part = film ? 1.0 - test->share[way] : test->share[way];
        double sees = part * part * test->known[way] / (scale * scale) + test->apart[way];
        double says =
            part * test->left[way] / (scale * scale) + (film ? -1.0 : 1.0) * test->gap[way] * test->apart[way];
        off[way] = sees > 0.0 ? says / sees : 0.0;
        sum += sees > 0.0 ? says * says / sees : 0.0;
    }
    return sqrt(sum);
}

void adjust_moment(const struct scene *scene, enum checkpoint at, struct adjust_moment *out)
{
    struct moment moment;
    moment.scene = scene;
    moment.at = at;
    memset(out, 0, sizeof *out);
    start(&moment);
    for (int step = 0; step < STEPS; step++) {
        normal_start(&moment.normal, weight_of(LOOSE_M));
        add_marks(&moment);
        add_lengths(&moment);
        add_relations(&moment);
        add_straight(&moment);
        add_moment(&moment);
        if (!normal_solve(&moment.normal)) {
            return;
        }
    }
    normal_invert(&moment.normal);
    for (int p = 0; p < POINT_COUNT; p++) {
        if (moment.of[p] >= 0) {
            test_point(&moment, (enum point)p, out->tests[p]);
        }
    }
}
