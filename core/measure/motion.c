/* Measures from points in space: a rule is a formula over places at checkpoints, and the errors of the points and of
 * the checkpoint's instant are carried through it by sigma points.
 *
 * A point's error has a fixed part, the same all through the swing, which cancels in a change since address, and a part
 * that is new at each checkpoint (motion.h). */
#include <math.h>
#include <string.h>

#include "core/measure/families.h"
#include "core/measure/motion.h"
#include "core/weight.h"

#define IMPACT_BEND_SD_DEG 2.0 /* the body's filter cuts the corner of a fast wrist (simulated) */
#define HANDS_GAP_SD_M 0.003   /* the butt lies a hand above the grip, more or less (common practice) */
#define HANDS_HEIGHT_SD 0.005  /* arm lengths: the filter cuts the corner of fast hands (simulated) */
#define SLOPE_SEEN_SD_DEG 0.8  /* of the shaft at address, seen down the line */

/* Formulas: places of the rule's points in order, metres; slope of the swing's plane, deg. */
typedef bool (*place_formula)(const struct vec3 *p, double slope, double *out);

struct motion_point {
    enum checkpoint checkpoint;
    enum point point;
};

struct place_rule {
    enum measure_item item;
    place_formula formula;
    int count;
    struct motion_point places[PLACES_MAX];
    bool circular;
    bool level; /* shaft or arm is carried to level by the formula, so the instant adds no error of its own */
    double own; /* a systematic error that the points don't carry */
};

static struct vec3 mid(struct vec3 a, struct vec3 b)
{
    return vec_scale(vec_add(a, b), 0.5);
}

static struct plane_point across(struct vec3 p)
{
    return (struct plane_point){p.z, p.y};
}

static struct plane_point along(struct vec3 p)
{
    return (struct plane_point){p.x, p.y};
}

/* lead hip, trail hip, neck */
static bool spine(const struct vec3 *p, double slope, double *out)
{
    (void)slope;
    return posture_lean(across(mid(p[0], p[1])), across(p[2]), out);
}

static bool spine_change(const struct vec3 *p, double slope, double *out)
{
    double before;
    double after;
    if (!spine(p, slope, &before) || !spine(p + 3, slope, &after)) {
        return false;
    }
    *out = after - before;
    return true;
}

static bool lean(const struct vec3 *p, double slope, double *out)
{
    (void)slope;
    if (!posture_lean(along(mid(p[0], p[1])), along(p[2]), out)) {
        return false;
    }
    *out = -*out;
    return true;
}

/* end, joint, end */
static bool bend(const struct vec3 *p, double slope, double *out)
{
    struct vec3 a = vec_sub(p[0], p[1]);
    struct vec3 b = vec_sub(p[2], p[1]);
    (void)slope;
    *out = 180.0 - atan2(vec_norm(vec_cross(a, b)), vec_dot(a, b)) * VEC_DEG;
    return vec_norm(a) > 1e-6 && vec_norm(b) > 1e-6;
}

static bool both_bends(const struct vec3 *p, double slope, double *out)
{
    double lead;
    double trail;
    if (!bend(p, slope, &lead) || !bend(p + 3, slope, &trail)) {
        return false;
    }
    *out = 0.5 * (lead + trail);
    return true;
}

static bool fold(const struct vec3 *p, double slope, double *out)
{
    double trail;
    double lead;
    if (!bend(p, slope, &trail) || !bend(p + 3, slope, &lead)) {
        return false;
    }
    *out = trail - lead;
    return true;
}

/* grip, clubhead, lead hip, trail hip, lead knee, trail knee */
static bool hands_gap(const struct vec3 *p, double slope, double *out)
{
    struct vec3 up;
    (void)slope;
    if (!vec_unit(vec_sub(p[0], p[1]), &up)) {
        return false;
    }
    struct vec3 butt = vec_add(p[0], vec_scale(up, SHAFT_BUTT_TO_GRIP_M));
    return posture_hands_gap(across(butt), across(mid(p[2], p[3])), across(mid(p[4], p[5])), out);
}

