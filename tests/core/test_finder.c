/* The shaft in one picture: lines of known angle among what may mislead. */
#include <criterion/criterion.h>

#include "tests/core/drawn_film.h"

#define CLUB 120.0

static struct drawn picture;
static struct drawn ground;
static struct swing_mark points[POINT_COUNT];
static struct finder_ray rays[FINDER_RAYS];

static int look(bool with_ground)
{
    static void *work;
    const struct finder_picture seen = drawn_picture(&picture);
    if (work == NULL) {
        work = malloc(finder_frame_bytes());
    }
    return finder_frame(&seen, with_ground ? ground.grey : NULL, points, CLUB, work, rays);
}

static void scene(unsigned seed)
{
    drawn_ground(&ground, 120.0, 4.0, seed);
    picture = ground;
}

Test(finder, every_direction_is_read_to_a_fraction_of_a_degree_within_its_error)
{
    int within = 0;
    int count = 0;
    for (double angle = 0.0; angle < 360.0; angle += 7.3) {
        scene((unsigned)(angle * 10.0) + 1U);
        const double off = 3.0 * sin(angle);
        drawn_line(&picture, 160.0, 160.0, angle, 10.0, 110.0, 2.0, 0.0, angle < 180.0 ? 190.0 : 50.0);
        drawn_hands(points, 160.0 + off, 160.0 - off, 3.0);
        cr_assert_geq(look(false), 1);
        cr_assert_lt(drawn_apart(rays[0].angle_deg, angle), 1.0, "%g read as %g", angle, rays[0].angle_deg);
        cr_assert_float_eq(rays[0].to_px, 110.0 - off * (cos(angle * DRAWN_PI / 180) - sin(angle * DRAWN_PI / 180)),
                           7.0);
        cr_assert_eq(rays[0].fan_deg, 0.0);
        cr_assert(rays[0].end_open);
        within += drawn_apart(rays[0].angle_deg, angle) < 1.96 * rays[0].sd_deg;
        count++;
    }
    cr_assert_geq(within, count * 93 / 100, "%d of %d", within, count);
}

Test(finder, the_line_is_placed_where_it_runs_and_not_where_the_hands_are_thought)
{
    scene(5);
    drawn_line(&picture, 160.0, 160.0, 30.0, 10.0, 110.0, 2.0, 0.0, 200.0);
    drawn_hands(points, 160.0 - 5.0 * sin(DRAWN_PI / 6), 160.0 + 5.0 * cos(DRAWN_PI / 6), 4.0);
    cr_assert_geq(look(false), 1);
    const double across = (rays[0].v - 160.0) * cos(DRAWN_PI / 6) - (rays[0].u - 160.0) * sin(DRAWN_PI / 6);
    cr_assert_float_eq(across, 0.0, 0.8);
    cr_assert_lt(drawn_apart(rays[0].angle_deg, 30.0), 0.6);
}

Test(finder, an_edge_is_no_line)
{
    scene(6);
    for (int i = DRAWN_WIDTH * 160; i < DRAWN_WIDTH * DRAWN_HEIGHT; i++) {
        picture.grey[i] = (unsigned char)(picture.grey[i] + 80);
    }
    drawn_hands(points, 160.0, 160.0, 3.0);
    const int count = look(false);
    for (int k = 0; k < count; k++) {
        cr_assert_lt(rays[k].score, 0.25, "%g: %g", rays[k].angle_deg, rays[k].score);
    }
}

Test(finder, noise_alone_is_hardly_a_line)
{
    for (unsigned seed = 100; seed < 110; seed++) {
        drawn_ground(&picture, 120.0, 12.0, seed);
        drawn_hands(points, 160.0, 160.0, 3.0);
        cr_assert(look(false) == 0 || rays[0].score < 0.2);
    }
}

