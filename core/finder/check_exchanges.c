/* An exchange is tried where it would move marks: when what the marks are held against fits far better after it, it is
 * named and undone. */
#include "core/finder/check_exchanges.h"

#include <math.h>

#include "core/shaft.h"

#define APART_M 0.06   /* marks nearer to one another than this: an exchange changes nothing */
#define CAP 25.0       /* of one squared misfit: no single one decides */
#define FILM_CAP 9.0   /* of one from the film */
#define BETTER 14.0    /* how much an exchange must mend */
#define BUTT_SD_M 0.02 /* where hands lie on the grip */
#define WRISTS_M 0.09  /* wrist from wrist (simulated) */
#define WRISTS_SD_M 0.04
#define SIDES_BETTER 10.0 /* BETTER, of lead and trail ... */
#define SIDES_SHARE 0.45  /* ... and at least this share of what was wrong */
#define TIE 1e-9     /* gains that differ by less are one: what moves fewer marks stays, whatever the last bits say */
#define REACH_M 0.70 /* shoulder to grip, where the arms are not seen */

static double capped(double misfit)
{
    return fmin(misfit * misfit, CAP);
}

static double over(double distance, double limit, double sd)
{
    return capped(fmax(0.0, distance - limit) / sd);
}

/* How badly marks fit where the film shows their points, squared; no more than a few sd each, for a program errs too.
 */
static double film_misfit(const struct scene *scene, enum scene_side side, enum checkpoint at, enum point a,
                          enum point b)
{
    const enum point points[2] = {a, b};
    double sum = 0.0;
    for (int i = 0; i < 4; i++) {
        struct scene_gap gap;
        if (scene_gap(scene, at, points[i / 2], side, i % 2, &gap)) {
            double misfit = gap.gap / scene_hypot(gap.mark_sd, gap.film_sd);
            sum += fmin(misfit * misfit, FILM_CAP);
        }
    }
    return sum;
}

static double apart(const struct spot *a, const struct spot *b)
{
    return scene_hypot(a->at[0] - b->at[0], a->at[1] - b->at[1]);
}

static void exchange(struct spot *a, struct spot *b)
{
    struct spot keep = *a;
    *a = *b;
    *b = keep;
}

bool exchanges_try(struct scene *scene, enum scene_side side, enum checkpoint at, enum point a, enum point b)
{
    struct spot *sa = &scene->spots[at][a][side];
    struct spot *sb = &scene->spots[at][b][side];
    if (a == b || !sa->seen || !sb->seen || (sa->settled && sb->settled)) {
        return false;
    }
    exchange(sa, sb);
    return true;
}

/* How badly the butt lies where grip and clubhead say that it is: beyond the grip, on their line. */
static double butt_misfit(const struct scene *scene, const struct spot *butt, const struct spot *grip,
                          const struct spot *head)
{
    double share = SHAFT_BUTT_TO_GRIP_M / (scene->club > 0.0 ? scene->club : 1.0);
    double sum = 0.0;
    for (int k = 0; k < 2; k++) {
        double off = butt->at[k] - grip->at[k] + share * (head->at[k] - grip->at[k]);
        double marks = scene_hypot(butt->px / butt->px_per_m, grip->px / grip->px_per_m);
        sum += capped(off / scene_hypot(BUTT_SD_M, marks));
    }
    return sum;
}

/* How badly two marks fit as grip and clubhead. */
static double ends_misfit(const struct scene *scene, enum scene_side side, enum checkpoint at, const struct spot *grip,
                          const struct spot *head)
{
    const struct spot(*spots)[SCENE_SIDES] = scene->spots[at];
    double reach = scene->length[LENGTH_REACH] > 0.0 ? scene->length[LENGTH_REACH] : REACH_M;
    double sum = 0.0;
    for (int p = POINT_LEAD_WRIST; p <= POINT_TRAIL_WRIST; p++) {
        sum += spots[p][side].seen ? over(apart(grip, &spots[p][side]), 0.08, 0.06) : 0.0;
    }
    for (int p = POINT_LEAD_SHOULDER; p <= POINT_TRAIL_SHOULDER; p++) {
        sum += spots[p][side].seen ? over(apart(grip, &spots[p][side]), reach, 0.08) : 0.0;
    }
    for (int p = POINT_LEAD_ELBOW; p <= POINT_TRAIL_ELBOW; p++) {
        sum += spots[p][side].seen ? over(apart(grip, &spots[p][side]), 0.55 * reach, 0.10) : 0.0;
    }
    if (spots[POINT_BUTT][side].seen) {
        sum += butt_misfit(scene, &spots[POINT_BUTT][side], grip, head);
    }
    if (at == CHECKPOINT_ADDRESS || at == CHECKPOINT_IMPACT) {
        sum += over(head->at[1] - grip->at[1], -0.3, 0.10);
        sum += spots[POINT_BALL][side].seen ? over(apart(head, &spots[POINT_BALL][side]), 0.15, 0.15) : 0.0;
    }
    const struct spot *other_grip = &spots[POINT_GRIP][1 - side];
    const struct spot *other_head = &spots[POINT_CLUBHEAD][1 - side];
    if (scene->paired && other_grip->seen && other_head->seen) {
        sum += capped((grip->at[1] - other_grip->at[1]) / 0.12) + capped((head->at[1] - other_head->at[1]) / 0.20);
    }
    double near[2] = {0.0, 0.0};
    int count = 0;
    for (int step = -1; step <= 1; step += 2) {
        int c = (int)at + step;
        if (c >= 0 && c < CHECKPOINT_COUNT && scene->spots[c][POINT_GRIP][side].seen) {
            near[0] += scene->spots[c][POINT_GRIP][side].at[0];
            near[1] += scene->spots[c][POINT_GRIP][side].at[1];
            count++;
        }
    }
    if (count == 2) {
        sum += over(scene_hypot(grip->at[0] - near[0] / 2, grip->at[1] - near[1] / 2), 0.25, 0.2);
    }
    return sum;
}

