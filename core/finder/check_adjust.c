/* Normal equations of one moment: three unknowns a point; rows for marks, lengths, expected places, the level shaft and
 * arm, the ball. Cholesky's factor and its inverse, point by point: a point is tied to few others, and what is zero
 * because two points are not tied is left out. */
#include "core/finder/check_adjust.h"

#include <math.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include "core/shaft.h"

#define UNKNOWNS (3 * POINT_COUNT)
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

struct row {
    int n, at[6];
    double a[6];
    double off, sd;
};

struct normal {
    int n, of[POINT_COUNT]; /* first unknown of a point, -1 = none */
    /* Of the points in their order, as bits: which before it a row of the equations, of the factor and of its inverse
     * may not be zero at. */
    uint32_t tied[POINT_COUNT], filled[POINT_COUNT], reached[POINT_COUNT];
    double m[UNKNOWNS][UNKNOWNS], right[UNKNOWNS], x[UNKNOWNS];
    double inverse[UNKNOWNS][UNKNOWNS]; /* of the Cholesky factor */
};

static void row_add(struct normal *normal, const struct row *row)
{
    double weight = 1.0 / (row->sd * row->sd);
    for (int i = 0; i < row->n; i++) {
        double wa = weight * row->a[i];
        for (int k = 0; k < row->n; k++) {
            normal->tied[row->at[i] / 3] |= 1U << row->at[k] / 3;
        }
        normal->right[row->at[i]] += wa * row->off;
        for (int k = 0; k < row->n; k++) {
            if (row->at[k] <= row->at[i]) {
                normal->m[row->at[i]][row->at[k]] += wa * row->a[k];
            }
        }
    }
}

/* How much of a mark is in what a picture says of a point; the film, where it shows the point, is the rest. */
static double mark_share(const struct scene_gap *gap)
{
    double mark = 1.0 / (gap->mark_sd * gap->mark_sd);
    return mark / (mark + 1.0 / (gap->film_sd * gap->film_sd));
}

/* A picture's row of a point: to the side (0) or up (1). Mark and film are one place with one error. */
static struct row mark_row(const struct scene *scene, const struct normal *normal, enum checkpoint at, enum point point,
                           enum scene_side side, int way)
{
    const struct spot *spot = &scene->spots[at][point][side];
    int first = normal->of[point];
    const double *x = normal->x + first;
    double depth = scene->depth[side] + (side == SIDE_LINE ? x[0] : -x[2]);
    depth = fmax(depth, 0.2 * scene->depth[side]);
    double ray = spot->ray[way];
    double sd = spot->sd[way];
    struct scene_gap gap;
    if (scene_gap(scene, at, point, side, way, &gap)) {
        double share = mark_share(&gap);
        ray -= (1.0 - share) * gap.gap / spot->depth;
        sd = sqrt(fmax(sd * sd - (1.0 - share) * gap.mark_sd * gap.mark_sd, 1e-8));
    }
    double place = way == 1 ? x[1] + scene->up0[side] : (side == SIDE_LINE ? x[2] : x[0]) + scene->side0[side];
    struct row row = {.n = 2, .off = ray * depth - place, .sd = sd};
    row.at[0] = way == 1 ? first + 1 : side == SIDE_LINE ? first + 2 : first;
    row.a[0] = 1.0;
    row.at[1] = side == SIDE_LINE ? first : first + 2; /* nearer or farther */
    row.a[1] = side == SIDE_LINE ? -ray : ray;
    if (side == SIDE_LINE && way == 0) {
        row.a[1] += scene->skew;
        row.off -= scene->skew * x[0];
    } else if (side == SIDE_FACE && way == 1) {
        row.a[1] -= scene->tilt[1];
        row.at[2] = first;
        row.a[2] = -scene->tilt[0];
        row.n = 3;
        row.off += scene->tilt[0] * x[0] + scene->tilt[1] * x[2];
    }
    return row;
}

static void value_add(struct normal *normal, int at, double value, double sd)
{
    struct row row = {.n = 1, .at = {at}, .a = {1.0}, .off = value - normal->x[at], .sd = sd};
    row_add(normal, &row);
}