Test(finder, what_stands_still_counts_less_than_what_moved)
{
    scene(7);
    drawn_line(&ground, 160.0, 160.0, 200.0, -150.0, 200.0, 2.5, 0.0, 20.0); /* a fence's rail through the hands */
    picture = ground;
    drawn_line(&picture, 160.0, 160.0, 75.0, 10.0, 100.0, 2.0, 0.0, 160.0);
    drawn_hands(points, 160.0, 160.0, 2.0);
    cr_assert_geq(look(true), 1);
    cr_assert_lt(drawn_apart(rays[0].angle_deg, 75.0), 1.0);
    for (int k = 1; k < FINDER_RAYS && rays[k].score > 0.0; k++) {
        cr_assert_lt(rays[k].score, 0.6 * rays[0].score);
    }
    /* A club that stands still in most of the film is in the ground as well, and is found all the same. */
    picture = ground;
    cr_assert_geq(look(true), 1);
    cr_assert(drawn_apart(rays[0].angle_deg, 200.0) < 1.0 || drawn_apart(rays[0].angle_deg, 20.0) < 1.0);
}

Test(finder, the_trace_of_a_club_that_the_ground_holds_is_not_the_club)
{
    scene(8);
    struct drawn bare = ground;
    drawn_line(&ground, 160.0, 160.0, 95.0, 10.0, 110.0, 2.0, 0.0, 200.0);
    picture = bare;
    drawn_line(&picture, 160.0, 160.0, 190.0, 10.0, 110.0, 2.0, 0.0, 200.0);
    drawn_hands(points, 160.0, 160.0, 2.0);
    const int count = look(true);
    cr_assert_geq(count, 1);
    cr_assert_lt(drawn_apart(rays[0].angle_deg, 190.0), 1.0);
    for (int k = 1; k < count; k++) {
        cr_assert(drawn_apart(rays[k].angle_deg, 95.0) > 3.0 || rays[k].score < 0.3);
    }
}

Test(finder, a_forearm_is_not_the_shaft)
{
    scene(9);
    drawn_line(&picture, 160.0, 160.0, 250.0, 6.0, 90.0, 3.0, 0.0, 230.0); /* a seam along the sleeve */
    drawn_line(&picture, 160.0, 160.0, 80.0, 10.0, 90.0, 2.0, 0.0, 160.0);
    drawn_hands(points, 160.0, 160.0, 2.0);
    const double c = cos(250.0 * DRAWN_PI / 180.0);
    const double s = sin(250.0 * DRAWN_PI / 180.0);
    points[POINT_LEAD_WRIST] = (struct swing_mark){true, true, 160.0 + 5 * c, 160.0 + 5 * s, 3.0};
    points[POINT_LEAD_ELBOW] = (struct swing_mark){true, true, 160.0 + 50 * c, 160.0 + 50 * s, 3.0};
    points[POINT_LEAD_SHOULDER] = (struct swing_mark){true, true, 160.0 + 95 * c, 160.0 + 95 * s, 3.0};
    cr_assert_geq(look(false), 1);
    cr_assert_lt(drawn_apart(rays[0].angle_deg, 80.0), 1.0);
}

Test(finder, a_blurred_club_is_a_fan_whose_middle_is_found_with_a_wider_error)
{
    scene(10);
    drawn_line(&picture, 160.0, 160.0, 110.0, 10.0, 115.0, 2.5, 12.0, 255.0);
    drawn_hands(points, 160.0, 160.0, 2.0);
    cr_assert_geq(look(true), 1);
    cr_assert_lt(drawn_apart(rays[0].angle_deg, 110.0), 3.0);
    cr_assert_gt(rays[0].fan_deg, 3.0);
    cr_assert_gt(rays[0].sd_deg, 0.5);
    cr_assert_gt(rays[0].width_px, 4.0);
}

Test(finder, a_run_that_begins_far_from_the_hands_is_none)
{
    scene(11);
    drawn_line(&picture, 160.0, 160.0, 45.0, 70.0, 120.0, 2.0, 0.0, 230.0);
    drawn_hands(points, 160.0, 160.0, 2.0);
    const int count = look(false);
    for (int k = 0; k < count; k++) {
        cr_assert_gt(drawn_apart(rays[k].angle_deg, 45.0), 4.0);
    }
}

