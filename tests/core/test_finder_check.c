/* Marks that check each other: a sound swing has no finding, every kind of slip is found and named, confirmed marks are
 * let be, and what can't be used is survived. */
#include <criterion/criterion.h>
#include <string.h>

#include "checked_swing.h"
#include "core/finder/check.h"
#include "posed_figure.h"

static const struct posed_camera line_camera = {{-4.0, 1.1, 0.5}, 1.5, 1.0, 0.3, VIEW_DOWN_THE_LINE};
static const struct posed_camera face_camera = {{0.1, 1.0, 4.6}, -2.0, -1.0, -0.4, VIEW_FACE_ON};

static void picture(struct swing *swing, const struct posed_camera *camera)
{
    struct swing_view *view = &swing->views[swing->view_count++];
    *view = posed_view(camera->kind);
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        struct posed_body body;
        for (int p = 0; p < POINT_COUNT; p++) {
            body.points[p] = checked_place[p][c];
        }
        posed_frame(view, camera, (enum checkpoint)c, checked_time[c], &body);
    }
}

static void sound(struct swing *swing, bool line, bool face)
{
    memset(swing, 0, sizeof *swing);
    swing->club_length_m = (struct maybe){true, CHECKED_CLUB_M};
    if (line) {
        picture(swing, &line_camera);
    }
    if (face) {
        picture(swing, &face_camera);
    }
}

static struct swing_mark *mark(struct swing *swing, int view, enum checkpoint at, enum point point)
{
    return &swing->views[view].frames[at].points[point];
}

static void exchange(struct swing_mark *a, struct swing_mark *b)
{
    struct swing_mark keep = *a;
    *a = *b;
    *b = keep;
}

static void show(const struct mark_findings *found)
{
    for (int i = 0; i < found->count; i++) {
        const struct mark_finding *f = &found->items[i];
        cr_log_warn("view %d at %d: %s %s by %g", f->view, (int)f->checkpoint, mark_kind_name(f->kind),
                    f->point < POINT_COUNT ? point_name(f->point) : "-", f->by);
    }
}

static bool names(const struct mark_findings *found, int view, enum checkpoint at, enum point point,
                  enum mark_kind kind)
{
    for (int i = 0; i < found->count; i++) {
        const struct mark_finding *f = &found->items[i];
        if (f->view == view && f->checkpoint == at && f->point == point && f->kind == kind) {
            return true;
        }
    }
    show(found);
    return false;
}

static struct mark_findings check(const struct swing *swing)
{
    struct mark_findings found = {.count = 0};
    check_marks(swing, &found);
    return found;
}

Test(finder_check, a_sound_swing_has_no_finding)
{
    static const bool views[3][2] = {{true, true}, {true, false}, {false, true}};
    for (int i = 0; i < 3; i++) {
        struct swing swing;
        sound(&swing, views[i][0], views[i][1]);
        struct mark_findings found = check(&swing);
        cr_assert_eq(found.count, 0, "%d: %s of %s at %d", i, mark_kind_name(found.items[0].kind),
                     point_name(found.items[0].point), (int)found.items[0].checkpoint);
    }
}

Test(finder_check, a_point_far_off_is_found_and_its_px_are_said)
{
    static const enum point points[] = {POINT_CLUBHEAD, POINT_GRIP, POINT_LEAD_HIP, POINT_NECK, POINT_LEAD_KNEE};
    for (size_t i = 0; i < sizeof points / sizeof *points; i++) {
        struct swing swing;
        sound(&swing, true, true);
        mark(&swing, 0, CHECKPOINT_TOP, points[i])->v += 120.0;
        struct mark_findings found = check(&swing);
        cr_assert(names(&found, 0, CHECKPOINT_TOP, points[i], MARK_OFF), "%s", point_name(points[i]));
        for (int f = 0; f < found.count; f++) {
            if (found.items[f].view == 0 && found.items[f].point == points[i]) {
                cr_assert_float_eq(found.items[f].by, 120.0, 40.0, "%s by %g", point_name(points[i]),
                                   found.items[f].by);
            }
        }
    }
}

Test(finder_check, one_view_finds_a_point_far_off)
{
    struct swing swing;
    sound(&swing, true, false);
    mark(&swing, 0, CHECKPOINT_IMPACT, POINT_LEAD_HIP)->u += 150.0;
    struct mark_findings found = check(&swing);
    cr_assert(names(&found, 0, CHECKPOINT_IMPACT, POINT_LEAD_HIP, MARK_OFF));
}