/* The difference of two unknowns is as given. */
static void difference_add(struct normal *normal, int a, int b, double value, double sd)
{
    struct row row = {.n = 2, .at = {a, b}, .a = {1.0, -1.0}, .off = value - (normal->x[a] - normal->x[b]), .sd = sd};
    row_add(normal, &row);
}

static void start(const struct scene *scene, enum checkpoint at, struct normal *normal)
{
    normal->n = 0;
    for (int p = 0; p < POINT_COUNT; p++) {
        const struct spot *s = scene->spots[at][p];
        normal->of[p] = -1;
        if (!s[0].seen && !s[1].seen) {
            continue;
        }
        double *x = normal->x + normal->n;
        normal->of[p] = normal->n;
        normal->n += 3;
        x[0] = s[SIDE_FACE].seen ? s[SIDE_FACE].at[0] : s[SIDE_LINE].depth - scene->depth[SIDE_LINE];
        x[1] = s[0].seen && s[1].seen ? 0.5 * (s[0].at[1] + s[1].at[1]) : s[0].seen ? s[0].at[1] : s[1].at[1];
        x[2] = s[SIDE_LINE].seen ? s[SIDE_LINE].at[0] : scene->depth[SIDE_FACE] - s[SIDE_FACE].depth;
    }
}

static void add_marks(const struct scene *scene, enum checkpoint at, struct normal *normal)
{
    for (int p = 0; p < POINT_COUNT; p++) {
        int first = normal->of[p];
        const struct spot *s = scene->spots[at][p];
        if (first < 0) {
            continue;
        }
        for (int k = 0; k < 3; k++) {
            normal->m[first + k][first + k] += 1.0 / (LOOSE_M * LOOSE_M);
        }
        for (int side = 0; side < SCENE_SIDES; side++) {
            double expected[2];
            double sd;
            int across = first + (side == SIDE_LINE ? 2 : 0);
            if (!s[side].seen) {
                value_add(normal, across,
                          side == SIDE_LINE ? scene->depth[SIDE_FACE] - s[SIDE_FACE].depth
                                            : s[SIDE_LINE].depth - scene->depth[SIDE_LINE],
                          DEPTH_M);
                continue;
            }
            for (int way = 0; way < 2; way++) {
                struct row row = mark_row(scene, normal, at, (enum point)p, (enum scene_side)side, way);
                row_add(normal, &row);
            }
            if (scene_expected(scene, at, (enum point)p, (enum scene_side)side, expected, &sd)) {
                value_add(normal, across, expected[0], sd);
                value_add(normal, first + 1, expected[1], sd);
            }
        }
    }
}

/* A point beside others. */
static void add_relations(const struct scene *scene, enum checkpoint at, struct normal *normal)
{
    for (int i = 0; i < SCENE_RELATIONS * SCENE_SIDES; i++) {
        const struct scene_relation *relation = &scene_relations[i / SCENE_SIDES];
        const enum scene_side side = (enum scene_side)(i % SCENE_SIDES);
        const enum point points[3] = {relation->point, relation->beside[0], relation->beside[1]};
        double beside[2];
        double sd;
        bool seen = true;
        for (int k = 0; k < 3; k++) {
            seen = seen && scene->spots[at][points[k]][side].seen;
        }
        if (!seen || !scene_beside(scene, at, relation, side, beside, &sd)) {
            continue;
        }
        for (int way = 0; way < 2; way++) {
            int axis = way == 1 ? 1 : side == SIDE_LINE ? 2 : 0;
            struct row row = {.n = 3, .a = {1.0, -0.5, -0.5}, .off = beside[way], .sd = sd};
            for (int k = 0; k < 3; k++) {
                row.at[k] = normal->of[points[k]] + axis;
                row.off -= row.a[k] * normal->x[row.at[k]];
            }
            row_add(normal, &row);
        }
    }
}

