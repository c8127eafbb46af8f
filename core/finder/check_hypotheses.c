/* The wrong view, the wrong hand, another moment's picture, and the order of time. */
#include "core/finder/check_hypotheses.h"

#include <math.h>

#include "core/finder/check_exchanges.h"
#include "core/shaft.h"

#define SPREAD_BETWEEN 0.17 /* ankles apart, of the body's height: from the front above, from behind below */
#define SPREAD_SD 0.045
#define SHOULDERS_BETWEEN 0.14 /* shoulders apart at address, likewise */
#define SHOULDERS_SD 0.03
#define ONE_SIGN 2.5   /* that one sign says at most */
#define VIEW_DOUBT 1.5 /* of all signs */
#define SURE 3.29
#define MIRRORED 1.5     /* sd by which a place in the film is nearer to the other side's mark, or to its own */
#define MIRRORED_LEAST 4 /* such places of a view */

static void leave_view(struct scene *scene, enum scene_side side)
{
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        for (int p = 0; p < POINT_COUNT; p++) {
            scene->spots[c][p][side].seen = false;
        }
    }
    scene->view[side] = -1;
    scene->paired = false;
}

/* Median over the moments up to `last` of how far b lies beside a, to the side or up; false under `least`. */
static bool beside_until(const struct scene *scene, enum scene_side side, enum point a, enum point b, int way,
                         enum checkpoint last, int least, double *out)
{
    double values[CHECKPOINT_COUNT];
    int count = 0;
    for (int c = 0; c <= (int)last; c++) {
        const struct spot *sa = &scene->spots[c][a][side];
        const struct spot *sb = &scene->spots[c][b][side];
        if (sa->seen && sb->seen) {
            values[count++] = sb->ray[way] - sa->ray[way];
        }
    }
    if (count < least) {
        return false;
    }
    *out = scene_middle(values, count);
    return true;
}

static bool beside(const struct scene *scene, enum scene_side side, enum point a, enum point b, int way, double *out)
{
    return beside_until(scene, side, a, b, way, CHECKPOINT_FINISH, 2, out);
}

/* The body's height as the picture shows it, of 1 m ahead: by the ankles, else by the hips. 0 when neither says. */
static double picture_height(const struct scene *scene, enum scene_side side)
{
    static const struct {
        enum point low, high;
        double share; /* of the height, in posture (simulated) */
    } spans[] = {{POINT_LEAD_ANKLE, POINT_HEAD, 0.84},
                 {POINT_TRAIL_ANKLE, POINT_HEAD, 0.84},
                 {POINT_LEAD_ANKLE, POINT_NECK, 0.75},
                 {POINT_TRAIL_ANKLE, POINT_NECK, 0.75},
                 {POINT_LEAD_ANKLE, POINT_LEAD_SHOULDER, 0.72},
                 {POINT_LEAD_ANKLE, POINT_TRAIL_SHOULDER, 0.72},
                 {POINT_LEAD_HIP, POINT_HEAD, 0.36},
                 {POINT_LEAD_HIP, POINT_NECK, 0.25},
                 {POINT_LEAD_HIP, POINT_LEAD_SHOULDER, 0.23},
                 {POINT_LEAD_HIP, POINT_TRAIL_SHOULDER, 0.23}};
    double up = 0.0;
    for (size_t i = 0; i < sizeof spans / sizeof *spans; i++) {
        if (beside(scene, side, spans[i].low, spans[i].high, 1, &up) && up / spans[i].share >= 0.02) {
            return up / spans[i].share;
        }
    }
    return 0.0;
}

static double within(double value, double limit)
{
    return fmin(fmax(value, -limit), limit);
}

/* How much a picture looks like the other view's, by what is wide and what is short from the front: ankles' and
 * shoulders' spread, feet's length across the picture, of the body's height. 0 when nothing says; spread receives the
 * ankles', else the shoulders'. */
