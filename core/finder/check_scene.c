/* Places, lengths and errors of a scene, and where slow points are expected. Medians, so that one slip does not move
 * what the others are held against. */
#include "core/finder/check_scene.h"

#include <math.h>
#include <string.h>

#include "core/shaft.h"

#define WRIST_M 0.062 /* wrist to the middle of both hands (simulated body) */
#define ROUNDS 3
#define RELATION_FINISH 3.0 /* a body that has come to rest holds itself otherwise than in the swing */
#define TILT_LEFT 0.03      /* m a metre, of roll and pitch after matching heights */

const struct scene_bone scene_bones[SCENE_BONES] = {
    {POINT_LEAD_SHOULDER, POINT_LEAD_ELBOW, LENGTH_UPPER_ARM},
    {POINT_TRAIL_SHOULDER, POINT_TRAIL_ELBOW, LENGTH_UPPER_ARM},
    {POINT_LEAD_ELBOW, POINT_LEAD_WRIST, LENGTH_FOREARM},
    {POINT_TRAIL_ELBOW, POINT_TRAIL_WRIST, LENGTH_FOREARM},
    {POINT_LEAD_HIP, POINT_LEAD_KNEE, LENGTH_THIGH},
    {POINT_TRAIL_HIP, POINT_TRAIL_KNEE, LENGTH_THIGH},
    {POINT_LEAD_KNEE, POINT_LEAD_ANKLE, LENGTH_SHANK},
    {POINT_TRAIL_KNEE, POINT_TRAIL_ANKLE, LENGTH_SHANK},
    {POINT_LEAD_SHOULDER, POINT_TRAIL_SHOULDER, LENGTH_SHOULDERS},
    {POINT_LEAD_HIP, POINT_TRAIL_HIP, LENGTH_HIPS},
    {POINT_NECK, POINT_LEAD_SHOULDER, LENGTH_NECK_SHOULDER},
    {POINT_NECK, POINT_TRAIL_SHOULDER, LENGTH_NECK_SHOULDER},
    {POINT_NECK, POINT_LEAD_HIP, LENGTH_TRUNK},
    {POINT_NECK, POINT_TRAIL_HIP, LENGTH_TRUNK},
    {POINT_HEAD, POINT_NECK, LENGTH_HEAD},
    {POINT_LEAD_WRIST, POINT_GRIP, LENGTH_WRIST},
    {POINT_TRAIL_WRIST, POINT_GRIP, LENGTH_WRIST},
    {POINT_BUTT, POINT_GRIP, LENGTH_BUTT},
    {POINT_GRIP, POINT_CLUBHEAD, LENGTH_CLUB},
    {POINT_LEAD_SHOULDER, POINT_GRIP, LENGTH_REACH},
};

/* Of a length: its spread as a share and in metres, beside the marks'. */
static const struct {
    double share, metres;
    bool at_most;
} length_kinds[LENGTH_COUNT] = {
    [LENGTH_UPPER_ARM] = {0.06, 0.01, false},     [LENGTH_FOREARM] = {0.05, 0.01, false},
    [LENGTH_THIGH] = {0.05, 0.01, false},         [LENGTH_SHANK] = {0.05, 0.01, false},
    [LENGTH_SHOULDERS] = {0.08, 0.01, false},     [LENGTH_HIPS] = {0.08, 0.01, false},
    [LENGTH_NECK_SHOULDER] = {0.10, 0.01, false}, [LENGTH_TRUNK] = {0.06, 0.01, false},
    [LENGTH_HEAD] = {0.15, 0.01, false},          [LENGTH_WRIST] = {0.0, 0.03, true},
    [LENGTH_BUTT] = {0.0, 0.03, false},           [LENGTH_CLUB] = {0.03, 0.0, false},
    [LENGTH_REACH] = {0.05, 0.02, true},
};

/* How well people agree on where a point is, m, sd, beside the marking itself (common practice, wider than the
 * simulated eye's; a trunk's line is taken to be 4 deg off). */