Test(finder_check, exchanged_ends_are_named)
{
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        struct swing swing;
        sound(&swing, true, true);
        exchange(mark(&swing, 1, (enum checkpoint)c, POINT_GRIP), mark(&swing, 1, (enum checkpoint)c, POINT_CLUBHEAD));
        struct mark_findings found = check(&swing);
        cr_assert(names(&found, 1, (enum checkpoint)c, POINT_GRIP, MARK_ENDS_EXCHANGED), "%d", c);
    }
}

Test(finder_check, a_butt_on_the_wrong_side_of_the_grip_is_named)
{
    struct swing swing;
    sound(&swing, true, true);
    exchange(mark(&swing, 0, CHECKPOINT_ADDRESS, POINT_GRIP), mark(&swing, 0, CHECKPOINT_ADDRESS, POINT_BUTT));
    struct mark_findings found = check(&swing);
    cr_assert(names(&found, 0, CHECKPOINT_ADDRESS, POINT_BUTT, MARK_ENDS_EXCHANGED));
}

Test(finder_check, exchanged_sides_are_named_of_one_joint_and_of_all)
{
    struct swing swing;
    sound(&swing, true, true);
    exchange(mark(&swing, 0, CHECKPOINT_TOP, POINT_LEAD_SHOULDER),
             mark(&swing, 0, CHECKPOINT_TOP, POINT_TRAIL_SHOULDER));
    struct mark_findings found = check(&swing);
    cr_assert(names(&found, 0, CHECKPOINT_TOP, POINT_LEAD_SHOULDER, MARK_SIDES_EXCHANGED));
    sound(&swing, true, true);
    for (int p = POINT_LEAD_SHOULDER; p <= POINT_LEAD_TOE; p += 2) {
        exchange(mark(&swing, 1, CHECKPOINT_IMPACT, (enum point)p),
                 mark(&swing, 1, CHECKPOINT_IMPACT, (enum point)(p + 1)));
    }
    found = check(&swing);
    cr_assert(names(&found, 1, CHECKPOINT_IMPACT, POINT_COUNT, MARK_SIDES_EXCHANGED));
}

Test(finder_check, a_picture_of_another_moment_is_named)
{
    for (int c = CHECKPOINT_SHAFT_BACK; c <= CHECKPOINT_ARM_THROUGH; c++) {
        struct swing swing;
        sound(&swing, true, true);
        memcpy(swing.views[0].frames[c].points, swing.views[0].frames[c + 1].points,
               sizeof swing.views[0].frames[c].points);
        struct mark_findings found = check(&swing);
        cr_assert(names(&found, 0, (enum checkpoint)c, POINT_COUNT, MARK_WRONG_MOMENT), "%d", c);
    }
}

Test(finder_check, times_out_of_order_are_named)
{
    struct swing swing;
    sound(&swing, true, false);
    swing.views[0].frames[CHECKPOINT_TOP].time_s.value = checked_time[CHECKPOINT_ADDRESS] - 0.1;
    struct mark_findings found = check(&swing);
    cr_assert_eq(found.count, 1);
    cr_assert(names(&found, 0, CHECKPOINT_TOP, POINT_COUNT, MARK_ORDER_OF_TIME));
    cr_assert_eq(check_drop_suspects(&swing, &found, CHECK_ALL), 1);
    cr_assert(!swing.views[0].frames[CHECKPOINT_TOP].time_s.given);
    cr_assert(mark(&swing, 0, CHECKPOINT_TOP, POINT_GRIP)->seen);
}

Test(finder_check, the_wrong_view_and_the_wrong_hand_are_named)
{
    struct swing swing;
    sound(&swing, true, false);
    swing.views[0].kind = VIEW_FACE_ON;
    struct mark_findings found = check(&swing);
    cr_assert(names(&found, 0, CHECKPOINT_NONE, POINT_COUNT, MARK_WRONG_VIEW));
    sound(&swing, false, true);
    swing.views[0].kind = VIEW_DOWN_THE_LINE;
    found = check(&swing);
    cr_assert(names(&found, 0, CHECKPOINT_NONE, POINT_COUNT, MARK_WRONG_VIEW));
    sound(&swing, true, true);
    swing.hand = HAND_LEFT;
    swing_mirror(&swing);
    found = check(&swing);
    cr_assert(names(&found, 0, CHECKPOINT_NONE, POINT_COUNT, MARK_WRONG_HAND));
    cr_assert(names(&found, 1, CHECKPOINT_NONE, POINT_COUNT, MARK_WRONG_HAND));
    cr_assert_eq(check_drop_suspects(&swing, &found, CHECK_ALL), 2 * CHECKPOINT_COUNT * (POINT_COUNT + 1));
}

