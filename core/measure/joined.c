/* The arms in space, from both views of a checkpoint joined: bends that one picture foreshortens, and the elbow's gap
 * over the true length of the upper arm. */
#include <math.h>

#include "core/measure/families.h"
#include "core/measure/pairs.h"

#define ARM_FRAME_SD_DEG 2.0 /* the two cameras' frames are not one instant (common practice) */
#define GAP_FRAME_SD 0.03    /* the same, in upper arm lengths */

/* 180 - angle at the joint of three places: 0 = straight. */
static bool bend_of(const struct vec3 *p, double *deg)
{
    struct vec3 a = vec_sub(p[0], p[1]);
    struct vec3 b = vec_sub(p[2], p[1]);
    *deg = 180.0 - atan2(vec_norm(vec_cross(a, b)), vec_dot(a, b)) * VEC_DEG;
    return vec_norm(a) > 0.02 && vec_norm(b) > 0.02;
}

static bool bend_formula(const struct pair_probe *probe, const struct vec3 *p, double *out)
{
    (void)probe;
    return bend_of(p + 1, out);
}

static bool fold_formula(const struct pair_probe *probe, const struct vec3 *p, double *out)
{
    double trail;
    double lead;
    (void)probe;
    if (!bend_of(p + 1, &trail) || !bend_of(p + 4, &lead)) {
        return false;
    }
    *out = trail - lead;
    return true;
}

/* lead shoulder, lead hip, lead elbow */
static bool gap_formula(const struct pair_probe *probe, const struct vec3 *p, double *out)
{
    double arm = vec_norm(vec_sub(p[3], p[1]));
    double gap;
    (void)probe;
    if (!(arm > 0.05) || !posture_elbow_gap((struct plane_point){p[1].x, p[1].y}, (struct plane_point){p[2].x, p[2].y},
                                            (struct plane_point){p[3].x, p[3].y}, &gap)) {
        return false;
    }
    *out = gap / arm;
    return true;
}

/* mid-hips at address and now */
static bool thrust_formula(const struct pair_probe *probe, const struct vec3 *p, double *out)
{
    (void)probe;
    *out = p[2].z - p[1].z;
    return true;
}

static bool add_arm(struct pair_probe *probe, enum checkpoint at, enum point shoulder, enum point elbow,
                    enum point wrist)
{
    return pair_add(probe, at, shoulder, shoulder) && pair_add(probe, at, elbow, elbow) &&
           pair_add(probe, at, wrist, wrist);
}

static void offer(struct measure_work *work, enum measure_item item, struct pair_probe *probe, double own)
{
    struct sigma_result result;

    if (!pair_run(probe, &result)) {
        return;
    }
    bool size = measure_info(item)->nature & IS_SIZE;
    struct measure measure = {.marks = result.random / 2,
                              .value = size ? fabs(result.value) : result.value,
                              .sd_random = hypot(result.sd_random, own),
                              .sd_systematic = result.sd_systematic,
                              .source = MEASURE_SOURCE_PICTURES};
    if (measure_offer(work, item, &measure)) {
        pair_shares(probe, &result, &work->shares[item]);
        shares_turn(&work->shares[item], size ? result.value : 1.0);
    }
}

static void joined_of(struct measure_work *work, const struct measure_view *line, const struct measure_view *face)
{
    static const enum measure_item bends[] = {MEASURE_LEAD_ELBOW_BEND_IMPACT, MEASURE_LEAD_ELBOW_BEND_SHAFT_THROUGH};
    const enum checkpoint through = CHECKPOINT_SHAFT_THROUGH;
    struct pair_probe probe;

    for (size_t i = 0; i < sizeof bends / sizeof *bends; i++) {
        if (pair_start(&probe, line, face, bend_formula) &&
            add_arm(&probe, measure_info(bends[i])->checkpoint, POINT_LEAD_SHOULDER, POINT_LEAD_ELBOW,
                    POINT_LEAD_WRIST)) {
            offer(work, bends[i], &probe, ARM_FRAME_SD_DEG);
        }
    }
    if (pair_start(&probe, line, face, gap_formula) &&
        pair_add(&probe, through, POINT_LEAD_SHOULDER, POINT_LEAD_SHOULDER) &&
        pair_add(&probe, through, POINT_LEAD_HIP, POINT_LEAD_HIP) &&
        pair_add(&probe, through, POINT_LEAD_ELBOW, POINT_LEAD_ELBOW)) {
        offer(work, MEASURE_LEAD_ELBOW_GAP_SHAFT_THROUGH, &probe, GAP_FRAME_SD);
    }
    if (pair_start(&probe, line, face, fold_formula) &&
        add_arm(&probe, CHECKPOINT_ARM_BACK, POINT_TRAIL_SHOULDER, POINT_TRAIL_ELBOW, POINT_TRAIL_WRIST) &&
        add_arm(&probe, CHECKPOINT_ARM_THROUGH, POINT_LEAD_SHOULDER, POINT_LEAD_ELBOW, POINT_LEAD_WRIST)) {
        offer(work, MEASURE_FOLD_MATCH_ARM_THROUGH, &probe, ARM_FRAME_SD_DEG * sqrt(2.0));
    }
    if (pair_start(&probe, line, face, thrust_formula) &&
        pair_add(&probe, CHECKPOINT_ADDRESS, POINT_LEAD_HIP, POINT_TRAIL_HIP) &&
        pair_add(&probe, CHECKPOINT_IMPACT, POINT_LEAD_HIP, POINT_TRAIL_HIP)) {
        offer(work, MEASURE_HIPS_TO_BALL_IMPACT, &probe, 0.0);
    }
}

void measure_joined(struct measure_work *work)
{
    for (int i = 0; i < work->view_count; i++) {
        for (int k = 0; k < work->view_count; k++) {
            if (work->views[i].camera.kind == VIEW_DOWN_THE_LINE && work->views[k].camera.kind == VIEW_FACE_ON) {
                joined_of(work, &work->views[i], &work->views[k]);
            }
        }
    }
}