static bool asked(const struct spot *a, const struct spot *b)
{
    return !a->settled || !b->settled;
}

/* Butt and grip lie on the wrong sides of one another, or the butt is where the clubhead is. */
static void butt_end(struct scene *scene, enum scene_side side, enum checkpoint at, struct mark_findings *out)
{
    struct spot *grip = &scene->spots[at][POINT_GRIP][side];
    struct spot *head = &scene->spots[at][POINT_CLUBHEAD][side];
    struct spot *butt = &scene->spots[at][POINT_BUTT][side];
    if (!grip->seen || !head->seen || !butt->seen) {
        return;
    }
    double length = apart(grip, head);
    double near = apart(grip, butt);
    double along = ((butt->at[0] - grip->at[0]) * (head->at[0] - grip->at[0]) +
                    (butt->at[1] - grip->at[1]) * (head->at[1] - grip->at[1])) /
                   fmax(length, 1e-6);
    if (near > 0.4 && length < 0.2 && asked(butt, head)) {
        scene_report(scene, side, at, POINT_BUTT, MARK_ENDS_EXCHANGED, apart(butt, head) * butt->px_per_m, out);
        exchange(butt, head);
    } else if (near < 0.16 && length > 0.3 && along > 0.045 && asked(butt, grip)) {
        scene_report(scene, side, at, POINT_BUTT, MARK_ENDS_EXCHANGED, near * butt->px_per_m, out);
        exchange(butt, grip);
    }
}

static void club_ends(struct scene *scene, enum scene_side side, enum checkpoint at, struct mark_findings *out)
{
    struct spot *grip = &scene->spots[at][POINT_GRIP][side];
    struct spot *head = &scene->spots[at][POINT_CLUBHEAD][side];
    if (!grip->seen || !head->seen || apart(grip, head) <= APART_M || !asked(grip, head)) {
        return;
    }
    double before = ends_misfit(scene, side, at, grip, head) + film_misfit(scene, side, at, POINT_GRIP, POINT_CLUBHEAD);
    double after = ends_misfit(scene, side, at, head, grip);
    exchange(grip, head);
    after += film_misfit(scene, side, at, POINT_GRIP, POINT_CLUBHEAD);
    if (before > after + BETTER) {
        scene_report(scene, side, at, POINT_GRIP, MARK_ENDS_EXCHANGED, apart(grip, head) * grip->px_per_m, out);
        return;
    }
    exchange(grip, head);
}

void exchanges_ends(struct scene *scene, struct mark_findings *out)
{
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        for (int s = 0; s < SCENE_SIDES; s++) {
            club_ends(scene, (enum scene_side)s, (enum checkpoint)c, out);
            butt_end(scene, (enum scene_side)s, (enum checkpoint)c, out);
        }
    }
    scene_measure(scene);
}

/* --- lead and trail ------------------------------------------------------------------------------------------------
 */

