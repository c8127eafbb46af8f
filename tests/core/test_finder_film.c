/* The path over a film and the instants in it, from rays of a swing whose angles are known in closed form. */
#include <criterion/criterion.h>

#include "tests/core/drawn_film.h"

#define FRAMES_MOST 2000
#define CLUB 200.0

/* One made film: what a perfect finder would see, then spoilt by the tests. */
static struct finder_ray rays[FRAMES_MOST][FINDER_RAYS];
static int counts[FRAMES_MOST];
static struct swing_mark points[FRAMES_MOST][POINT_COUNT];
static double club_px[FRAMES_MOST];
static double truth[FRAMES_MOST];
static struct finder_shaft shafts[FRAMES_MOST];
static struct finder_instant instants[CHECKPOINT_COUNT];
static struct finder_film film;

/* Seconds and degrees (as seen from the front, a right-hander's) of the courses' keys; cubic steps between, at rest at
 * the ends and at the top. */
#define REST_S 0.5
#define TOP_AT_S 1.4
#define IMPACT_AT_S 1.68
#define FINISH_AT_S 2.3

static double step(double from, double to, double share)
{
    const double t = fmax(0.0, fmin(1.0, share));
    return from + (to - from) * t * t * (3.0 - 2.0 * t);
}

/* Address 90, top 330, at impact 90 again and fast, finish -170. */
static double club_at(double t)
{
    if (t < TOP_AT_S) {
        return step(90.0, 330.0, (t - REST_S) / (TOP_AT_S - REST_S));
    }
    if (t < IMPACT_AT_S) {
        const double x = (t - TOP_AT_S) / (IMPACT_AT_S - TOP_AT_S);
        return 330.0 - 240.0 * x * x * (1.6 - 0.6 * x);
    }
    const double rate = -240.0 * (3.2 - 1.8) / (IMPACT_AT_S - TOP_AT_S); /* deg/s at impact */
    const double span = FINISH_AT_S - IMPACT_AT_S;
    const double x = fmin(1.0, (t - IMPACT_AT_S) / span);
    const double m = rate * span;
    return 90.0 + m * (x * x * x - 2 * x * x + x) + (-260.0) * (3 * x * x - 2 * x * x * x);
}

/* The lead arm, degrees: 90 hanging, 180 level going back. */
static double arm_at(double t)
{
    if (t < TOP_AT_S) {
        return step(90.0, 215.0, (t - REST_S) / (TOP_AT_S - REST_S));
    }
    if (t < FINISH_AT_S) {
        return step(215.0, -60.0, (t - TOP_AT_S) / (1.9 - TOP_AT_S));
    }
    return -60.0;
}

static void put_point(struct swing_mark *mark, double u, double v)
{
    *mark = (struct swing_mark){true, true, u, v, 1.0};
}

static void make_film(double rate, enum view_kind view, enum hand hand)
{
    const double seconds = 2.9;
    memset(rays, 0, sizeof rays);
    memset(points, 0, sizeof points);
    film = (struct finder_film){.frames = (int)(seconds * rate),
                                .rate_hz = rate,
                                .rays = (const struct finder_ray(*)[FINDER_RAYS])rays,
                                .ray_counts = counts,
                                .points = (const struct swing_mark(*)[POINT_COUNT])points,
                                .club_px = club_px,
                                .view = view,
                                .hand = hand};
    for (int f = 0; f < film.frames; f++) {
        const double t = f / rate;
        const double side = hand == HAND_LEFT ? -1.0 : 1.0;
        const double arm = arm_at(t) * DRAWN_PI / 180.0;
        const double angle = hand == HAND_LEFT ? 180.0 - club_at(t) : club_at(t);
        const double u = 500.0 + side * 120.0 * cos(arm);
        const double v = 300.0 + 120.0 * sin(arm);
        truth[f] = angle;
        club_px[f] = CLUB;
        put_point(&points[f][POINT_LEAD_SHOULDER], 500.0, 300.0);
        put_point(&points[f][POINT_TRAIL_SHOULDER], 500.0 - side * 70.0, 300.0);
        put_point(&points[f][POINT_LEAD_WRIST], u, v);
        put_point(&points[f][POINT_TRAIL_WRIST], u, v);
        put_point(&points[f][POINT_GRIP], u, v);
        counts[f] = 1;
        rays[f][0] = (struct finder_ray){.angle_deg = fmod(angle + 720.0, 360.0),
                                         .sd_deg = 0.3,
                                         .u = u,
                                         .v = v,
                                         .from_px = 20.0,
                                         .to_px = 190.0,
                                         .score = 0.8,
                                         .width_px = 3.0,
                                         .end_open = true,
                                         .head_px = 195.0,
                                         .head_sd_px = 3.0};
    }
}

