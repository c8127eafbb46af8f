/* Every measure of one swing: sets up the views, asks each family of measures, and lets the better source win.
 * Of two views that both show a measure the one with the smaller error is kept; they are not averaged, for their
 * systematic errors are shared. */
#include <math.h>

#include "core/measure/families.h"

/* Tempo from one view's own clock: each time is read from a frame. */
static void measure_tempo(struct measure_work *work)
{
    static const enum checkpoint at[3] = {CHECKPOINT_ADDRESS, CHECKPOINT_TOP, CHECKPOINT_IMPACT};

    for (int i = 0; i < work->view_count; i++) {
        struct sigma_input inputs[3];
        struct sigma_result result;
        int n = 0;
        for (int k = 0; k < 3; k++) {
            const struct frame *frame = work->views[i].frames[at[k]];
            if (frame != NULL && frame->time_s.given) {
                double sd = measure_instant_sd(&work->views[i], at[k]);
                inputs[n++] = (struct sigma_input){frame->time_s.value, sd, false};
            }
        }
        if (n == 3 && sigma_transform(inputs, n, measure_tempo_formula, NULL, false, &result)) {
            struct measure measure = {.marks = result.random,
                                      .value = result.value,
                                      .sd_random = result.sd_random,
                                      .sd_systematic = result.sd_systematic,
                                      .source = MEASURE_SOURCE_TIMES};
            (void)measure_offer(work, MEASURE_TEMPO, &measure);
        }
    }
}

static void measure_given(struct measure_work *work)
{
    const struct swing *swing = work->swing;

    for (int i = 0; i < swing->measured_count && i < SWING_MEASURED_MAX; i++) {
        const struct measured_value *given = &swing->measured[i];
        struct measure measure = {
            .value = given->value, .sd_systematic = fabs(given->sd), .source = MEASURE_SOURCE_MEASURED};
        if (given->item >= 0 && given->item < MEASURE_COUNT) {
            (void)measure_offer(work, (enum measure_item)given->item, &measure);
        }
    }
}

/* A left-hander's pictures were mirrored on reading: what the coach must do is on the other side. */
static void findings_unmirror(struct camera_findings *findings, int from)
{
    for (int i = from; i < findings->count; i++) {
        struct camera_finding *f = &findings->items[i];
        bool sideways = f->issue == CAMERA_YAW || f->issue == CAMERA_OFF_LINE || f->issue == CAMERA_ROLL ||
                        f->issue == CAMERA_ROLL_SLIGHT;
        if (sideways) {
            f->value = -f->value;
            f->move_right_m = -f->move_right_m;
            f->turn_right_deg = -f->turn_right_deg;
            f->roll_clockwise_deg = -f->roll_clockwise_deg;
        }
    }
}

static void work_init(struct measure_work *work, const struct swing *swing, struct measure_set *out,
                      struct camera_findings *findings)
{
    work->swing = swing;
    work->out = out;
    work->findings = findings;
    work->length = (struct maybe){false, 0.0};
    if (swing->club_length_m.given && swing->club_length_m.value > 0.4) {
        work->length = (struct maybe){true, swing->club_length_m.value - SHAFT_BUTT_TO_GRIP_M};
    }
    work->slope = shaft_slope_default(swing->club);
    work->slope_sd = SHAFT_SLOPE_DEFAULT_SD_DEG;
    work->slope_own = SHAFT_SLOPE_DEFAULT_SD_DEG;
    work->slope_shares.count = 0;
    for (int i = 0; i < MEASURE_COUNT; i++) {
        work->shares[i].count = 0;
    }
    work->view_count = 0;
    for (int i = 0; i < swing->view_count && i < SWING_VIEWS_MAX; i++) {
        struct measure_view *view = &work->views[work->view_count];
        const struct swing_view *from = &swing->views[i];
        view->view = from;
        view->index = i;
        view->turns = &work->turns[work->view_count];
        view->turns->count = 0;
        view->fps = from->fps.given && from->fps.value > 1.0 ? from->fps.value : SHAFT_FPS_DEFAULT;
        for (int c = 0; c < CHECKPOINT_COUNT; c++) {
            view->frames[c] = NULL;
        }
        for (int f = from->frame_count - 1; f >= 0; f--) {
            if ((unsigned)from->frames[f].checkpoint < CHECKPOINT_COUNT) {
                view->frames[from->frames[f].checkpoint] = &from->frames[f];
            }
        }
        if (camera_pose(from, i, &view->camera, findings)) {
            work->view_count++;
        }
    }
}

void measure_swing(const struct swing *swing, struct measure_set *out, struct camera_findings *findings)
{
    struct measure_work work;
    int from = findings->count;

    for (int i = 0; i < MEASURE_COUNT; i++) {
        out->items[i] = (struct measure){.observed = false};
    }
    work_init(&work, swing, out, findings);
    measure_given(&work);
    measure_motion(&work);
    measure_cameras(&work); /* leaves no view when the player is of the other hand */
    measure_weights(&work);
    measure_tempo(&work);
    measure_shafts(&work);
    measure_bodies(&work);
    measure_joined(&work);
    measure_orders(&work);
    shares_correlate(work.shares, out);
    if (swing->hand == HAND_LEFT) {
        findings_unmirror(findings, from);
    }
}