/* grip, clubhead */
static bool shaft_direction(const struct vec3 *p, struct vec3 *out)
{
    return vec_unit(vec_sub(p[1], p[0]), out);
}

static bool plan_at(const struct vec3 *p, double slope, enum checkpoint checkpoint, double *out)
{
    struct vec3 s;
    if (!shaft_direction(p, &s)) {
        return false;
    }
    *out = sigma_wrap(shaft_plan_angle(s, checkpoint) - shaft_on_plane(slope, shaft_elevation(s)));
    return true;
}

static bool plan_back(const struct vec3 *p, double slope, double *out)
{
    return plan_at(p, slope, CHECKPOINT_SHAFT_BACK, out);
}

static bool plan_top(const struct vec3 *p, double slope, double *out)
{
    return plan_at(p, slope, CHECKPOINT_TOP, out);
}

static bool plan_down(const struct vec3 *p, double slope, double *out)
{
    return plan_at(p, slope, CHECKPOINT_SHAFT_DOWN, out);
}

static bool plan_through(const struct vec3 *p, double slope, double *out)
{
    return plan_at(p, slope, CHECKPOINT_SHAFT_THROUGH, out);
}

static bool elevation(const struct vec3 *p, double slope, double *out)
{
    struct vec3 s;
    (void)slope;
    if (!shaft_direction(p, &s)) {
        return false;
    }
    *out = shaft_elevation(s);
    return true;
}

/* grip and clubhead at address, then on the way down */
static bool steepness(const struct vec3 *p, double slope, double *out)
{
    double address;
    double down;
    (void)slope;
    if (!shaft_slope_across(p[1], p[0], &address) || !shaft_slope_across(p[2], p[3], &down)) {
        return false;
    }
    *out = sigma_wrap(down - address);
    return true;
}

/* lead, trail */
static bool shoulder_plane(const struct vec3 *p, double slope, double *out)
{
    (void)slope;
    double level = hypot(p[1].x - p[0].x, p[1].z - p[0].z);
    *out = atan2(p[1].y - p[0].y, level) * VEC_DEG;
    return level > 1e-6;
}

/* What a place has moved toward the target since address, over a width at address: width's ends, then two pairs whose
 * middles are compared. */
static bool shift(const struct vec3 *p, double slope, double *out)
{
    double width = vec_norm(vec_sub(p[0], p[1]));
    (void)slope;
    *out = (mid(p[4], p[5]).x - mid(p[2], p[3]).x) / width;
    return width > 0.02;
}

static bool thrust(const struct vec3 *p, double slope, double *out)
{
    (void)slope;
    *out = mid(p[2], p[3]).z - mid(p[0], p[1]).z;
    return true;
}

/* Turn of lead-trail lines since address, away from the target: pairs at address and now. */
static bool turn(const struct vec3 *p, double slope, double *out)
{
    struct vec3 before = vec_sub(p[0], p[1]);
    struct vec3 now = vec_sub(p[2], p[3]);
    (void)slope;
    *out = sigma_wrap((atan2(now.z, now.x) - atan2(before.z, before.x)) * VEC_DEG);
    return hypot(before.x, before.z) > 0.02 && hypot(now.x, now.z) > 0.02;
}

static bool separation(const struct vec3 *p, double slope, double *out)
{
    double chest;
    double pelvis;
    if (!turn(p, slope, &chest) || !turn(p + 4, slope, &pelvis)) {
        return false;
    }
    *out = sigma_wrap(chest - pelvis);
    return true;
}

/* lead shoulder, lead hip, lead elbow: as seen face on, over the upper arm */
static bool elbow_gap(const struct vec3 *p, double slope, double *out)
{
    double arm = vec_norm(vec_sub(p[0], p[2]));
    double gap;
    (void)slope;
    if (!(arm > 0.02) || !posture_elbow_gap(along(p[0]), along(p[1]), along(p[2]), &gap)) {
        return false;
    }
    *out = gap / arm;
    return true;
}