static int read_film(void)
{
    void *work = malloc(finder_path_bytes(film.frames));
    const int found = finder_path(&film, work, shafts);
    cr_assert_geq(finder_instants(&film, shafts, work, instants), 0);
    free(work);
    return found;
}

static double off_at(int frame)
{
    return drawn_apart(shafts[frame].angle_deg, truth[frame]);
}

/* When the made club or arm passes an angle, s. */
static double passes(double (*course)(double), double from, double to, double angle)
{
    const bool rising = course(to) > course(from);
    for (int k = 0; k < 60; k++) {
        const double middle = 0.5 * (from + to);
        if ((course(middle) < angle) == rising) {
            from = middle;
        } else {
            to = middle;
        }
    }
    return from;
}

Test(finder_path, a_clean_film_is_found_in_every_frame_and_runs_on_past_a_full_turn)
{
    make_film(60.0, VIEW_FACE_ON, HAND_RIGHT);
    cr_assert_eq(read_film(), film.frames);
    for (int f = 0; f < film.frames; f++) {
        cr_assert(shafts[f].found && shafts[f].known && shafts[f].head);
        cr_assert_lt(off_at(f), 0.8, "%d: %g for %g", f, shafts[f].angle_deg, truth[f]);
        cr_assert_float_eq(shafts[f].angle_deg - shafts[0].angle_deg, truth[f] - truth[0], 1.5);
        cr_assert_float_eq(shafts[f].u, rays[f][0].u + 195.0 * cos(truth[f] * DRAWN_PI / 180.0), 4.0);
    }
}

Test(finder_path, the_stated_error_holds)
{
    unsigned seed = 3;
    int within = 0;
    int count = 0;
    for (int run = 0; run < 8; run++) {
        make_film(run % 2 ? 60.0 : 240.0, VIEW_FACE_ON, HAND_RIGHT);
        for (int f = 0; f < film.frames; f++) {
            double noise = 0.0;
            for (int k = 0; k < 12; k++) {
                noise += (double)(drawn_random(&seed) & 0xffffU) / 65536.0 - 0.5;
            }
            rays[f][0].angle_deg = fmod(rays[f][0].angle_deg + 0.3 * noise + 360.0, 360.0);
        }
        cr_assert_gt(read_film(), film.frames * 95 / 100);
        for (int f = 0; f < film.frames; f++) {
            within += shafts[f].found && off_at(f) < 1.96 * shafts[f].sd_deg;
            count += shafts[f].found;
        }
    }
    cr_assert(within > count * 92 / 100, "%d of %d", within, count);
}

Test(finder_path, stronger_rays_that_jump_about_are_not_the_club)
{
    unsigned seed = 9;
    make_film(60.0, VIEW_FACE_ON, HAND_RIGHT);
    for (int f = 0; f < film.frames; f++) {
        counts[f] = 3;
        rays[f][2] = rays[f][0];
        for (int k = 0; k < 2; k++) {
            rays[f][k] = rays[f][2];
            rays[f][k].score = 0.9;
            rays[f][k].angle_deg = (double)(drawn_random(&seed) % 360U);
        }
    }
    int right = 0;
    read_film();
    for (int f = 0; f < film.frames; f++) {
        right += shafts[f].found && off_at(f) < 3.0;
    }
    cr_assert_gt(right, film.frames * 9 / 10);
}

Test(finder_path, a_single_wrong_ray_is_let_go)
{
    make_film(120.0, VIEW_FACE_ON, HAND_RIGHT);
    const int wrong = (int)(1.0 * 120);
    rays[wrong][0].angle_deg = fmod(rays[wrong][0].angle_deg + 9.0, 360.0);
    read_film();
    cr_assert_not(shafts[wrong].found);
    cr_assert(shafts[wrong].known);
    cr_assert_lt(off_at(wrong), 1.5);
    cr_assert(shafts[wrong - 3].found && shafts[wrong + 3].found);
}

Test(finder_path, a_short_gap_is_bridged_with_a_wider_error_and_a_long_one_is_not)
{
    make_film(120.0, VIEW_FACE_ON, HAND_RIGHT);
    for (int f = 100; f < 106; f++) {
        counts[f] = 0;
    }
    for (int f = 20; f < 50; f++) {
        counts[f] = -1;
    }
    read_film();
    cr_assert(shafts[103].known && !shafts[103].found);
    cr_assert_gt(shafts[103].sd_deg, 2.0 * shafts[95].sd_deg);
    cr_assert_lt(off_at(103), 3.0 * shafts[103].sd_deg);
    cr_assert_not(shafts[35].known);
    cr_assert(shafts[10].found && shafts[60].found);
}