/* Wrists lie along the club, the lead one nearer to its butt: how badly they do, squared. */
static double wrists_misfit(const struct scene *scene, enum scene_side side, enum checkpoint at)
{
    const struct spot *grip = &scene->spots[at][POINT_GRIP][side];
    const struct spot *head = &scene->spots[at][POINT_CLUBHEAD][side];
    const struct spot *lead = &scene->spots[at][POINT_LEAD_WRIST][side];
    const struct spot *trail = &scene->spots[at][POINT_TRAIL_WRIST][side];
    double share = WRISTS_M / (scene->club > 0.0 ? scene->club : 1.0);
    double sum = 0.0;
    if (!grip->seen || !head->seen || !lead->seen || !trail->seen) {
        return 0.0;
    }
    for (int k = 0; k < 2; k++) {
        double off = lead->at[k] - trail->at[k] - share * (grip->at[k] - head->at[k]);
        sum +=
            capped(off / scene_hypot(WRISTS_SD_M, scene_hypot(lead->px / lead->px_per_m, trail->px / trail->px_per_m)));
    }
    return sum;
}

/* The way from trail to lead turns little from one moment to the next: how badly it fits, squared. */
static double way_misfit(const struct scene *scene, enum scene_side side, enum checkpoint at, enum point lead)
{
    const struct spot *now = &scene->spots[at][lead][side];
    double sum[2] = {0.0, 0.0};
    int count = 0;
    double turn = lead == POINT_LEAD_SHOULDER ? 0.20 : lead == POINT_LEAD_ELBOW ? 0.30 : 0.06;
    turn = at >= CHECKPOINT_ARM_THROUGH ? 2.0 * turn : turn;
    if (lead == POINT_LEAD_WRIST) {
        return wrists_misfit(scene, side, at);
    }
    if (!now[0].seen || !scene->spots[at][lead + 1][side].seen) {
        return 0.0;
    }
    for (int c = (int)at - 1; c <= (int)at + 1; c += 2) {
        if (c < 0 || c >= CHECKPOINT_COUNT) {
            continue;
        }
        const struct spot *a = &scene->spots[c][lead][side];
        const struct spot *b = &scene->spots[c][lead + 1][side];
        if (a->seen && b->seen) {
            sum[0] += a->at[0] - b->at[0];
            sum[1] += a->at[1] - b->at[1];
            count++;
        }
    }
    if (count == 0) {
        return 0.0;
    }
    const struct spot *other = &scene->spots[at][lead + 1][side];
    double misfit = 0.0;
    for (int k = 0; k < 2; k++) {
        double sd = scene_hypot(turn, 1.5 * scene_hypot(now->sd[k], other->sd[k]) / sqrt((double)count));
        misfit += capped((now->at[k] - other->at[k] - sum[k] / count) / sd);
    }
    return misfit;
}

/* How badly a joint's two marks fit in a picture: their neighbours in time, the other view's heights, the bones. */
static double joint_misfit(const struct scene *scene, enum scene_side side, enum checkpoint at, enum point lead)
{
    double sum = way_misfit(scene, side, at, lead) + film_misfit(scene, side, at, lead, (enum point)(lead + 1));
    for (int p = (int)lead; p <= (int)lead + 1; p++) {
        const struct spot *spot = &scene->spots[at][p][side];
        const struct spot *across = &scene->spots[at][p][1 - side];
        double expected[2];
        double sd;
        if (!spot->seen) {
            continue;
        }
        if (scene_expected(scene, at, (enum point)p, side, expected, &sd)) {
            sum += capped((spot->at[0] - expected[0]) / scene_hypot(sd, spot->sd[0]));
            sum += capped((spot->at[1] - expected[1]) / scene_hypot(sd, spot->sd[1]));
        }
        if (scene->paired && across->seen) {
            sum += capped((spot->at[1] - across->at[1]) / scene_hypot(spot->sd[1], across->sd[1]));
        }
    }
    for (int b = 0; b < SCENE_BONES; b++) {
        const struct scene_bone *bone = &scene_bones[b];
        bool of_joint = (bone->a == lead || bone->a == lead + 1 || bone->b == lead || bone->b == lead + 1) &&
                        bone->length != LENGTH_SHOULDERS && bone->length != LENGTH_HIPS;
        double length = scene->length[bone->length];
        double now;
        if (!of_joint || length <= 0.0) {
            continue;
        }
        double sd = sqrt(scene_length_square(scene, bone->length) + 0.03 * 0.03);
        if (scene_in_space(scene, at, bone, &now)) {
            double misfit = (now - length) / sd;
            sum += capped(scene_length_at_most(bone->length) ? fmax(0.0, misfit) : misfit);
        } else if (scene_in_picture(scene, at, bone, side, &now)) {
            sum += over(now, length, scene_hypot(sd, 0.05 * length));
        }
    }
    return sum;
}

static bool joint_exchange(struct scene *scene, enum scene_side side, enum checkpoint at, enum point lead)
{
    struct spot *a = &scene->spots[at][lead][side];
    struct spot *b = &scene->spots[at][lead + 1][side];
    if (!a->seen || !b->seen) {
        return false;
    }
    exchange(a, b);
    return true;
}