static const double point_spread[POINT_COUNT] = {
    [POINT_HEAD] = 0.02,           [POINT_NECK] = 0.035,
    [POINT_LEAD_SHOULDER] = 0.025, [POINT_TRAIL_SHOULDER] = 0.025,
    [POINT_LEAD_ELBOW] = 0.015,    [POINT_TRAIL_ELBOW] = 0.015,
    [POINT_LEAD_WRIST] = 0.015,    [POINT_TRAIL_WRIST] = 0.015,
    [POINT_LEAD_HIP] = 0.02,       [POINT_TRAIL_HIP] = 0.02,
    [POINT_LEAD_KNEE] = 0.015,     [POINT_TRAIL_KNEE] = 0.015,
    [POINT_LEAD_ANKLE] = 0.04,     [POINT_TRAIL_ANKLE] = 0.04,
    [POINT_LEAD_TOE] = 0.015,      [POINT_TRAIL_TOE] = 0.015,
    [POINT_GRIP] = 0.015,          [POINT_BUTT] = 0.015,
    [POINT_CLUBHEAD] = 0.015,      [POINT_BALL] = 0.01,
};

double scene_middle(double *values, int count)
{
    int from = 0;
    int to = count - 1;
    int k = count / 2;
    while (from < to) { /* Hoare's selection */
        double pivot = values[(from + to) / 2];
        int i = from;
        int j = to;
        while (i <= j) {
            while (values[i] < pivot) {
                i++;
            }
            while (values[j] > pivot) {
                j--;
            }
            if (i <= j) {
                double keep = values[i];
                values[i++] = values[j];
                values[j--] = keep;
            }
        }
        if (k <= j) {
            to = j;
        } else if (k >= i) {
            from = i;
        } else {
            break;
        }
    }
    return values[k];
}

enum point scene_other(enum point point)
{
    if (point < POINT_LEAD_SHOULDER || point > POINT_TRAIL_TOE) {
        return point;
    }
    return (point - POINT_LEAD_SHOULDER) % 2 == 0 ? point + 1 : point - 1;
}

double scene_speed(enum checkpoint at, enum point point)
{
    /* The greater of the simulated players' and one measured swing's (c3d.org sample 13), rounded up. */
    static const double club[CHECKPOINT_COUNT] = {0.3, 5, 5, 1, 10, 24, 30, 18, 10, 0.5};
    static const double hands[CHECKPOINT_COUNT] = {0.1, 1.8, 2.0, 0.5, 4.5, 6.0, 5.0, 5.0, 5.0, 0.5};
    if ((unsigned)at >= CHECKPOINT_COUNT) {
        return 0;
    }
    switch (point) {
    case POINT_CLUBHEAD:
        return club[at];
    case POINT_GRIP:
    case POINT_BUTT:
    case POINT_LEAD_WRIST:
    case POINT_TRAIL_WRIST:
        return hands[at];
    case POINT_LEAD_ELBOW:
    case POINT_TRAIL_ELBOW:
        return 0.7 * hands[at];
    case POINT_LEAD_SHOULDER:
    case POINT_TRAIL_SHOULDER:
        return 0.3 * hands[at];
    default:
        return 0.1 * hands[at];
    }
}

double scene_length_square(const struct scene *scene, enum scene_length length)
{
    const double share = length_kinds[length].share * scene->length[length];
    return share * share + length_kinds[length].metres * length_kinds[length].metres;
}

bool scene_length_at_most(enum scene_length length)
{
    return length_kinds[length].at_most;
}

/* Where a point is along the line of sight when the other view does not say: near the feet, but a level club lies along
 * the target line. */
static double usual_shift(const struct scene *scene, enum checkpoint at, enum point point, enum scene_side side)
{
    if (point != POINT_CLUBHEAD || side != SIDE_LINE) {
        return 0.0;
    }
    switch (at) {
    case CHECKPOINT_SHAFT_BACK:
    case CHECKPOINT_SHAFT_DOWN:
        return -0.9 * scene->club;
    case CHECKPOINT_SHAFT_THROUGH:
        return 0.9 * scene->club;
    default:
        return 0.0;
    }
}

/* shift: how far the point lies along the line of sight. */
static inline void place_spot(const struct scene *scene, struct spot *spot, enum scene_side side, double shift)
{
    const double feet = scene->depth[side];
    const double depth = feet + (side == SIDE_LINE ? shift : -shift);
    const double least = 0.3 * feet;
    const double most = 3.0 * feet;
    const double raised = depth > least ? depth : least;
    spot->depth = raised < most ? raised : most;
    spot->at[0] = spot->ray[0] * spot->depth - scene->side0[side];
    spot->at[1] = spot->ray[1] * spot->depth - scene->up0[side];
    if (side == SIDE_LINE) {
        spot->at[0] -= scene->skew * shift;
    } else {
        spot->at[1] += scene->tilt[0] * spot->at[0] + scene->tilt[1] * shift;
    }
}