Test(finder_path, a_fan_without_turning_is_no_club)
{
    make_film(60.0, VIEW_FACE_ON, HAND_RIGHT);
    for (int f = 0; f < film.frames; f++) {
        counts[f] = 2;
        rays[f][1] = rays[f][0];
        rays[f][0].fan_deg = 22.0; /* a sleeve */
        rays[f][0].sd_deg = 2.5;
        rays[f][0].angle_deg = 280.0;
        rays[f][1].score = 0.5;
    }
    read_film();
    for (int f = 0; f < 20; f++) {
        cr_assert(shafts[f].found && off_at(f) < 2.0);
    }
}

Test(finder_path, the_angle_may_leap_where_the_club_points_at_the_camera)
{
    make_film(60.0, VIEW_DOWN_THE_LINE, HAND_RIGHT);
    for (int f = 0; f < film.frames; f++) {
        truth[f] = f < 60 ? 45.0 : 225.0;
        rays[f][0].angle_deg = truth[f];
        rays[f][0].score = fabs(f - 59.5) < 3.0 ? 0.0 : 0.6;
        counts[f] = rays[f][0].score > 0.0;
    }
    read_film();
    cr_assert(shafts[50].found && off_at(50) < 1.0);
    cr_assert(shafts[70].found && off_at(70) < 1.0);
}

Test(finder_path, clutter_of_a_few_frames_is_not_told)
{
    make_film(60.0, VIEW_FACE_ON, HAND_RIGHT);
    for (int f = 0; f < film.frames; f++) {
        counts[f] = f == 30 || f == 31 || f == 90;
    }
    cr_assert_eq(read_film(), 0);
    memset(counts, 0, sizeof counts);
    cr_assert_eq(read_film(), 0);
}

Test(finder_path, a_run_longer_than_the_club_pays)
{
    make_film(60.0, VIEW_FACE_ON, HAND_RIGHT);
    for (int f = 0; f < film.frames; f++) {
        counts[f] = 2;
        rays[f][1] = rays[f][0];
        rays[f][0].to_px = 1.6 * CLUB;
        rays[f][0].angle_deg = 300.0;
    }
    read_film();
    cr_assert_lt(off_at(20), 1.0);
}

Test(finder_path, what_is_out_of_range_is_refused)
{
    char work[16];
    make_film(60.0, VIEW_FACE_ON, HAND_RIGHT);
    cr_assert_eq(finder_path_bytes(2), 0);
    cr_assert_eq(finder_path_bytes(FINDER_FRAMES_MAX + 1), 0);
    cr_assert_gt(finder_path_bytes(FINDER_FRAMES_MAX), 0);
    cr_assert_eq(finder_path(NULL, work, shafts), -1);
    cr_assert_eq(finder_path(&film, NULL, shafts), -1);
    cr_assert_eq(finder_path(&film, work, NULL), -1);
    film.rate_hz = 0.0;
    cr_assert_eq(finder_path(&film, work, shafts), -1);
    cr_assert_eq(finder_instants(&film, shafts, work, instants), -1);
    film.rate_hz = NAN;
    cr_assert_eq(finder_path(&film, work, shafts), -1);
    film.rate_hz = 60.0;
    film.frames = FINDER_FRAMES_MAX + 1;
    cr_assert_eq(finder_path(&film, work, shafts), -1);
    film.frames = 100;
    film.club_px = NULL;
    cr_assert_eq(finder_path(&film, work, shafts), -1);
    film.club_px = club_px;
    cr_assert_eq(finder_instants(&film, NULL, work, instants), -1);
    cr_assert_eq(finder_instants(&film, shafts, NULL, instants), -1);
    cr_assert_eq(finder_instants(&film, shafts, work, NULL), -1);
}

static void near(enum checkpoint checkpoint, double seconds, double within_s)
{
    cr_assert(instants[checkpoint].found, "%s", checkpoint_name(checkpoint));
    cr_assert_float_eq(instants[checkpoint].time_s, seconds, within_s, "%s at %g for %g", checkpoint_name(checkpoint),
                       instants[checkpoint].time_s, seconds);
    cr_assert(instants[checkpoint].sd_s > 0.0 && instants[checkpoint].sd_s < 0.12);
}