Test(finder, a_club_that_leaves_the_picture_has_no_end)
{
    scene(12);
    drawn_line(&picture, 270.0, 160.0, 0.0, 5.0, 110.0, 2.0, 0.0, 230.0);
    drawn_hands(points, 270.0, 160.0, 2.0);
    cr_assert_geq(look(false), 1);
    cr_assert_lt(drawn_apart(rays[0].angle_deg, 0.0), 1.5);
    cr_assert_not(rays[0].end_open);
}

Test(finder, an_end_on_the_body_is_no_clubhead)
{
    scene(13);
    drawn_line(&picture, 160.0, 160.0, 90.0, 5.0, 70.0, 2.0, 0.0, 230.0);
    drawn_hands(points, 160.0, 160.0, 2.0);
    points[POINT_LEAD_HIP] = (struct swing_mark){true, true, 120.0, 235.0, 3.0};
    points[POINT_LEAD_KNEE] = (struct swing_mark){true, true, 200.0, 235.0, 3.0};
    cr_assert_geq(look(false), 1);
    cr_assert_lt(drawn_apart(rays[0].angle_deg, 90.0), 1.5);
    cr_assert_not(rays[0].end_open);
}

Test(finder, a_large_picture_is_read_as_its_small_copy)
{
    const int k = 8;
    const int width = DRAWN_WIDTH * k;
    unsigned char *large = malloc((size_t)width * width);
    void *work = malloc(finder_frame_bytes());
    scene(14);
    drawn_line(&picture, 160.0, 160.0, 137.0, 10.0, 110.0, 2.0, 0.0, 200.0);
    for (int i = 0; i < width * width; i++) {
        large[i] = picture.grey[(i / width / k) * DRAWN_WIDTH + i % width / k];
    }
    drawn_hands(points, 160.0 * k, 160.0 * k, 3.0 * k);
    const struct finder_picture seen = {large, width, width, (size_t)width};
    cr_assert_geq(finder_frame(&seen, NULL, points, CLUB * k, work, rays), 1);
    cr_assert_lt(drawn_apart(rays[0].angle_deg, 137.0), 1.0);
    cr_assert_float_eq(rays[0].to_px, 110.0 * k, 7.0 * k);
    free(large);
    free(work);
}

Test(finder, what_is_out_of_range_is_refused)
{
    void *work = malloc(finder_frame_bytes());
    struct finder_picture seen;
    scene(15);
    seen = drawn_picture(&picture);
    drawn_hands(points, 160.0, 160.0, 3.0);
    cr_assert_eq(finder_frame(NULL, NULL, points, CLUB, work, rays), -1);
    cr_assert_eq(finder_frame(&seen, NULL, NULL, CLUB, work, rays), -1);
    cr_assert_eq(finder_frame(&seen, NULL, points, CLUB, NULL, rays), -1);
    cr_assert_eq(finder_frame(&seen, NULL, points, CLUB, work, NULL), -1);
    cr_assert_eq(finder_frame(&seen, NULL, points, FINDER_CLUB_MIN - 1, work, rays), -1);
    cr_assert_eq(finder_frame(&seen, NULL, points, DRAWN_WIDTH + 1, work, rays), -1);
    cr_assert_eq(finder_frame(&seen, NULL, points, NAN, work, rays), -1);
    seen.stride = DRAWN_WIDTH - 1;
    cr_assert_eq(finder_frame(&seen, NULL, points, CLUB, work, rays), -1);
    seen = drawn_picture(&picture);
    seen.width = FINDER_SIDE_MIN - 1;
    cr_assert_eq(finder_frame(&seen, NULL, points, CLUB, work, rays), -1);
    seen = drawn_picture(&picture);
    seen.grey = NULL;
    cr_assert_eq(finder_frame(&seen, NULL, points, CLUB, work, rays), -1);
    seen = drawn_picture(&picture);
    points[POINT_GRIP].u = -1.0;
    cr_assert_eq(finder_frame(&seen, NULL, points, CLUB, work, rays), -1);
    points[POINT_GRIP].u = NAN;
    cr_assert_eq(finder_frame(&seen, NULL, points, CLUB, work, rays), -1);
    points[POINT_GRIP].seen = false;
    cr_assert_eq(finder_frame(&seen, NULL, points, CLUB, work, rays), -1);
    free(work);
}