Test(finder_check, a_confirmed_mark_is_let_be)
{
    struct swing swing;
    sound(&swing, true, true);
    mark(&swing, 0, CHECKPOINT_TOP, POINT_NECK)->v += 200.0;
    swing.views[0].frames[CHECKPOINT_TOP].confirmed = swing.views[1].frames[CHECKPOINT_TOP].confirmed = 1U
                                                                                                        << POINT_NECK;
    cr_assert_eq(check(&swing).count, 0);
}

Test(finder_check, suspects_go_and_the_others_stay)
{
    struct swing swing;
    struct mark_findings found = {
        .count = 1,
        .items = {
            {.view = 1, .checkpoint = CHECKPOINT_TOP, .point = POINT_LEAD_SHOULDER, .kind = MARK_SIDES_EXCHANGED}}};
    sound(&swing, true, true);
    cr_assert_eq(check_drop_suspects(&swing, &found, CHECK_VIEWS), 0, "another kind");
    cr_assert_eq(check_drop_suspects(&swing, &found, CHECK_ALL), 2);
    cr_assert(!mark(&swing, 1, CHECKPOINT_TOP, POINT_TRAIL_SHOULDER)->seen);
    cr_assert(mark(&swing, 0, CHECKPOINT_TOP, POINT_TRAIL_SHOULDER)->seen);
}

Test(finder_check, what_cannot_be_used_is_survived)
{
    struct swing swing;
    memset(&swing, 0, sizeof swing);
    cr_assert_eq(check(&swing).count, 0);
    sound(&swing, true, true);
    for (int v = 0; v < 2; v++) {
        for (int c = 0; c < CHECKPOINT_COUNT; c++) {
            for (int p = 0; p < POINT_COUNT; p++) {
                *mark(&swing, v, (enum checkpoint)c, (enum point)p) = (struct swing_mark){.seen = true, .u = 5, .v = 5};
            }
        }
    }
    struct mark_findings found = check(&swing);
    for (int i = 0; i < found.count; i++) {
        cr_assert(isfinite(found.items[i].by));
    }
}

Test(finder_check, one_view_knows_that_the_level_shaft_is_level)
{
    for (int face = 0; face < 2; face++) {
        struct swing swing;
        sound(&swing, !face, face);
        mark(&swing, 0, CHECKPOINT_SHAFT_BACK, POINT_CLUBHEAD)->v -= 250.0;
        struct mark_findings found = check(&swing);
        cr_assert(names(&found, 0, CHECKPOINT_SHAFT_BACK, POINT_CLUBHEAD, MARK_OFF), "%d", face);
    }
}

Test(finder_check, views_taken_for_one_another_are_both_named)
{
    struct swing swing;
    sound(&swing, true, true);
    swing.views[0].kind = VIEW_FACE_ON;
    swing.views[1].kind = VIEW_DOWN_THE_LINE;
    struct mark_findings found = check(&swing);
    cr_assert(names(&found, 0, CHECKPOINT_NONE, POINT_COUNT, MARK_WRONG_VIEW));
    cr_assert(names(&found, 1, CHECKPOINT_NONE, POINT_COUNT, MARK_WRONG_VIEW));
}

Test(finder_check, shoulders_tell_the_view_where_no_foot_is_seen)
{
    struct swing swing;
    sound(&swing, true, false);
    swing.views[0].kind = VIEW_FACE_ON;
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        for (int p = POINT_LEAD_ANKLE; p <= POINT_TRAIL_TOE; p++) {
            mark(&swing, 0, (enum checkpoint)c, (enum point)p)->seen = false;
        }
    }
    struct mark_findings found = check(&swing);
    cr_assert(names(&found, 0, CHECKPOINT_NONE, POINT_COUNT, MARK_WRONG_VIEW));
}