static double joint_apart(const struct scene *scene, enum scene_side side, enum checkpoint at, enum point lead)
{
    const struct spot *a = &scene->spots[at][lead][side];
    const struct spot *b = &scene->spots[at][lead + 1][side];
    return a->seen && b->seen && asked(a, b) ? apart(a, b) : 0.0;
}

static double all_misfit(const struct scene *scene, enum scene_side side, enum checkpoint at)
{
    double sum = 0.0;
    for (int p = POINT_LEAD_SHOULDER; p <= POINT_LEAD_TOE; p += 2) {
        sum += joint_misfit(scene, side, at, (enum point)p);
    }
    return sum;
}

static void exchange_all(struct scene *scene, enum scene_side side, enum checkpoint at)
{
    for (int p = POINT_LEAD_SHOULDER; p <= POINT_LEAD_TOE; p += 2) {
        (void)joint_exchange(scene, side, at, (enum point)p);
    }
}

struct trial {
    double gain, apart;
    enum scene_side side;
    enum checkpoint at;
    enum point lead; /* POINT_COUNT = all */
};

static void try_picture(struct scene *scene, enum scene_side side, enum checkpoint at, struct trial *best)
{
    double widest = 0.0;
    int wide = 0;
    for (int p = POINT_LEAD_SHOULDER; p <= POINT_LEAD_TOE; p += 2) {
        double gap = joint_apart(scene, side, at, (enum point)p);
        if (gap < APART_M) {
            continue;
        }
        wide++;
        widest = fmax(widest, gap);
        double before = joint_misfit(scene, side, at, (enum point)p);
        if (before < SIDES_BETTER) {
            continue;
        }
        (void)joint_exchange(scene, side, at, (enum point)p);
        double gain = before - joint_misfit(scene, side, at, (enum point)p);
        (void)joint_exchange(scene, side, at, (enum point)p);
        if (gain > best->gain + TIE && gain > SIDES_SHARE * before) {
            *best = (struct trial){gain, gap, side, at, (enum point)p};
        }
    }
    if (wide < 2) {
        return;
    }
    double before = all_misfit(scene, side, at);
    if (before < SIDES_BETTER) {
        return;
    }
    exchange_all(scene, side, at);
    double gain = before - all_misfit(scene, side, at);
    exchange_all(scene, side, at);
    if (gain > best->gain + TIE && gain > SIDES_SHARE * before) {
        *best = (struct trial){gain, widest, side, at, POINT_COUNT};
    }
}

/* All pictures of a view: from the front the lead foot stands nearer to the target. */
static void view_exchanged(struct scene *scene, struct mark_findings *out)
{
    enum scene_side side = SIDE_FACE;
    int right = 0;
    int wrong = 0;
    for (int c = 0; c < CHECKPOINT_COUNT && scene->view[side] >= 0; c++) {
        const struct spot *lead = &scene->spots[c][POINT_LEAD_ANKLE][side];
        const struct spot *trail = &scene->spots[c][POINT_TRAIL_ANKLE][side];
        if (lead->seen && trail->seen && fabs(lead->at[0] - trail->at[0]) > APART_M && asked(lead, trail)) {
            right += lead->at[0] > trail->at[0];
            wrong += lead->at[0] < trail->at[0];
        }
    }
    if (wrong >= 2 && wrong > 2 * right) {
        scene_report(scene, side, CHECKPOINT_NONE, POINT_COUNT, MARK_SIDES_EXCHANGED, wrong, out);
        for (int c = 0; c < CHECKPOINT_COUNT; c++) {
            exchange_all(scene, side, (enum checkpoint)c);
        }
        scene_measure(scene);
    }
}

void exchanges_sides(struct scene *scene, struct mark_findings *out)
{
    view_exchanged(scene, out);
    for (int round = 0; round < CHECKPOINT_COUNT; round++) {
        struct trial best = {.gain = SIDES_BETTER};
        for (int s = 0; s < SCENE_SIDES; s++) {
            for (int c = 0; c < CHECKPOINT_COUNT && scene->view[s] >= 0; c++) {
                try_picture(scene, (enum scene_side)s, (enum checkpoint)c, &best);
            }
        }
        if (best.gain <= SIDES_BETTER) {
            return;
        }
        double scale = scene->camera[best.side].focal_px / scene->depth[best.side];
        scene_report(scene, best.side, best.at, best.lead, MARK_SIDES_EXCHANGED, best.apart * scale, out);
        if (best.lead == POINT_COUNT) {
            exchange_all(scene, best.side, best.at);
        } else {
            (void)joint_exchange(scene, best.side, best.at, best.lead);
        }
        scene_measure(scene);
    }
}