Test(finder, hands_are_the_wrists_where_no_grip_is_seen)
{
    scene(16);
    drawn_line(&picture, 160.0, 160.0, 60.0, 10.0, 110.0, 2.0, 0.0, 200.0);
    for (int which = 1; which <= 3; which++) {
        memset(points, 0, sizeof points);
        points[POINT_LEAD_WRIST] = (struct swing_mark){which & 1, true, which == 3 ? 157.0 : 160.0, 160.0, 3.0};
        points[POINT_TRAIL_WRIST] = (struct swing_mark){which & 2, true, which == 3 ? 163.0 : 160.0, 160.0, 3.0};
        cr_assert_geq(look(false), 1);
        cr_assert_lt(drawn_apart(rays[0].angle_deg, 60.0), 1.0);
    }
}

Test(finder, any_hands_and_any_club_are_borne)
{
    scene(17);
    drawn_line(&picture, 160.0, 160.0, 60.0, 10.0, 110.0, 2.0, 0.0, 200.0);
    void *work = malloc(finder_frame_bytes());
    const struct finder_picture seen = drawn_picture(&picture);
    for (int k = 0; k < 60; k++) {
        const double u = k % 2 ? k * 5.3 : 319.99;
        const double v = k % 3 ? k * 5.1 : 0.0;
        drawn_hands(points, u, v, k * 10.0);
        for (double club = FINDER_CLUB_MIN; club <= DRAWN_WIDTH; club *= 1.7) {
            const int count = finder_frame(&seen, ground.grey, points, club, work, rays);
            cr_assert(count >= 0 && count <= FINDER_RAYS);
            for (int i = 0; i < count; i++) {
                cr_assert(rays[i].angle_deg >= 0.0 && rays[i].angle_deg < 360.0 && rays[i].sd_deg > 0.0);
                cr_assert(rays[i].score > 0.0 && rays[i].score <= 1.0 && rays[i].to_px > rays[i].from_px);
                cr_assert(i == 0 || rays[i].score <= rays[i - 1].score);
            }
        }
    }
    free(work);
}

Test(finder, the_ground_is_the_middle_of_the_pictures)
{
    enum { PIXELS = 1000 };
    static unsigned char pictures[FINDER_GROUND_MAX][PIXELS];
    const unsigned char *list[FINDER_GROUND_MAX];
    unsigned char out[PIXELS];
    unsigned seed = 1;
    for (int k = 0; k < FINDER_GROUND_MAX; k++) {
        for (int i = 0; i < PIXELS; i++) {
            pictures[k][i] = (unsigned char)drawn_random(&seed);
        }
        list[k] = pictures[k];
    }
    for (int count = 1; count <= FINDER_GROUND_MAX; count++) {
        cr_assert(finder_ground(list, count, PIXELS, out));
        for (int i = 0; i < PIXELS; i++) {
            int below = 0;
            int same = 0;
            for (int k = 0; k < count; k++) {
                below += pictures[k][i] < out[i];
                same += pictures[k][i] == out[i];
            }
            cr_assert(same > 0 && below <= count / 2 && below + same > count / 2);
        }
    }
    cr_assert_not(finder_ground(list, 0, PIXELS, out));
    cr_assert_not(finder_ground(list, FINDER_GROUND_MAX + 1, PIXELS, out));
    cr_assert_not(finder_ground(NULL, 1, PIXELS, out));
}