Test(finder_check, the_picture_before_shown_again_at_the_top_is_named)
{
    for (int view = 0; view < 2; view++) {
        struct swing swing;
        sound(&swing, view == 0, view == 1);
        struct frame *frames = swing.views[0].frames;
        memcpy(frames[CHECKPOINT_TOP].points, frames[CHECKPOINT_ARM_DOWN].points, sizeof frames->points);
        frames[CHECKPOINT_TOP].time_s = frames[CHECKPOINT_ARM_DOWN].time_s;
        struct mark_findings found = check(&swing);
        cr_assert(names(&found, 0, CHECKPOINT_TOP, POINT_COUNT, MARK_WRONG_MOMENT), "%d", view);
    }
}

/* What reading the film found in every picture: where the marks are, with this error. */
static void film(struct swing *swing, double sd)
{
    for (int v = 0; v < swing->view_count; v++) {
        for (int c = 0; c < CHECKPOINT_COUNT; c++) {
            struct frame *frame = &swing->views[v].frames[c];
            for (int p = 0; p < POINT_COUNT; p++) {
                frame->film[p] = (struct swing_spot){frame->points[p].u, frame->points[p].v, sd};
            }
        }
    }
}

Test(finder_check, a_film_that_shows_the_marks_where_they_are_has_no_finding)
{
    static const bool views[3][2] = {{true, true}, {true, false}, {false, true}};
    for (int i = 0; i < 3; i++) {
        struct swing swing;
        sound(&swing, views[i][0], views[i][1]);
        film(&swing, 12.0);
        cr_assert_eq(check(&swing).count, 0, "%d", i);
    }
}

Test(finder_check, a_mark_far_from_where_the_film_shows_its_point_is_named)
{
    struct swing swing;
    sound(&swing, true, false);
    mark(&swing, 0, CHECKPOINT_TOP, POINT_CLUBHEAD)->u += 60.0;
    cr_assert_eq(check(&swing).count, 0, "by itself one view can't tell");
    film(&swing, 4.0);
    swing.views[0].frames[CHECKPOINT_TOP].film[POINT_CLUBHEAD].u -= 60.0;
    struct mark_findings found = check(&swing);
    cr_assert_eq(found.count, 1);
    cr_assert(names(&found, 0, CHECKPOINT_TOP, POINT_CLUBHEAD, MARK_OFF));
    cr_assert_float_eq(found.items[0].by, 60.0, 10.0, "by %g", found.items[0].by);
    swing.views[0].frames[CHECKPOINT_TOP].film[POINT_CLUBHEAD].sd = 40.0;
    cr_assert_eq(check(&swing).count, 0, "as far off as both errors allow");
    swing.views[0].frames[CHECKPOINT_TOP].film[POINT_CLUBHEAD].sd = 4.0;
    swing.views[0].frames[CHECKPOINT_TOP].confirmed = 1U << POINT_CLUBHEAD;
    cr_assert_eq(check(&swing).count, 0, "somebody was asked");
}

Test(finder_check, a_film_that_errs_accuses_no_mark_that_fits_the_others)
{
    static const enum point points[] = {POINT_GRIP, POINT_LEAD_HIP, POINT_NECK, POINT_LEAD_KNEE};
    for (size_t i = 0; i < sizeof points / sizeof *points; i++) {
        struct swing swing;
        sound(&swing, true, true);
        film(&swing, 12.0);
        swing.views[0].frames[CHECKPOINT_IMPACT].film[points[i]].v -= 300.0;
        struct mark_findings found = check(&swing);
        show(&found);
        cr_assert_eq(found.count, 0, "%s", point_name(points[i]));
    }
}

static int sides_found(const struct swing *sound_one)
{
    int found = 0;
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        for (int p = POINT_LEAD_SHOULDER; p <= POINT_LEAD_TOE; p += 2) {
            struct swing swing = *sound_one;
            exchange(mark(&swing, 0, (enum checkpoint)c, (enum point)p),
                     mark(&swing, 0, (enum checkpoint)c, (enum point)(p + 1)));
            found += check(&swing).count > 0;
        }
    }
    return found;
}

Test(finder_check, the_film_tells_more_exchanged_sides_of_one_view)
{
    struct swing swing;
    sound(&swing, false, true);
    int by_marks = sides_found(&swing);
    film(&swing, 12.0);
    int by_film = sides_found(&swing);
    cr_assert(by_film >= by_marks + 5, "%d of 70, %d without the film", by_film, by_marks);
}

