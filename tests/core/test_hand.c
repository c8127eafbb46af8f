/* The error of marks that state none: the default for a steady hand, more for one that its own marks show to be less
 * so, and neither for a slip, nor of marks that were found or say their own. */
#include <criterion/criterion.h>
#include <math.h>
#include <string.h>

#include "core/hand.h"

/* About normal with sd 1, the same in every run. */
static double noise(unsigned *state)
{
    double sum = 0.0;
    for (int i = 0; i < 12; i++) {
        *state = *state * 1664525U + 1013904223U;
        sum += (double)(*state >> 8) / 16777216.0;
    }
    return sum - 6.0;
}

/* Two views of 1080 lines in which ball and toes lie still, by a hand that is so many px off. */
static void marked(struct swing *swing, double hand, unsigned seed)
{
    memset(swing, 0, sizeof *swing);
    swing->view_count = 2;
    for (int v = 0; v < 2; v++) {
        struct swing_view *view = &swing->views[v];
        view->width_px = 1920.0;
        view->height_px = 1080.0;
        view->frame_count = SWING_FRAMES_MAX;
        for (int f = 0; f < SWING_FRAMES_MAX; f++) {
            static const enum point still[] = {POINT_BALL, POINT_LEAD_TOE, POINT_TRAIL_TOE};
            view->frames[f].checkpoint = (enum checkpoint)f;
            for (int i = 0; i < 3; i++) {
                view->frames[f].points[still[i]] = (struct swing_mark){
                    .seen = true, .u = 400.0 + 100.0 * i + hand * noise(&seed), .v = 900.0 + hand * noise(&seed)};
            }
        }
    }
}

static double error_of(const struct swing *swing)
{
    return swing->views[0].frames[0].points[POINT_LEAD_TOE].sd;
}

Test(hand, a_steady_hand_has_the_default)
{
    struct swing swing;
    marked(&swing, 0.0, 1);
    hand_errors(&swing);
    cr_assert_float_eq(error_of(&swing), SWING_MARK_SD_PX, 1e-12);
    cr_assert_float_eq(swing.views[1].frames[9].points[POINT_BALL].sd, SWING_MARK_SD_PX, 1e-12);
}

Test(hand, what_its_own_marks_scatter_is_its_error)
{
    const double px[] = {3.0, 5.0, 8.0};
    for (int k = 0; k < 3; k++) {
        double sum = 0.0;
        for (unsigned seed = 1; seed <= 200; seed++) {
            struct swing swing;
            marked(&swing, px[k], seed);
            hand_errors(&swing);
            sum += error_of(&swing) * error_of(&swing);
        }
        double told = sqrt(sum / 200);
        cr_assert(told > 0.9 * px[k] && told < 1.1 * px[k], "%g px are told as %g", px[k], told);
    }
}

Test(hand, a_slip_is_no_tremble)
{
    struct swing swing;
    marked(&swing, 1.0, 3);
    swing.views[0].frames[CHECKPOINT_TOP].points[POINT_LEAD_TOE].u += 200.0;
    swing.views[1].frames[CHECKPOINT_ARM_BACK].points[POINT_BALL].v -= 60.0;
    hand_errors(&swing);
    cr_assert_float_eq(error_of(&swing), SWING_MARK_SD_PX, 1e-12);
}

Test(hand, a_club_is_straight_in_the_picture)
{
    struct swing swing;
    unsigned seed = 5;
    memset(&swing, 0, sizeof swing);
    swing.view_count = 2;
    for (int i = 0; i < 2 * SWING_FRAMES_MAX; i++) {
        struct swing_view *view = &swing.views[i / SWING_FRAMES_MAX];
        struct frame *frame = &view->frames[i % SWING_FRAMES_MAX];
        view->width_px = 1920.0;
        view->height_px = 1080.0;
        view->frame_count = SWING_FRAMES_MAX;
        frame->checkpoint = (enum checkpoint)(i % SWING_FRAMES_MAX);
        const double at[3][2] = {{560.0, 485.0}, {600.0, 500.0}, {960.0, 635.0}};
        const enum point points[3] = {POINT_BUTT, POINT_GRIP, POINT_CLUBHEAD};
        for (int k = 0; k < 3; k++) {
            frame->points[points[k]] = (struct swing_mark){
                .seen = true, .u = at[k][0] + 12.0 * noise(&seed), .v = at[k][1] + 12.0 * noise(&seed)};
        }
    }
    hand_errors(&swing);
    double told = swing.views[0].frames[0].points[POINT_GRIP].sd;
    cr_assert(told > 7.0 && told < 13.0, "12 px are told as %g", told);
}

Test(hand, marks_that_say_their_error_or_were_found_are_let_be)
{
    struct swing swing;
    marked(&swing, 9.0, 4);
    for (int v = 0; v < 2; v++) {
        for (int f = 0; f < SWING_FRAMES_MAX; f++) {
            for (int p = 0; p < POINT_COUNT; p++) {
                swing.views[v].frames[f].points[p].sd = 2.0;
            }
        }
    }
    swing.views[0].frames[0].points[POINT_HEAD] = (struct swing_mark){.seen = true, .u = 500.0, .v = 200.0};
    hand_errors(&swing);
    cr_assert_float_eq(error_of(&swing), 2.0, 1e-12);
    cr_assert_float_eq(swing.views[0].frames[0].points[POINT_HEAD].sd, SWING_MARK_SD_PX, 1e-12);
}

Test(hand, a_mark_is_never_surer_than_a_share_of_the_body)
{
    struct swing swing;
    marked(&swing, 0.0, 1);
    swing.views[0].frames[0].points[POINT_HEAD] = (struct swing_mark){.seen = true, .u = 500.0, .v = 100.0};
    swing.views[0].frames[0].points[POINT_LEAD_ANKLE] = (struct swing_mark){.seen = true, .u = 500.0, .v = 940.0};
    hand_errors(&swing);
    cr_assert_float_eq(error_of(&swing), 0.006 * 840.0 / SWING_STANDING_SHARE, 1e-9);
    cr_assert_float_eq(swing.views[1].frames[0].points[POINT_BALL].sd, SWING_MARK_SD_PX, 1e-12);
}
