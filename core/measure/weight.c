/* The share of weight on the lead foot: a scale's reading first, else the static centre of mass seen face on. */
#include <math.h>

#include "core/measure/families.h"
#include "core/weight.h"

#define STANCE_MIN 0.02 /* tangent of the angle between the ankles: nearer they are one point */

static const enum measure_item share_items[] = {MEASURE_LEAD_SHARE_ADDRESS,     MEASURE_LEAD_SHARE_ARM_BACK,
                                                MEASURE_LEAD_SHARE_TOP,         MEASURE_LEAD_SHARE_IMPACT,
                                                MEASURE_LEAD_SHARE_ARM_THROUGH, MEASURE_LEAD_SHARE_FINISH};
#define SHARE_ITEMS (sizeof share_items / sizeof share_items[0])

/* Readings of one checkpoint are averaged: they come from one instrument, so its error stays whole. */
static void read_scale(struct measure_work *work, enum measure_item item)
{
    const struct swing *swing = work->swing;
    double sum = 0.0;
    int n = 0;

    for (int i = 0; i < swing->weight_count && i < SWING_WEIGHTS_MAX; i++) {
        if (swing->weights[i].checkpoint == measure_info(item)->checkpoint) {
            sum += swing->weights[i].lead_share;
            n++;
        }
    }
    if (n > 0) {
        struct measure measure = {
            .value = 100.0 * sum / n, .sd_systematic = WEIGHT_SCALE_SD, .source = MEASURE_SOURCE_WEIGHT};
        (void)measure_offer(work, item, &measure);
    }
}

/* Levelled points of a frame. The estimate is linear in each point, so its random part follows from the marks: the
 * share moves by mass over stance with each, and by one minus the share over stance with the ankles. */
static void read_picture(struct measure_work *work, const struct measure_view *view, enum measure_item item)
{
    enum checkpoint at = measure_info(item)->checkpoint;
    const struct frame *frame = view->frames[at];
    const struct camera *camera = &view->camera;
    double systematic = weight_picture_sd(at);
    struct weight_point points[POINT_COUNT];
    struct camera_axes axes;
    double share;
    double variance = 0.0;
    int marks = 0;

    if (frame == NULL || !(systematic > 0.0)) {
        return;
    }
    camera_turn(camera->yaw, camera->pitch, camera->roll, &axes);
    for (int p = 0; p < POINT_COUNT; p++) {
        struct vec3 ray;
        const struct swing_mark *mark = &frame->points[p];
        points[p] = (struct weight_point){false, 0.0, 0.0};
        if (mark->seen && camera_ray(camera, &axes, mark->u, mark->v, &ray)) {
            points[p] = (struct weight_point){true, ray.z, ray.y};
        }
    }
    if (!weight_share(points, STANCE_MIN, &share)) {
        return;
    }
    for (int p = 0; p < POINT_BUTT; p++) {
        double moved;
        double sd = frame->points[p].sd > 0.0 ? frame->points[p].sd : SWING_MARK_SD_PX;
        double x = points[p].x;
        if (!points[p].seen) {
            continue;
        }
        points[p].x = x + sd / camera->focal_px;
        if (weight_share(points, 0.0, &moved)) {
            variance += (moved - share) * (moved - share);
            marks++;
        }
        points[p].x = x;
    }
    struct measure measure = {.marks = marks,
                              .value = 100.0 * share,
                              .sd_random = 100.0 * sqrt(variance),
                              .sd_systematic = systematic,
                              .source = MEASURE_SOURCE_PICTURE};
    (void)measure_offer(work, item, &measure);
}

void measure_weights(struct measure_work *work)
{
    for (size_t k = 0; k < SHARE_ITEMS; k++) {
        read_scale(work, share_items[k]);
        for (int i = 0; i < work->view_count; i++) {
            if (work->views[i].camera.kind == VIEW_FACE_ON) {
                read_picture(work, &work->views[i], share_items[k]);
            }
        }
    }
}