/* grip, lead and trail shoulder, lead elbow, lead wrist, trail wrist. The hands rise as the trail wrist does: carried
 * to where that one is at its shoulder's height, which makes the instant. */
static bool hands_height(const struct vec3 *p, double slope, double *out)
{
    double arm = vec_norm(vec_sub(p[1], p[3])) + vec_norm(vec_sub(p[3], p[4]));
    double past = p[5].y - p[2].y;
    (void)slope;
    *out = (p[0].y - past - 0.5 * (p[1].y + p[2].y)) / arm;
    return arm > 0.05;
}

#define AT(checkpoint, point)                                                                                          \
    {                                                                                                                  \
        CHECKPOINT_##checkpoint, POINT_##point                                                                         \
    }
#define PAIR(checkpoint, point) AT(checkpoint, LEAD_##point), AT(checkpoint, TRAIL_##point)
#define LIMB(checkpoint, side, a, b, c)                                                                                \
    AT(checkpoint, side##_##a), AT(checkpoint, side##_##b), AT(checkpoint, side##_##c)
#define TRUNK(checkpoint) PAIR(checkpoint, HIP), AT(checkpoint, NECK)
#define SHAFT(checkpoint) AT(checkpoint, GRIP), AT(checkpoint, CLUBHEAD)

/* How many places, and which. */
#define OF(...)                                                                                                        \
    .count = sizeof((struct motion_point[]){__VA_ARGS__}) / sizeof(struct motion_point), .places = {__VA_ARGS__}

static const struct place_rule rules[] = {
    {MEASURE_SPINE_TILT_ADDRESS, spine, OF(TRUNK(ADDRESS))},
    {MEASURE_KNEE_FLEX_ADDRESS, both_bends,
     OF(LIMB(ADDRESS, LEAD, HIP, KNEE, ANKLE), LIMB(ADDRESS, TRAIL, HIP, KNEE, ANKLE))},
    {MEASURE_HANDS_GAP_ADDRESS, hands_gap, OF(SHAFT(ADDRESS), PAIR(ADDRESS, HIP), PAIR(ADDRESS, KNEE)),
     .own = HANDS_GAP_SD_M},
    {MEASURE_SHAFT_DIRECTION_SHAFT_BACK, plan_back, OF(SHAFT(SHAFT_BACK)), .circular = true, .level = true},
    {MEASURE_SHAFT_CROSS_TOP, plan_top, OF(SHAFT(TOP)), .circular = true},
    {MEASURE_SHAFT_ELEVATION_TOP, elevation, OF(SHAFT(TOP))},
    {MEASURE_SHOULDER_PLANE_TOP, shoulder_plane, OF(PAIR(TOP, SHOULDER))},
    {MEASURE_TRUNK_LEAN_TOP, lean, OF(TRUNK(TOP))},
    {MEASURE_HEAD_SHIFT_TOP, shift,
     OF(PAIR(ADDRESS, SHOULDER), AT(ADDRESS, HEAD), AT(ADDRESS, HEAD), AT(TOP, HEAD), AT(TOP, HEAD))},
    {MEASURE_CHEST_TURN_TOP, turn, OF(PAIR(ADDRESS, SHOULDER), PAIR(TOP, SHOULDER)), .circular = true},
    {MEASURE_PELVIS_TURN_TOP, turn, OF(PAIR(ADDRESS, HIP), PAIR(TOP, HIP)), .circular = true},
    {MEASURE_SEPARATION_TOP, separation,
     OF(PAIR(ADDRESS, SHOULDER), PAIR(TOP, SHOULDER), PAIR(ADDRESS, HIP), PAIR(TOP, HIP)), .circular = true},
    {MEASURE_SHAFT_STEEPNESS_ARM_DOWN, steepness, OF(SHAFT(ADDRESS), SHAFT(ARM_DOWN)), .circular = true},
    {MEASURE_SHAFT_DIRECTION_SHAFT_DOWN, plan_down, OF(SHAFT(SHAFT_DOWN)), .circular = true, .level = true},
    {MEASURE_LEAD_ELBOW_BEND_IMPACT, bend, OF(LIMB(IMPACT, LEAD, SHOULDER, ELBOW, WRIST)), .own = IMPACT_BEND_SD_DEG},
    {MEASURE_HIPS_TO_BALL_IMPACT, thrust, OF(PAIR(ADDRESS, HIP), PAIR(IMPACT, HIP))},
    {MEASURE_SPINE_CHANGE_IMPACT, spine_change, OF(TRUNK(ADDRESS), TRUNK(IMPACT))},
    {MEASURE_PELVIS_SHIFT_ARM_BACK, shift, OF(PAIR(ADDRESS, ANKLE), PAIR(ADDRESS, HIP), PAIR(ARM_BACK, HIP))},
    {MEASURE_PELVIS_SHIFT_IMPACT, shift, OF(PAIR(ADDRESS, ANKLE), PAIR(ADDRESS, HIP), PAIR(IMPACT, HIP))},
    {MEASURE_LEAD_ELBOW_BEND_SHAFT_THROUGH, bend, OF(LIMB(SHAFT_THROUGH, LEAD, SHOULDER, ELBOW, WRIST))},
    {MEASURE_LEAD_ELBOW_GAP_SHAFT_THROUGH, elbow_gap, OF(LIMB(SHAFT_THROUGH, LEAD, SHOULDER, HIP, ELBOW))},
    {MEASURE_SHAFT_DIRECTION_SHAFT_THROUGH, plan_through, OF(SHAFT(SHAFT_THROUGH)), .circular = true, .level = true},
    {MEASURE_HANDS_HEIGHT_ARM_THROUGH, hands_height,
     OF(AT(ARM_THROUGH, GRIP), PAIR(ARM_THROUGH, SHOULDER), AT(ARM_THROUGH, LEAD_ELBOW), PAIR(ARM_THROUGH, WRIST)),
     .level = true, .own = HANDS_HEIGHT_SD},
    {MEASURE_FOLD_MATCH_ARM_THROUGH, fold,
     OF(LIMB(ARM_BACK, TRAIL, SHOULDER, ELBOW, WRIST), LIMB(ARM_THROUGH, LEAD, SHOULDER, ELBOW, WRIST))},
};

/* Inputs of the sigma points: the slope, then each point's fixed error, each place's moving error, each checkpoint's
 * error of time. */
struct place_work {
    const struct place_rule *rule;
    const struct motion_place *places[PLACES_MAX];
    int fixed[PLACES_MAX]; /* which fixed error a place takes */
    int fixed_count;
    int moving[PLACES_MAX]; /* which moving error */
    int moving_count;
    int time[PLACES_MAX]; /* which time error */
    int time_count;
};

static bool place_evaluate(const double *x, void *context, double *out)
{
    const struct place_work *work = context;
    const double *fixed = x + 1;
    const double *moving = fixed + (ptrdiff_t)3 * work->fixed_count;
    const double *time = moving + (ptrdiff_t)3 * work->moving_count;
    struct vec3 p[PLACES_MAX];

    for (int i = 0; i < work->rule->count; i++) {
        const double *f = fixed + (ptrdiff_t)3 * work->fixed[i];
        const double *m = moving + (ptrdiff_t)3 * work->moving[i];
        p[i] = vec_add(work->places[i]->at, vec_make(f[0] + m[0], f[1] + m[1], f[2] + m[2]));
        p[i] = vec_add(p[i], vec_scale(work->places[i]->velocity, time[work->time[i]]));
    }
    return work->rule->formula(p, x[0], out);
}

/* Index of the first place of the rule that is of the same point, of the same checkpoint, or of both. */
static int same_place(const struct place_rule *rule, int i, bool point, bool checkpoint)
{
    int k = 0;
    while ((point && rule->places[k].point != rule->places[i].point) ||
           (checkpoint && rule->places[k].checkpoint != rule->places[i].checkpoint)) {
        k++;
    }
    return k;
}

/* Numbers what the rule's places share. False when a place is not seen. */
static bool place_prepare(const struct motion_summary *motion, const struct place_rule *rule, struct place_work *work)
{
    *work = (struct place_work){.rule = rule};
    for (int i = 0; i < rule->count; i++) {
        const struct motion_point *place = &rule->places[i];
        work->places[i] = &motion->places[place->checkpoint][place->point];
        if (!motion->events[place->checkpoint].found || !work->places[i]->seen) {
            return false;
        }
        int k = same_place(rule, i, true, false);
        work->fixed[i] = k == i ? work->fixed_count++ : work->fixed[k];
        k = same_place(rule, i, true, true);
        work->moving[i] = k == i ? work->moving_count++ : work->moving[k];
        k = same_place(rule, i, false, true);
        work->time[i] = k == i ? work->time_count++ : work->time[k];
    }
    return true;
}

/* Slope of the plane that a shaft is held against: the shaft's own at address, as in pictures; the clubhead's path
 * through impact when that is not known, though a fault of the delivery turns it. */
static struct sigma_input swing_slope(const struct swing *swing)
{
    const struct motion_summary *motion = swing->motion;
    const struct motion_place *grip = &motion->places[CHECKPOINT_ADDRESS][POINT_GRIP];
    const struct motion_place *head = &motion->places[CHECKPOINT_ADDRESS][POINT_CLUBHEAD];
    double slope;

    if (motion->events[CHECKPOINT_ADDRESS].found && grip->seen && head->seen &&
        shaft_slope_across(head->at, grip->at, &slope)) {
        return (struct sigma_input){slope, SLOPE_SEEN_SD_DEG, true};
    }
    bool path = motion->plane_slope_deg > 0.0;
    return (struct sigma_input){path ? motion->plane_slope_deg : shaft_slope_default(swing->club),
                                SHAFT_SLOPE_DEFAULT_SD_DEG, true};
}

/* What the result's errors come from: the fixed and moving errors of its places, and their checkpoints' times. */
static void place_shares(const struct place_work *work, const struct sigma_result *result, struct shares *out)
{
    const struct place_rule *rule = work->rule;
    const double *fixed = result->parts + 1;
    const double *moving = fixed + (ptrdiff_t)3 * work->fixed_count;
    const double *time = moving + (ptrdiff_t)3 * work->moving_count;
    shares_add(out, SHARED_SLOPE, result->parts[0]);
    for (int i = 0; i < rule->count; i++) {
        const int point = (int)rule->places[i].point;
        const int at = (int)rule->places[i].checkpoint;
        for (int axis = 0; axis < 3; axis++) {
            const bool first = same_place(rule, i, true, false) == i;
            shares_add(out, SHARED_FIXED(point) + axis, first ? fixed[3 * work->fixed[i] + axis] : 0.0);
            const bool alone = same_place(rule, i, true, true) == i;
            shares_add(out, SHARED_MOVING(at, point) + axis, alone ? moving[3 * work->moving[i] + axis] : 0.0);
        }
        shares_add(out, SHARED_TIME(at), same_place(rule, i, false, true) == i ? time[work->time[i]] : 0.0);
    }
}

static void measure_rule(struct measure_work *out, const struct motion_summary *motion, const struct place_rule *rule)
{
    struct sigma_input inputs[1 + 7 * PLACES_MAX];
    struct place_work work;
    struct sigma_result result;
    int n = 0;

    if (!place_prepare(motion, rule, &work)) {
        return;
    }
    inputs[n++] = swing_slope(out->swing);
    for (int i = 0; i < 3 * work.fixed_count; i++) {
        inputs[n++] = (struct sigma_input){0.0, MOTION_FIXED_SD_M, true};
    }
    for (int i = 0; i < 3 * work.moving_count; i++) {
        inputs[n++] = (struct sigma_input){0.0, MOTION_MOVING_SD_M, false};
    }
    for (int i = 0; i < rule->count; i++) {
        if (same_place(rule, i, false, true) == i) {
            double sd = rule->level ? 0.0 : motion->events[rule->places[i].checkpoint].sd_s;
            inputs[n++] = (struct sigma_input){0.0, sd, false};
        }
    }
    if (!sigma_transform(inputs, n, place_evaluate, &work, rule->circular, &result)) {
        return;
    }
    bool size = measure_info(rule->item)->nature & IS_SIZE;
    struct measure measure = {.value = size ? fabs(result.value) : result.value,
                              .sd_random = result.sd_random,
                              .sd_systematic = hypot(result.sd_systematic, rule->own),
                              .source = MEASURE_SOURCE_MOTION};
    if (measure_offer(out, rule->item, &measure)) {
        place_shares(&work, &result, &out->shares[rule->item]);
        shares_turn(&out->shares[rule->item], size ? result.value : 1.0);
    }
}

/* The static share of weight. What the points' own errors add is small beside what a static estimate leaves out. */
static void measure_share(struct measure_work *out, const struct motion_summary *motion, enum measure_item item)
{
    enum checkpoint at = measure_info(item)->checkpoint;
    struct weight_point points[POINT_COUNT];
    double share;

    if (!motion->events[at].found) {
        return;
    }
    for (int p = 0; p < POINT_COUNT; p++) {
        const struct motion_place *place = &motion->places[at][p];
        points[p] = (struct weight_point){place->seen, place->at.x, place->at.y};
    }
    if (!weight_share(points, 0.05, &share)) {
        return;
    }
    struct measure measure = {
        .value = 100.0 * share, .sd_systematic = weight_picture_sd(at), .source = MEASURE_SOURCE_MOTION};
    (void)measure_offer(out, item, &measure);
}

static void measure_tempo(struct measure_work *out, const struct motion_summary *motion)
{
    static const enum checkpoint at[3] = {CHECKPOINT_ADDRESS, CHECKPOINT_TOP, CHECKPOINT_IMPACT};
    struct sigma_input inputs[3];
    struct sigma_result result;

    for (int i = 0; i < 3; i++) {
        if (!motion->events[at[i]].found) {
            return;
        }
        inputs[i] = (struct sigma_input){motion->events[at[i]].time_s, motion->events[at[i]].sd_s, false};
    }
    if (sigma_transform(inputs, 3, measure_tempo_formula, NULL, false, &result)) {
        struct measure measure = {
            .value = result.value, .sd_random = result.sd_random, .source = MEASURE_SOURCE_MOTION};
        (void)measure_offer(out, MEASURE_TEMPO, &measure);
    }
}

void measure_motion(struct measure_work *work)
{
    static const enum measure_item shares[] = {MEASURE_LEAD_SHARE_ADDRESS, MEASURE_LEAD_SHARE_ARM_BACK,
                                               MEASURE_LEAD_SHARE_ARM_THROUGH, MEASURE_LEAD_SHARE_FINISH};
    const struct motion_summary *motion = work->swing->motion;

    if (motion == NULL) {
        return;
    }
    for (size_t i = 0; i < sizeof rules / sizeof rules[0]; i++) {
        measure_rule(work, motion, &rules[i]);
    }
    for (size_t i = 0; i < sizeof shares / sizeof shares[0]; i++) {
        measure_share(work, motion, shares[i]);
    }
    measure_tempo(work, motion);
    measure_motion_orders(work, motion);
    measure_body_order(work, motion);
}