Test(finder_check, a_film_mirrored_all_through_is_a_player_of_the_other_hand)
{
    struct swing swing;
    sound(&swing, false, true);
    for (int c = 0; c < CHECKPOINT_COUNT; c++) { /* without the club */
        for (int p = POINT_GRIP; p < POINT_COUNT; p++) {
            mark(&swing, 0, (enum checkpoint)c, (enum point)p)->seen = false;
        }
    }
    film(&swing, 12.0);
    cr_assert_eq(check(&swing).count, 0);
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        struct swing_spot *spots = swing.views[0].frames[c].film;
        for (int p = POINT_LEAD_SHOULDER; p <= POINT_LEAD_TOE; p += 2) {
            struct swing_spot keep = spots[p];
            spots[p] = spots[p + 1];
            spots[p + 1] = keep;
        }
    }
    struct mark_findings found = check(&swing);
    cr_assert(names(&found, 0, CHECKPOINT_NONE, POINT_COUNT, MARK_WRONG_HAND));
    swing.hand = HAND_LEFT;
    double before = swing.views[0].frames[0].film[POINT_HEAD].u;
    swing_mirror(&swing);
    cr_assert_float_eq(swing.views[0].frames[0].film[POINT_HEAD].u, swing.views[0].width_px - before, 1e-9);
}

/* A steady hand's error, another in every mark: px, in -1.7 ... 1.7. */
static void tremble(struct swing *swing)
{
    unsigned state = 7;
    for (int v = 0; v < swing->view_count; v++) {
        for (int i = 0; i < swing->views[v].frame_count * POINT_COUNT * 2; i++) {
            struct swing_mark *mark = &swing->views[v].frames[i / 2 / POINT_COUNT].points[i / 2 % POINT_COUNT];
            state = state * 1664525U + 1013904223U;
            *(i % 2 != 0 ? &mark->u : &mark->v) += 3.4 * ((double)(state >> 8) / 16777216.0 - 0.5);
        }
    }
}

Test(finder_check, a_club_is_straight)
{
    for (int view = 0; view < 2; view++) {
        struct swing swing;
        struct mark_findings found = {.count = 0};
        sound(&swing, view == 0, view != 0);
        tremble(&swing);
        mark(&swing, 0, CHECKPOINT_ARM_BACK, POINT_BUTT)->u += 60.0;
        check_marks(&swing, &found);
        show(&found);
        cr_assert(names(&found, 0, CHECKPOINT_ARM_BACK, POINT_BUTT, MARK_OFF), "view %d", view);
    }
}

/* What the film's places of a whole swing are off by says how much one of them may be. */
Test(finder_check, a_film_that_is_near_all_through_makes_a_mark_suspect_sooner)
{
    const double steady[] = {2.0, 25.0};
    for (int i = 0; i < 2; i++) {
        struct swing swing;
        struct mark_findings found = {.count = 0};
        sound(&swing, true, false);
        film(&swing, 25.0);
        for (int c = 0; c < CHECKPOINT_COUNT; c++) {
            swing.views[0].frames[c].film[POINT_NECK].u += (c % 2 != 0 ? 1.0 : -1.0) * steady[i];
        }
        tremble(&swing);
        mark(&swing, 0, CHECKPOINT_FINISH, POINT_NECK)->u += 60.0;
        check_marks(&swing, &found);
        cr_assert(names(&found, 0, CHECKPOINT_FINISH, POINT_NECK, MARK_OFF) == (i == 0), "%g px", steady[i]);
    }
}

/* Half a clubhead's length away: the film is rather something else than the finger slipped so far. */
Test(finder_check, a_clubhead_in_the_film_that_is_far_off_asks_nobody)
{
    const double away[] = {-60.0, -200.0};
    for (int i = 0; i < 2; i++) {
        struct swing swing;
        struct mark_findings found = {.count = 0};
        sound(&swing, true, false);
        film(&swing, 8.0);
        swing.views[0].frames[CHECKPOINT_TOP].film[POINT_CLUBHEAD].u += away[i];
        check_marks(&swing, &found);
        show(&found);
        cr_assert(names(&found, 0, CHECKPOINT_TOP, POINT_CLUBHEAD, MARK_OFF) == (i == 0), "%g px", away[i]);
    }
}