/* What both views show is placed in turns, for each tells the other's depth. */
static void place_point(struct scene *scene, enum checkpoint at, enum point point)
{
    struct spot *spots = scene->spots[at][point];
    const enum scene_side only = spots[SIDE_LINE].seen ? SIDE_LINE : SIDE_FACE;
    if (spots[SIDE_LINE].seen && spots[SIDE_FACE].seen) {
        for (int round = 0; round < ROUNDS; round++) {
            place_spot(scene, &spots[SIDE_LINE], SIDE_LINE, spots[SIDE_FACE].at[0]);
            place_spot(scene, &spots[SIDE_FACE], SIDE_FACE, spots[SIDE_LINE].at[0]);
        }
    } else if (spots[only].seen) {
        place_spot(scene, &spots[only], only, usual_shift(scene, at, point, only));
    }
}

void scene_place_all(struct scene *scene)
{
    for (int i = 0; i < CHECKPOINT_COUNT * POINT_COUNT; i++) {
        place_point(scene, (enum checkpoint)(i / POINT_COUNT), (enum point)(i % POINT_COUNT));
    }
}

bool scene_place(const struct scene *scene, enum checkpoint at, enum point point, double out[3])
{
    const struct spot *s = scene->spots[at][point];
    if (!s[SIDE_LINE].seen || !s[SIDE_FACE].seen) {
        return false;
    }
    out[0] = s[SIDE_FACE].at[0];
    out[1] = 0.5 * (s[SIDE_LINE].at[1] + s[SIDE_FACE].at[1]);
    out[2] = s[SIDE_LINE].at[0];
    return true;
}

bool scene_in_space(const struct scene *scene, enum checkpoint at, const struct scene_bone *bone, double *length)
{
    double a[3];
    double b[3];
    if (!scene_place(scene, at, bone->a, a) || !scene_place(scene, at, bone->b, b)) {
        return false;
    }
    *length = sqrt((a[0] - b[0]) * (a[0] - b[0]) + (a[1] - b[1]) * (a[1] - b[1]) + (a[2] - b[2]) * (a[2] - b[2]));
    return true;
}

bool scene_in_picture(const struct scene *scene, enum checkpoint at, const struct scene_bone *bone,
                      enum scene_side side, double *length)
{
    const struct spot *a = &scene->spots[at][bone->a][side];
    const struct spot *b = &scene->spots[at][bone->b][side];
    if (!a->seen || !b->seen) {
        return false;
    }
    *length = scene_hypot(a->at[0] - b->at[0], a->at[1] - b->at[1]);
    return true;
}

/* Bones of one kind stand together: the first, and the one behind the last. */
static void bones_of(enum scene_length kind, int *from, int *to)
{
    for (*from = 0; *from < SCENE_BONES && scene_bones[*from].length != kind; (*from)++) {
    }
    for (*to = *from; *to < SCENE_BONES && scene_bones[*to].length == kind; (*to)++) {
    }
}

/* In one picture lengths only look shorter: the third longest. 0 under six. */
static double length_in_pictures(const struct scene *scene, enum scene_length kind)
{
    double top[3] = {0, 0, 0};
    int count = 0;
    int from;
    int to;
    bones_of(kind, &from, &to);
    const int pictures = (to - from) * SCENE_SIDES;
    for (int i = 0; i < CHECKPOINT_COUNT * pictures; i++) {
        enum checkpoint at = (enum checkpoint)(i / pictures);
        const struct scene_bone *bone = &scene_bones[from + i % pictures / SCENE_SIDES];
        double length;
        if (!scene_in_picture(scene, at, bone, (enum scene_side)(i % SCENE_SIDES), &length)) {
            continue;
        }
        count++;
        for (int k = 0; k < 3; k++) {
            if (length > top[k]) {
                double keep = top[k];
                top[k] = length;
                length = keep;
            }
        }
    }
    return count >= 6 ? top[2] : 0.0;
}

/* All lengths of one kind: in space by their median, but the arms' reach by its longest that is not a slip. */
double scene_find_length(const struct scene *scene, enum scene_length kind)
{
    double values[4 * CHECKPOINT_COUNT];
    int count = 0;
    int from;
    int to;
    bones_of(kind, &from, &to);
    for (int c = 0; scene->paired && c < CHECKPOINT_COUNT; c++) {
        for (int b = from; b < to; b++) {
            double length;
            if (scene_in_space(scene, (enum checkpoint)c, &scene_bones[b], &length)) {
                values[count++] = length;
            }
        }
    }
    if (count < 3) {
        return length_in_pictures(scene, kind);
    }
    double middle = scene_middle(values, count);
    double longest = 0.0;
    for (int i = 0; i < count; i++) {
        longest = values[i] < 1.15 * middle ? fmax(longest, values[i]) : longest;
    }
    return kind == LENGTH_REACH ? longest : middle;
}