static double view_doubt(const struct scene *scene, enum scene_side side, double *spread)
{
    double height = picture_height(scene, side);
    double doubt = 0.0;
    double apart;
    double lead;
    double trail;
    *spread = 0.0;
    if (height <= 0.0) {
        return 0.0;
    }
    if (beside_until(scene, side, POINT_TRAIL_SHOULDER, POINT_LEAD_SHOULDER, 0, CHECKPOINT_ADDRESS, 1, &apart) ||
        beside_until(scene, side, POINT_TRAIL_SHOULDER, POINT_LEAD_SHOULDER, 0, CHECKPOINT_SHAFT_BACK, 1, &apart)) {
        *spread = fabs(apart) / height;
        doubt += within((*spread - SHOULDERS_BETWEEN) / SHOULDERS_SD, ONE_SIGN);
    }
    if (beside(scene, side, POINT_TRAIL_ANKLE, POINT_LEAD_ANKLE, 0, &apart)) {
        *spread = fabs(apart) / height;
        doubt += within((*spread - SPREAD_BETWEEN) / SPREAD_SD, ONE_SIGN);
    }
    if (beside(scene, side, POINT_LEAD_ANKLE, POINT_LEAD_TOE, 0, &lead) &&
        beside(scene, side, POINT_TRAIL_ANKLE, POINT_TRAIL_TOE, 0, &trail)) {
        double feet = 0.5 * fabs(lead + trail) / height; /* both toes the same way: from behind */
        doubt += within((0.06 - feet) / 0.025, ONE_SIGN);
    }
    return side == SIDE_LINE ? doubt : -doubt;
}

/* Each view by itself; where one is wrong the other needs less, for a coach who takes one for the other takes both. */
static void wrong_views(struct scene *scene, struct mark_findings *out)
{
    double doubt[SCENE_SIDES] = {0.0, 0.0};
    double spread[SCENE_SIDES] = {0.0, 0.0};
    for (int s = 0; s < SCENE_SIDES; s++) {
        doubt[s] = scene->view[s] >= 0 ? view_doubt(scene, (enum scene_side)s, &spread[s]) : 0.0;
    }
    bool any = doubt[0] > VIEW_DOUBT || doubt[1] > VIEW_DOUBT;
    for (int s = 0; s < SCENE_SIDES; s++) {
        if (any && doubt[s] > 0.0) {
            scene_report(scene, (enum scene_side)s, CHECKPOINT_NONE, POINT_COUNT, MARK_WRONG_VIEW, spread[s], out);
            leave_view(scene, (enum scene_side)s);
        }
    }
}

/* The club's places that tell a right-hander from a left-hander: +1 right, -1 left, 0 says nothing. */
static int hand_says(const struct scene *scene, enum scene_side side, enum checkpoint at)
{
    const struct spot *grip = &scene->spots[at][POINT_GRIP][side];
    const struct spot *head = &scene->spots[at][POINT_CLUBHEAD][side];
    if (!grip->seen || !head->seen) {
        return 0;
    }
    double across = head->at[0] - grip->at[0];
    double down = grip->at[1] - head->at[1];
    double length = scene->length[LENGTH_CLUB] > 0.0 ? scene->length[LENGTH_CLUB] : 1.0;
    if (side == SIDE_LINE) {
        bool low = (at == CHECKPOINT_ADDRESS || at == CHECKPOINT_IMPACT) && down > 0.3 * length;
        return !low || fabs(across) < 0.17 * length ? 0 : across > 0.0 ? 1 : -1;
    }
    if (fabs(across) < 0.3 * length) {
        return 0;
    }
    int away = across < 0.0 ? 1 : -1;
    switch (at) {
    case CHECKPOINT_SHAFT_BACK:
    case CHECKPOINT_SHAFT_DOWN:
        return away;
    case CHECKPOINT_SHAFT_THROUGH:
        return -away;
    default:
        return 0;
    }
}

/* The feet and the hands' way say it too. */
static int body_says(const struct scene *scene, enum scene_side side)
{
    double lead;
    double trail;
    double back;
    double through;
    int sum = 0;
    if (side == SIDE_LINE) {
        if (beside(scene, side, POINT_LEAD_ANKLE, POINT_LEAD_TOE, 0, &lead) &&
            beside(scene, side, POINT_TRAIL_ANKLE, POINT_TRAIL_TOE, 0, &trail) && fabs(lead + trail) > 0.02) {
            sum += lead + trail > 0.0 ? 1 : -1;
        }
        return sum;
    }
    const struct spot *a = &scene->spots[CHECKPOINT_ADDRESS][POINT_GRIP][side];
    const struct spot *b = &scene->spots[CHECKPOINT_ARM_BACK][POINT_GRIP][side];
    const struct spot *t = &scene->spots[CHECKPOINT_ARM_THROUGH][POINT_GRIP][side];
    back = a->seen && b->seen ? b->at[0] - a->at[0] : 0.0;
    through = a->seen && t->seen ? t->at[0] - a->at[0] : 0.0;
    sum += back < -0.25 ? 1 : back > 0.25 ? -1 : 0;
    sum += through > 0.25 ? 1 : through < -0.25 ? -1 : 0;
    return sum;
}

/* The film names sides by the hand that was said: whether it shows lead where trail is marked, and the other way,
 * nearly all through a view. */