Test(finder_instants, every_checkpoint_is_told_between_frames_from_the_front_of_either_hand_at_any_rate)
{
    static const double rates[] = {30.0, 60.0, 120.0, 240.0, 600.0};
    for (int k = 0; k < 10; k++) {
        make_film(rates[k / 2], VIEW_FACE_ON, k % 2 ? HAND_LEFT : HAND_RIGHT);
        read_film();
        near(CHECKPOINT_ADDRESS, REST_S, 0.03);
        near(CHECKPOINT_SHAFT_BACK, passes(club_at, REST_S, TOP_AT_S, 180.0), 0.003);
        near(CHECKPOINT_ARM_BACK, passes(arm_at, REST_S, TOP_AT_S, 180.0), 0.01);
        near(CHECKPOINT_TOP, TOP_AT_S, 0.012);
        near(CHECKPOINT_SHAFT_DOWN, passes(club_at, TOP_AT_S, IMPACT_AT_S, 180.0), 0.003);
        near(CHECKPOINT_SHAFT_THROUGH, passes(club_at, IMPACT_AT_S, 1.95, 0.0), 0.004);
        near(CHECKPOINT_FINISH, FINISH_AT_S, 0.06);
        cr_assert(instants[CHECKPOINT_IMPACT].found);
        for (int c = 1; c < CHECKPOINT_COUNT; c++) {
            cr_assert(!instants[c].found || instants[c].time_s >= instants[CHECKPOINT_ADDRESS].time_s);
        }
    }
}

Test(finder_instants, what_holds_the_club_beside_the_wrist_tells_of_a_level_arm)
{
    for (int alone = 0; alone < 2; alone++) {
        make_film(120.0, VIEW_FACE_ON, HAND_RIGHT);
        const double level = passes(arm_at, REST_S, TOP_AT_S, 180.0);
        for (int f = 0; f < film.frames;
             f++) { /* the lead wrist goes astray for a while; the others lie along the shaft */
            const double far = (f / film.rate_hz - level) / 0.1;
            const double angle = truth[f] * DRAWN_PI / 180.0;
            points[f][POINT_TRAIL_WRIST].v += 8.0 * sin(angle);
            points[f][POINT_GRIP].v += 14.0 * sin(angle);
            points[f][POINT_LEAD_WRIST].v += 10.0 * exp(-0.5 * far * far);
            points[f][POINT_TRAIL_WRIST].seen = !alone;
        }
        read_film();
        near(CHECKPOINT_ARM_BACK, level, alone ? 0.02 : 0.016); /* 24 ms by the wrist itself */
    }
}

Test(finder_instants, impact_is_where_the_clubhead_is_back_at_its_place)
{
    make_film(60.0, VIEW_FACE_ON, HAND_RIGHT);
    for (int f = 0; f < film.frames; f++) { /* hands that stay, so that the place is the angle's alone */
        const double t = f / film.rate_hz;
        const double lift =
            t < TOP_AT_S ? step(0.0, 120.0, (t - REST_S) / 0.9) : step(120.0, 0.0, (t - TOP_AT_S) / 0.25);
        put_point(&points[f][POINT_GRIP], 500.0, 420.0 - lift);
        rays[f][0].u = 500.0;
        rays[f][0].v = 420.0 - lift;
    }
    for (int gap = 0; gap < 2; gap++) {
        read_film();
        near(CHECKPOINT_IMPACT, IMPACT_AT_S, gap ? 0.012 : 0.002);
        const int frame = (int)(IMPACT_AT_S * film.rate_hz);
        counts[frame] = counts[frame + 1] = counts[frame - 1] = 0; /* blurred away */
    }
}

Test(finder_instants, without_the_club_the_hands_tell_top_and_impact_more_widely)
{
    make_film(120.0, VIEW_FACE_ON, HAND_RIGHT);
    memset(counts, 0, sizeof counts);
    read_film();
    near(CHECKPOINT_TOP, TOP_AT_S, 0.05);
    cr_assert_gt(instants[CHECKPOINT_TOP].sd_s, 0.01);
    cr_assert(instants[CHECKPOINT_IMPACT].found && instants[CHECKPOINT_IMPACT].sd_s > 0.004);
    cr_assert_not(instants[CHECKPOINT_ADDRESS].found);
    cr_assert_not(instants[CHECKPOINT_SHAFT_BACK].found);
    cr_assert(instants[CHECKPOINT_ARM_BACK].found);
}