void scene_find_lengths(struct scene *scene)
{
    for (int k = 0; k < LENGTH_COUNT; k++) {
        if (k == LENGTH_WRIST || k == LENGTH_BUTT) { /* known */
            continue;
        }
        scene->length[k] = scene_find_length(scene, (enum scene_length)k);
    }
    scene->length[LENGTH_WRIST] = WRIST_M;
    scene->length[LENGTH_BUTT] = SHAFT_BUTT_TO_GRIP_M;
    if (scene->length[LENGTH_CLUB] <= 0.0 || !scene->paired) {
        scene->length[LENGTH_CLUB] = scene->club;
    }
}

/* A flat passage's instant is told 0.02 to 0.03 s early or late, while the club begins to move or turns round, m. */
static double early_or_late(enum checkpoint at, enum point point)
{
    bool flat = at == CHECKPOINT_ADDRESS || at == CHECKPOINT_TOP;
    bool hands = point == POINT_GRIP || point == POINT_BUTT || point == POINT_LEAD_WRIST || point == POINT_TRAIL_WRIST;
    return !flat ? 0.0 : point == POINT_CLUBHEAD ? 0.05 : hands ? 0.02 : 0.005;
}

void scene_find_instants(struct scene *scene, enum scene_side side)
{
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        for (int p = 0; p < POINT_COUNT; p++) {
            const double instant = scene_speed((enum checkpoint)c, (enum point)p) / (scene->fps[side] * sqrt(12.0));
            scene->instant[c][p][side] = scene_hypot(instant, early_or_late((enum checkpoint)c, (enum point)p));
        }
    }
}

/* Errors in metres: the mark, where people say the point is, the instants of two cameras, what is left of a tilt. */
static void find_error(struct scene *scene, enum checkpoint at, enum point point, enum scene_side side)
{
    struct spot *spot = &scene->spots[at][point][side];
    if (!spot->seen) {
        return;
    }
    spot->px_per_m = scene->camera[side].focal_px / spot->depth;
    const double mark = spot->px / spot->px_per_m;
    const double instant = scene->paired ? scene->instant[at][point][side] : 0.0;
    const double nearer = spot->depth - scene->depth[side];
    const double square = mark * mark + point_spread[point] * point_spread[point] + instant * instant;
    spot->sd[0] = sqrt(square);
    spot->sd[1] = sqrt(square + TILT_LEFT * TILT_LEFT * (spot->at[0] * spot->at[0] + nearer * nearer));
}

bool scene_gap(const struct scene *scene, enum checkpoint at, enum point point, enum scene_side side, int way,
               struct scene_gap *out)
{
    const struct spot *spot = &scene->spots[at][point][side];
    const struct seen_place *film = &scene->film[at][point][side];
    if (!spot->seen || !film->seen) {
        return false;
    }
    out->gap = (spot->ray[way] - film->ray[way]) * spot->depth;
    const double hand = spot->px / spot->px_per_m;
    out->mark_sd = fmax(hand, scene->gap_times[point][side] * scene_hypot(hand, point_spread[point]));
    out->film_sd = scene->gap_times[point][side] * film->px / spot->px_per_m;
    return true;
}

void scene_find_errors(struct scene *scene)
{
    for (int i = 0; i < CHECKPOINT_COUNT * POINT_COUNT; i++) {
        find_error(scene, (enum checkpoint)(i / POINT_COUNT), (enum point)(i % POINT_COUNT), SIDE_LINE);
        find_error(scene, (enum checkpoint)(i / POINT_COUNT), (enum point)(i % POINT_COUNT), SIDE_FACE);
    }
}

/* How far from the middle of its neighbours in time a slow point strays, m, sd: twice the simulated players' spread,
 * and never under 4 cm. 0 = fast: nothing is expected. */