static bool film_mirrored(const struct scene *scene, enum scene_side side)
{
    int as_marked = 0;
    int mirrored = 0;
    for (int i = 0; i < CHECKPOINT_COUNT * POINT_COUNT; i++) {
        enum checkpoint at = (enum checkpoint)(i / POINT_COUNT);
        enum point point = (enum point)(i % POINT_COUNT);
        const struct spot *own = &scene->spots[at][point][side];
        const struct spot *other = &scene->spots[at][scene_other(point)][side];
        struct scene_gap gap[2];
        if (scene_other(point) == point || !other->seen || !scene_gap(scene, at, point, side, 0, &gap[0]) ||
            !scene_gap(scene, at, point, side, 1, &gap[1])) {
            continue;
        }
        double sd = scene_hypot(gap[0].mark_sd, gap[0].film_sd);
        double to_other[2];
        for (int k = 0; k < 2; k++) {
            to_other[k] = gap[k].gap + (other->ray[k] - own->ray[k]) * own->depth;
        }
        double nearer = scene_hypot(to_other[0], to_other[1]) - scene_hypot(gap[0].gap, gap[1].gap);
        mirrored += nearer < -MIRRORED * sd;
        as_marked += nearer > MIRRORED * sd;
    }
    return mirrored >= MIRRORED_LEAST && mirrored > 2 * as_marked;
}

static void wrong_hand(struct scene *scene, struct mark_findings *out)
{
    int right = 0;
    int left = 0;
    for (int s = 0; s < SCENE_SIDES; s++) {
        if (scene->view[s] < 0) {
            continue;
        }
        int body = body_says(scene, (enum scene_side)s);
        right += body > 0 ? body : 0;
        left += body < 0 ? -body : 0;
        left += film_mirrored(scene, (enum scene_side)s) ? 2 : 0;
        for (int c = 0; c < CHECKPOINT_COUNT; c++) {
            int says = hand_says(scene, (enum scene_side)s, (enum checkpoint)c);
            right += says > 0;
            left += says < 0;
        }
    }
    if (left < 2 || left < 2 * right + 1) {
        return;
    }
    for (int s = 0; s < SCENE_SIDES; s++) {
        if (scene->view[s] >= 0) {
            scene_report(scene, (enum scene_side)s, CHECKPOINT_NONE, POINT_COUNT, MARK_WRONG_HAND,
                         (double)left / (left + right), out);
            leave_view(scene, (enum scene_side)s);
        }
    }
}

void hypotheses_views(struct scene *scene, struct mark_findings *out)
{
    wrong_views(scene, out);
    wrong_hand(scene, out);
}

/* --- another moment's picture ------------------------------------------------------------------------------------ */

static const enum point movers[] = {POINT_GRIP,       POINT_CLUBHEAD,    POINT_LEAD_WRIST,    POINT_TRAIL_WRIST,
                                    POINT_LEAD_ELBOW, POINT_TRAIL_ELBOW, POINT_LEAD_SHOULDER, POINT_TRAIL_SHOULDER};
#define MOVERS (int)(sizeof movers / sizeof *movers)

#define UNKNOWN 1.0

static const struct spot *spot_of(const struct scene *scene, enum checkpoint frame, enum point point,
                                  enum scene_side side)
{
    const struct spot *spot = &scene->spots[frame][point][side];
    return spot->seen ? spot : NULL;
}

/* How badly a picture (marked under `frame`) fits what makes moment `as` that moment: the worst of what is known in sd;
 * UNKNOWN at the top and the finish, of which nothing is known. */