/* A length in space; of `mask` unknowns only, when it is seen in one picture. */
static void length_add(struct normal *normal, int a, int b, const bool mask[3], double length, double sd, bool at_most)
{
    struct row row = {.n = 0, .sd = sd};
    double d[3];
    double now = 0.0;
    for (int k = 0; k < 3; k++) {
        d[k] = mask[k] ? normal->x[a + k] - normal->x[b + k] : 0.0;
        now += d[k] * d[k];
    }
    now = sqrt(now);
    if (now < 1e-3 || (at_most && now <= length + TIE_M)) {
        return;
    }
    for (int k = 0; k < 3; k++) {
        if (mask[k]) {
            row.at[row.n] = a + k;
            row.a[row.n++] = d[k] / now;
            row.at[row.n] = b + k;
            row.a[row.n++] = -d[k] / now;
        }
    }
    row.off = length - now;
    row_add(normal, &row);
}

static void add_lengths(const struct scene *scene, enum checkpoint at, struct normal *normal)
{
    static const bool space[3] = {true, true, true};
    static const bool picture[SCENE_SIDES][3] = {{false, true, true}, {true, true, false}};
    for (int i = 0; i < SCENE_BONES; i++) {
        const struct scene_bone *bone = &scene_bones[i];
        const struct spot *a = scene->spots[at][bone->a];
        const struct spot *b = scene->spots[at][bone->b];
        double length = scene->length[bone->length];
        double sd = scene_length_sd(scene, bone->length);
        bool at_most = scene_length_at_most(bone->length);
        if (length <= 0.0 || normal->of[bone->a] < 0 || normal->of[bone->b] < 0) {
            continue;
        }
        if (a[0].seen && a[1].seen && b[0].seen && b[1].seen) {
            /* Lines of sight that are not square show a slanting length too long or too short. */
            double x = a[SIDE_FACE].at[0] - b[SIDE_FACE].at[0];
            double z = a[SIDE_LINE].at[0] - b[SIDE_LINE].at[0];
            double skew = fmin(0.15 * length, SKEW_LEFT * fabs(x * z) / length);
            length_add(normal, normal->of[bone->a], normal->of[bone->b], space, length, hypot(sd, skew), at_most);
            continue;
        }
        for (int side = 0; side < SCENE_SIDES; side++) {
            if (a[side].seen && b[side].seen) {
                length_add(normal, normal->of[bone->a], normal->of[bone->b], picture[side], length,
                           hypot(sd, 0.05 * length), true);
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
static void add_straight(const struct scene *scene, enum checkpoint at, struct normal *normal)
{
    const int of[3] = {normal->of[POINT_BUTT], normal->of[POINT_GRIP], normal->of[POINT_CLUBHEAD]};
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
        struct row row = {
            .n = 3, .at = {of[0] + k, of[1] + k, of[2] + k}, .a = {1.0, -1.0 - share, share}, .sd = STRAIGHT_SD_M};
        for (int i = 0; i < 3; i++) {
            row.off -= row.a[i] * normal->x[row.at[i]];
        }
        row_add(normal, &row);
    }
}

/* What makes a moment what it is. */
static void add_moment(const struct scene *scene, enum checkpoint at, struct normal *normal)
{
    int grip = normal->of[POINT_GRIP];
    int head = normal->of[POINT_CLUBHEAD];
    int ball = normal->of[POINT_BALL];
    bool level = at == CHECKPOINT_SHAFT_BACK || at == CHECKPOINT_SHAFT_DOWN || at == CHECKPOINT_SHAFT_THROUGH;
    if (level && grip >= 0 && head >= 0) {
        double turn = hypot(LEVEL_SD_DEG, 0.6 * shaft_turn_rate(at) / slowest_fps(scene));
        double length = scene->length[LENGTH_CLUB] > 0.0 ? scene->length[LENGTH_CLUB] : 1.0;
        difference_add(normal, head + 1, grip + 1, 0.0, length * sin(fmin(turn, 60.0) * VEC_RAD));
    }
    bool lead = at == CHECKPOINT_ARM_BACK || at == CHECKPOINT_ARM_DOWN;
    if (lead || at == CHECKPOINT_ARM_THROUGH) {
        int wrist = normal->of[lead ? POINT_LEAD_WRIST : POINT_TRAIL_WRIST];
        int shoulder = normal->of[lead ? POINT_LEAD_SHOULDER : POINT_TRAIL_SHOULDER];
        double sd = hypot(LEVEL_ARM_SD_M, 0.6 * scene_speed(at, POINT_GRIP) / slowest_fps(scene));
        if (wrist >= 0 && shoulder >= 0) {
            difference_add(normal, wrist + 1, shoulder + 1, 0.0, sd);
        }
    }
    /* A ball or a clubhead that one of two views shows has no depth to compare. */
    const struct spot *b = scene->spots[at][POINT_BALL];
    const struct spot *h = scene->spots[at][POINT_CLUBHEAD];
    bool full = !scene->paired || (b[0].seen && b[1].seen && h[0].seen && h[1].seen);
    if ((at == CHECKPOINT_ADDRESS || at == CHECKPOINT_IMPACT) && ball >= 0 && head >= 0 && full) {
        double sd = hypot(BALL_SD_M, 0.6 * scene_speed(at, POINT_CLUBHEAD) / slowest_fps(scene));
        for (int k = 0; k < 3; k++) {
            bool seen = k == 1 || b[k == 0 ? SIDE_FACE : SIDE_LINE].seen;
            if (seen) {
                /* An address told a little late shows the club on its way back. */
                double back = k == 0 && at == CHECKPOINT_ADDRESS ? BALL_BACK_M : 0.0;
                double now = normal->x[head] - normal->x[ball];
                difference_add(normal, head + k, ball + k, -fmin(fmax(-now, 0.0), back), sd);
            }
        }
    }
}

/* Where the factor and its inverse may not be zero: a point is tied through every point before both. */
static void find_filled(struct normal *normal)
{
    for (int i = 0; i < normal->n / 3; i++) {
        uint32_t filled = 0;
        normal->reached[i] = 1U << i;
        for (int k = 0; k < i; k++) {
            if ((normal->tied[i] >> k & 1U) || (filled & normal->filled[k])) {
                filled |= 1U << k;
                normal->reached[i] |= normal->reached[k];
            }
        }
        normal->filled[i] = filled;
    }
}

/* The product of two rows of the factor over the unknowns before `end`, of which the last point's are always taken;
 * points: those before it where both may not be zero. From `sum`, and in the order of the unknowns. */
static double less_product(double sum, const double *a, const double *b, uint32_t points, int end)
{
    for (size_t j = 0; points != 0; j += 3, points >>= 1) {
        if (points & 1U) {
            sum -= a[j] * b[j];
            sum -= a[j + 1] * b[j + 1];
            sum -= a[j + 2] * b[j + 2];
        }
    }
    for (int j = end - end % 3; j < end; j++) {
        sum -= a[j] * b[j];
    }
    return sum;
}

/* In place: the lower triangle becomes the factor. False when the equations are not regular. */
static bool factor(struct normal *normal)
{
    find_filled(normal);
    for (int i = 0; i < normal->n; i++) {
        double *row = normal->m[i];
        const uint32_t filled = normal->filled[i / 3];
        for (int k = 0; k <= i; k++) {
            const double *other = normal->m[k];
            if (k / 3 < i / 3 && !(filled >> k / 3 & 1U)) {
                continue; /* zero, and stays so */
            }
            const double sum = less_product(row[k], row, other, filled & normal->filled[k / 3], k);
            if (k < i) {
                row[k] = sum / other[k];
            } else if (!(sum > 0.0) || !isfinite(sum)) {
                return false;
            } else {
                row[k] = sqrt(sum);
            }
        }
    }
    return true;
}

static void solve(struct normal *normal)
{
    double *b = normal->right;
    for (int i = 0; i < normal->n; i++) {
        for (int k = 0; k < i; k++) {
            b[i] -= normal->m[i][k] * b[k];
        }
        b[i] /= normal->m[i][i];
    }
    for (int i = normal->n - 1; i >= 0; i--) {
        b[i] /= normal->m[i][i];
        for (int k = 0; k < i; k++) {
            b[k] -= normal->m[i][k] * b[i];
        }
    }
    for (int i = 0; i < normal->n; i++) {
        normal->x[i] += fmax(-2.0, fmin(2.0, b[i]));
    }
}

/* The row less f times another, at the points that the other reaches. */
static void row_less(double *row, double f, const double *other, uint32_t reached)
{
    for (size_t i = 0; reached != 0; i += 3, reached >>= 1) {
        if (reached & 1U) {
            row[i] -= f * other[i];
            row[i + 1] -= f * other[i + 1];
            row[i + 2] -= f * other[i + 2];
        }
    }
}

static void invert_factor(struct normal *normal)
{
    for (int k = 0; k < normal->n; k++) {
        double *row = normal->inverse[k];
        memset(row, 0, (size_t)normal->n * sizeof row[0]);
        row[k] = 1.0 / normal->m[k][k];
        for (int j = 0; j < k; j++) {
            const double f = normal->m[k][j] * row[k];
            if (f != 0.0) {
                row_less(row, f, normal->inverse[j], normal->reached[j / 3]);
            }
        }
    }
}

/* Cofactor of two unknowns of one point. */
static double cofactor(const struct normal *normal, int a, int b)
{
    double sum = 0.0;
    for (int k = a > b ? a : b; k < normal->n; k++) {
        sum += normal->inverse[k][a] * normal->inverse[k][b];
    }
    return sum;
}

/* Tests one mark one way. q: cofactors of its point's unknowns, the first of which is `first`; gap: NULL without film.
 */
static void test_mark(const struct row *row, int first, const double q[3][3], const struct scene_gap *gap,
                      struct adjust_test *out, int way)
{
    double var = 0.0;
    for (int i = 0; i < row->n; i++) {
        for (int k = 0; k < row->n; k++) {
            var += row->a[i] * row->a[k] * q[row->at[i] - first][row->at[k] - first];
        }
    }
    double weight = 1.0 / (row->sd * row->sd);
    double redundancy = 1.0 - var * weight;
    if (redundancy > REDUNDANT) {
        out->left[way] = row->off * weight;
        out->known[way] = redundancy * weight;
    }
    out->share[way] = 1.0;
    if (gap != NULL) {
        out->share[way] = mark_share(gap);
        out->gap[way] = gap->gap;
        out->apart[way] = 1.0 / (gap->mark_sd * gap->mark_sd + gap->film_sd * gap->film_sd);
    }
}

static void test_point(const struct scene *scene, enum checkpoint at, enum point point, const struct normal *normal,
                       struct adjust_test out[SCENE_SIDES])
{
    int first = normal->of[point];
    double q[3][3];
    for (int i = 0; i < 3; i++) {
        for (int k = 0; k <= i; k++) {
            q[i][k] = q[k][i] = cofactor(normal, first + i, first + k);
        }
    }
    for (int side = 0; side < SCENE_SIDES; side++) {
        const struct spot *spot = &scene->spots[at][point][side];
        for (int way = 0; spot->seen && way < 2; way++) {
            struct row row = mark_row(scene, normal, at, point, (enum scene_side)side, way);
            struct scene_gap gap;
            bool both = scene_gap(scene, at, point, (enum scene_side)side, way, &gap);
            test_mark(&row, first, (const double(*)[3])q, both ? &gap : NULL, &out[side], way);
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
    struct normal normal;

    memset(out, 0, sizeof *out);
    start(scene, at, &normal);
    for (int step = 0; step < STEPS && normal.n > 0; step++) {
        for (int i = 0; i < normal.n; i++) {
            memset(normal.m[i], 0, (size_t)normal.n * sizeof normal.m[i][0]);
            normal.right[i] = 0.0;
        }
        memset(normal.tied, 0, sizeof normal.tied);
        add_marks(scene, at, &normal);
        add_lengths(scene, at, &normal);
        add_relations(scene, at, &normal);
        add_straight(scene, at, &normal);
        add_moment(scene, at, &normal);
        if (!factor(&normal)) {
            return;
        }
        solve(&normal);
    }
    if (normal.n == 0) {
        return;
    }
    invert_factor(&normal);
    for (int p = 0; p < POINT_COUNT; p++) {
        if (normal.of[p] >= 0) {
            test_point(scene, at, (enum point)p, &normal, out->tests[p]);
        }
    }
}