static double strays(enum checkpoint at, enum point point)
{
    static const double body[CHECKPOINT_COUNT] = {0.06, 0.04, 0.05, 0.06, 0.05, 0.05, 0.05, 0.05, 0.12, 0.35};
    static const double shoulder[CHECKPOINT_COUNT] = {0.08, 0.10, 0.08, 0.16, 0.09, 0.12, 0.08, 0.07, 0.12, 0.35};
    static const double heel[CHECKPOINT_COUNT] = {0.02, 0.02, 0.02, 0.02, 0.02, 0.03, 0.04, 0.06, 0.08, 0.14};
    static const double feet[CHECKPOINT_COUNT] = {0.02, 0.02, 0.02, 0.02, 0.02, 0.02, 0.03, 0.03, 0.04, 0.06};
    switch (point) {
    case POINT_HEAD:
    case POINT_NECK:
    case POINT_LEAD_HIP:
    case POINT_TRAIL_HIP:
    case POINT_LEAD_KNEE:
    case POINT_TRAIL_KNEE:
        return body[at];
    case POINT_LEAD_SHOULDER:
    case POINT_TRAIL_SHOULDER:
        return shoulder[at];
    case POINT_TRAIL_ANKLE:
        return heel[at];
    case POINT_LEAD_ANKLE:
    case POINT_LEAD_TOE:
    case POINT_TRAIL_TOE:
        return feet[at];
    case POINT_BALL:
        return at <= CHECKPOINT_SHAFT_DOWN ? 0.02 : 0.0;
    default:
        return 0.0;
    }
}

bool scene_expected(const struct scene *scene, enum checkpoint at, enum point point, enum scene_side side,
                    double out[2], double *sd)
{
    double values[2][CHECKPOINT_COUNT];
    int count = 0;
    bool stays = point >= POINT_LEAD_ANKLE && point != POINT_GRIP && point != POINT_BUTT && point != POINT_CLUBHEAD;
    double stray = strays(at, point);
    if (stray <= 0.0) {
        return false;
    }
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        bool near = stays ? c != (int)at && (point != POINT_BALL || c <= CHECKPOINT_SHAFT_DOWN)
                          : c == (int)at - 1 || c == (int)at + 1;
        const struct spot *spot = &scene->spots[c][point][side];
        if (near && spot->seen) {
            values[0][count] = spot->at[0];
            values[1][count++] = spot->at[1];
        }
    }
    bool end = at == CHECKPOINT_ADDRESS || at == CHECKPOINT_FINISH;
    if (count == 0 || (stays && count < 3) || (!stays && count < 2 && !end)) {
        return false;
    }
    for (int k = 0; k < 2; k++) {
        out[k] = stays        ? scene_middle(values[k], count)
                 : count == 2 ? 0.5 * (values[k][0] + values[k][1])
                              : values[k][0];
    }
    double own = point_spread[point];
    *sd = scene_hypot(stray, stays ? 0.5 * own : own / sqrt((double)count));
    return true;
}

const struct scene_relation scene_relations[SCENE_RELATIONS] = {
    {POINT_HEAD, {POINT_NECK, POINT_NECK}, 0.03},
    {POINT_NECK, {POINT_LEAD_SHOULDER, POINT_TRAIL_SHOULDER}, 0.03},
};

bool scene_beside(const struct scene *scene, enum checkpoint at, const struct scene_relation *relation,
                  enum scene_side side, double out[2], double *sd)
{
    int count = 0;
    out[0] = out[1] = 0.0;
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        const struct spot *point = &scene->spots[c][relation->point][side];
        const struct spot *a = &scene->spots[c][relation->beside[0]][side];
        const struct spot *b = &scene->spots[c][relation->beside[1]][side];
        bool near = c == (int)at - 1 || c == (int)at + 1;
        for (int k = 0; near && point->seen && a->seen && b->seen && k < 2; k++) {
            out[k] += point->at[k] - 0.5 * (a->at[k] + b->at[k]);
            count += k;
        }
    }
    bool end = at == CHECKPOINT_ADDRESS || at == CHECKPOINT_FINISH;
    if (count < (end ? 1 : 2)) {
        return false;
    }
    out[0] /= count;
    out[1] /= count;
    double own = scene_hypot(point_spread[relation->point],
                             0.5 * scene_hypot(point_spread[relation->beside[0]], point_spread[relation->beside[1]]));
    double strays = at == CHECKPOINT_FINISH ? RELATION_FINISH * relation->strays : relation->strays;
    *sd = scene_hypot(strays, own / sqrt((double)count));
    return true;
}

void scene_report(const struct scene *scene, enum scene_side side, enum checkpoint at, enum point point,
                  enum mark_kind kind, double by, struct mark_findings *out)
{
    if (out->count < CHECK_FINDINGS_MAX) {
        out->items[out->count++] =
            (struct mark_finding){.view = scene->view[side],
                                  .view_kind = side == SIDE_LINE ? VIEW_DOWN_THE_LINE : VIEW_FACE_ON,
                                  .checkpoint = at,
                                  .point = point,
                                  .kind = kind,
                                  .by = by};
    }
}