/* The same club seen from behind, on a plane that stands nearly edge on: short where it points at the camera, where
 * something level behind it is taken for it. */
static void see_from_behind(void)
{
    for (int f = 0; f < film.frames; f++) {
        const double up = sin(truth[f] * DRAWN_PI / 180.0);
        const double u = CLUB * (0.1 - 0.6 * up);
        const double v = CLUB * 0.8 * up;
        rays[f][0].angle_deg = fmod(atan2(v, u) * 180.0 / DRAWN_PI + 360.0, 360.0);
        rays[f][0].to_px = rays[f][0].head_px = hypot(u, v);
        if (hypot(u, v) < 0.2 * CLUB) {
            rays[f][0].angle_deg = 180.0;
            rays[f][0].to_px = 0.7 * CLUB;
            rays[f][0].score = 0.3;
        }
    }
}

Test(finder_instants, from_behind_level_is_told_by_heights)
{
    make_film(60.0, VIEW_DOWN_THE_LINE, HAND_RIGHT);
    see_from_behind();
    read_film();
    near(CHECKPOINT_SHAFT_BACK, passes(club_at, REST_S, TOP_AT_S, 180.0), 0.004);
    near(CHECKPOINT_SHAFT_DOWN, passes(club_at, TOP_AT_S, IMPACT_AT_S, 180.0), 0.004);
    cr_assert_not(instants[CHECKPOINT_SHAFT_THROUGH].found);
}

Test(finder_instants, from_behind_level_is_not_told_of_a_club_seen_on_one_side_only)
{
    make_film(60.0, VIEW_DOWN_THE_LINE, HAND_RIGHT);
    see_from_behind();
    for (int f = 0; f < film.frames; f++) {
        const double t = f / film.rate_hz;
        counts[f] = t > TOP_AT_S - 0.65 && t < TOP_AT_S + 0.25 ? 0 : counts[f];
    }
    read_film();
    cr_assert_not(instants[CHECKPOINT_SHAFT_BACK].found);
    cr_assert_not(instants[CHECKPOINT_SHAFT_DOWN].found);
}

Test(finder_instants, from_behind_impact_is_where_the_clubhead_rises_past_its_place_at_rest)
{
    static const double at[] = {1.632, 1.66};
    for (int k = 0; k < 4; k++) {
        make_film(k / 2 ? 240.0 : 120.0, VIEW_DOWN_THE_LINE, HAND_RIGHT);
        for (int f = 0; f < film.frames; f++) {
            const double before = at[k % 2] - f / film.rate_hz;
            if (fabs(before) < 0.05) {
                const double head = points[0][POINT_GRIP].v + rays[0][0].head_px + 0.013 * CLUB + 1500.0 * before;
                rays[f][0].v = head - rays[f][0].head_px * sin(truth[f] * DRAWN_PI / 180.0);
            }
        }
        read_film();
        near(CHECKPOINT_IMPACT, at[k % 2], 0.003);
    }
}

Test(finder_instants, a_film_without_a_swing_has_none)
{
    make_film(60.0, VIEW_FACE_ON, HAND_RIGHT);
    for (int f = 0; f < film.frames; f++) {
        memcpy(points[f], points[0], sizeof points[f]);
        rays[f][0] = rays[0][0];
    }
    read_film();
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        cr_assert_not(instants[c].found);
    }
}

Test(finder_instants, hands_that_are_lost_for_a_while_are_borne)
{
    make_film(60.0, VIEW_FACE_ON, HAND_RIGHT);
    for (int f = 0; f < film.frames; f++) {
        if (f % 5 == 0 || (f > 85 && f < 90)) {
            memset(points[f], 0, sizeof points[f]);
            counts[f] = 0;
        }
    }
    read_film();
    near(CHECKPOINT_SHAFT_BACK, passes(club_at, REST_S, TOP_AT_S, 180.0), 0.01);
    cr_assert(instants[CHECKPOINT_TOP].found);
}

Test(finder_instants, the_longest_film_is_read)
{
    make_film(60.0, VIEW_FACE_ON, HAND_RIGHT);
    const int swing = film.frames;
    film.frames = FINDER_FRAMES_MAX;
    for (int f = swing; f < film.frames; f++) { /* holds the finish */
        memcpy(rays[f], rays[swing - 1], sizeof rays[f]);
        memcpy(points[f], points[swing - 1], sizeof points[f]);
        counts[f] = 1;
        club_px[f] = CLUB;
    }
    read_film();
    near(CHECKPOINT_FINISH, FINISH_AT_S, 0.06);
}