static double misfit(const struct scene *scene, enum scene_side side, enum checkpoint frame, enum checkpoint as)
{
    const struct spot *grip = spot_of(scene, frame, POINT_GRIP, side);
    const struct spot *head = spot_of(scene, frame, POINT_CLUBHEAD, side);
    double length = scene->length[LENGTH_CLUB] > 0.0 ? scene->length[LENGTH_CLUB] : 1.0;
    double worst = as == CHECKPOINT_TOP || as == CHECKPOINT_FINISH ? UNKNOWN : 0.0;
    if (grip != NULL && head != NULL) {
        double rise = (head->at[1] - grip->at[1]) / length;
        switch (as) {
        case CHECKPOINT_SHAFT_BACK:
        case CHECKPOINT_SHAFT_DOWN:
        case CHECKPOINT_SHAFT_THROUGH: {
            double turn = scene_hypot(6.0, 0.6 * shaft_turn_rate(as) / scene->fps[side]);
            worst = fabs(rise) / sin(fmin(turn, 40.0) * VEC_RAD);
            break;
        }
        case CHECKPOINT_ADDRESS:
        case CHECKPOINT_IMPACT:
            worst = (rise + 0.6) / 0.12;
            break;
        case CHECKPOINT_ARM_BACK:
        case CHECKPOINT_ARM_DOWN:
            worst = (0.15 - rise) / 0.15; /* the club stands up */
            break;
        case CHECKPOINT_ARM_THROUGH:
            worst = (0.0 - rise) / 0.15;
            break;
        default:
            break;
        }
    }
    bool lead = as == CHECKPOINT_ARM_BACK || as == CHECKPOINT_ARM_DOWN;
    if (lead || as == CHECKPOINT_ARM_THROUGH) {
        const struct spot *wrist = spot_of(scene, frame, lead ? POINT_LEAD_WRIST : POINT_TRAIL_WRIST, side);
        const struct spot *shoulder = spot_of(scene, frame, lead ? POINT_LEAD_SHOULDER : POINT_TRAIL_SHOULDER, side);
        wrist = wrist != NULL ? wrist : grip;
        if (wrist != NULL && shoulder != NULL) {
            double sd = scene_hypot(0.10, 0.6 * scene_speed(as, POINT_GRIP) / scene->fps[side]);
            worst = fmax(worst, fabs(wrist->at[1] - shoulder->at[1]) / sd);
        }
    }
    return worst;
}

/* Mean squared gap, in sd, of the heights that both views show; count receives how many. */
static double heights_apart(const struct scene *scene, enum checkpoint line, enum checkpoint face, int *count)
{
    double sum = 0.0;
    *count = 0;
    for (int i = 0; i < MOVERS; i++) {
        const struct spot *a = spot_of(scene, line, movers[i], SIDE_LINE);
        const struct spot *b = spot_of(scene, face, movers[i], SIDE_FACE);
        if (a != NULL && b != NULL) {
            double gap = (a->at[1] - b->at[1]) / scene_hypot(a->sd[1], b->sd[1]);
            sum += fmin(gap * gap, 40.0);
            (*count)++;
        }
    }
    return *count > 0 ? sum / *count : 0.0;
}

/* Root mean square distance of the moving points of two pictures of one view, m; count receives how many. */
static double alike(const struct scene *scene, enum scene_side side, enum checkpoint a, enum checkpoint b, int *count)
{
    double sum = 0.0;
    *count = 0;
    for (int i = 0; i < MOVERS; i++) {
        const struct spot *sa = spot_of(scene, a, movers[i], side);
        const struct spot *sb = spot_of(scene, b, movers[i], side);
        if (sa != NULL && sb != NULL) {
            double u = scene->depth[side] * (sa->ray[0] - sb->ray[0]); /* their depths go by the other view's marks */
            double v = scene->depth[side] * (sa->ray[1] - sb->ray[1]);
            sum += u * u + v * v;
            (*count)++;
        }
    }
    /* From behind, hands going back hardly move across the picture: only the club tells. */
    bool told = side == SIDE_FACE ||
                (spot_of(scene, a, POINT_CLUBHEAD, side) != NULL && spot_of(scene, b, POINT_CLUBHEAD, side) != NULL);
    return *count > 0 && told ? sqrt(sum / *count) : 1e9;
}

static bool picture_confirmed(const struct scene *scene, enum scene_side side, enum checkpoint at)
{
    for (int i = 0; i < MOVERS; i++) {
        const struct spot *spot = spot_of(scene, at, movers[i], side);
        if (spot != NULL && !spot->settled) {
            return false;
        }
    }
    return true;
}

#define ALIKE_M 0.07
#define MOMENT_DOUBT 4.0
#define EITHER 2.0 /* of two pictures alike, misfits that differ by less do not say which is wrong */

/* How strongly the picture of a view's checkpoint looks like one of another moment; which: by how many. */
static double moment_doubt(const struct scene *scene, enum scene_side side, enum checkpoint at, int *which)
{
    double own = misfit(scene, side, at, at);
    double best = 0.0;
    int count;
    double gap = scene->paired ? heights_apart(scene, at, at, &count) : 0.0;
    *which = 0;
    for (int step = -1; step <= 1; step += 2) {
        int c = (int)at + step;
        if (c < 0 || c >= CHECKPOINT_COUNT) {
            continue;
        }
        int shared;
        double same = alike(scene, side, at, (enum checkpoint)c, &shared);
        double theirs = misfit(scene, side, at, (enum checkpoint)c);
        double doubt = 0.0;
        if (shared >= 2 && same < ALIKE_M) {
            /* The neighbour's picture again: the one of the two that fits its own name less. */
            doubt = 6.0 + own - misfit(scene, side, (enum checkpoint)c, (enum checkpoint)c);
        } else if (own > SURE && theirs < 2.0) {
            doubt = own;
        }
        if (scene->paired && gap > 6.0) {
            int n;
            double other = side == SIDE_LINE ? heights_apart(scene, at, (enum checkpoint)c, &n)
                                             : heights_apart(scene, (enum checkpoint)c, at, &n);
            if (n >= 3 && other < 3.0 && gap > 3.0 * other) {
                doubt += sqrt(gap) + (own > 2.0 ? own : 0.0);
            }
        }
        if (doubt > best) {
            best = doubt;
            *which = step;
        }
    }
    return best;
}

struct moment_trial {
    double doubt;
    enum scene_side side;
    enum checkpoint at;
    int which;
};

/* The picture of a view that looks most like another moment's. */
static void doubtful_moment(const struct scene *scene, enum scene_side side, struct moment_trial *best)
{
    for (int c = 0; c < CHECKPOINT_COUNT && scene->view[side] >= 0; c++) {
        int which;
        double doubt = moment_doubt(scene, side, (enum checkpoint)c, &which);
        if (doubt > best->doubt && !picture_confirmed(scene, side, (enum checkpoint)c)) {
            *best = (struct moment_trial){doubt, side, (enum checkpoint)c, which};
        }
    }
}

/* Two neighbours show one picture, and what makes each moment that moment does not say whose it is. */
static bool either(const struct scene *scene, enum scene_side side, enum checkpoint at, enum checkpoint next)
{
    int shared;
    double same = alike(scene, side, at, next, &shared);
    double gap = misfit(scene, side, at, at) - misfit(scene, side, next, next);
    return shared >= 2 && same < ALIKE_M && fabs(gap) < EITHER && !picture_confirmed(scene, side, next);
}

static void wrong_moments(struct scene *scene, struct mark_findings *out)
{
    for (int round = 0; round < CHECKPOINT_COUNT; round++) {
        struct moment_trial best = {.doubt = MOMENT_DOUBT};
        doubtful_moment(scene, SIDE_LINE, &best);
        doubtful_moment(scene, SIDE_FACE, &best);
        if (best.which == 0) {
            return;
        }
        scene_report(scene, best.side, best.at, POINT_COUNT, MARK_WRONG_MOMENT, best.which, out);
        enum checkpoint next = (enum checkpoint)((int)best.at + best.which);
        if (either(scene, best.side, best.at, next)) {
            scene_report(scene, best.side, next, POINT_COUNT, MARK_WRONG_MOMENT, -best.which, out);
        }
        for (int p = 0; p < POINT_COUNT; p++) {
            scene->spots[best.at][p][best.side].seen = false;
        }
        scene->time[best.side][best.at] = NAN;
    }
}

/* Times that are not in the order of the moments: the fewest that must go. */
static void order_of_time(const struct scene *scene, enum scene_side side, struct mark_findings *out)
{
    int longest[CHECKPOINT_COUNT] = {0};
    int before[CHECKPOINT_COUNT];
    bool kept[CHECKPOINT_COUNT] = {false};
    const double *time = scene->time[side];
    int last = -1;
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        before[c] = -1;
        if (isnan(time[c])) {
            continue;
        }
        longest[c] = 1;
        for (int k = 0; k < c; k++) {
            if (!isnan(time[k]) && time[k] < time[c] && longest[k] + 1 > longest[c]) {
                longest[c] = longest[k] + 1;
                before[c] = k;
            }
        }
        last = last < 0 || longest[c] > longest[last] ? c : last;
    }
    for (int c = last; c >= 0; c = before[c]) {
        kept[c] = true;
    }
    double latest = -INFINITY;
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        if (kept[c]) {
            latest = time[c];
        } else if (!isnan(time[c])) {
            scene_report(scene, side, (enum checkpoint)c, POINT_COUNT, MARK_ORDER_OF_TIME,
                         isfinite(latest) ? latest - time[c] : 0.0, out);
        }
    }
}

void hypotheses_pictures(struct scene *scene, struct mark_findings *out)
{
    exchanges_ends(scene, out);
    exchanges_sides(scene, out);
    wrong_moments(scene, out);
    for (int s = 0; s < SCENE_SIDES; s++) {
        if (scene->view[s] >= 0) {
            order_of_time(scene, (enum scene_side)s, out);
        }
    }
    scene_measure(scene);
}
