/* The static centre of mass and the share on the lead foot. */
#include <criterion/criterion.h>

#include "core/weight.h"
#include "tests/core/posed_figure.h"

static struct weight_point points[POINT_COUNT];

static void pose(double shift)
{
    struct posed_body b = posed_address();
    for (int i = 0; i < POINT_COUNT; i++) {
        bool foot = i >= POINT_LEAD_ANKLE && i <= POINT_TRAIL_TOE;
        points[i] = (struct weight_point){true, b.points[i].x + (foot ? 0 : shift), b.points[i].y};
    }
}

Test(weight, translation_moves_the_centre_and_not_the_share)
{
    double x, y, moved, share, again;
    pose(0);
    cr_assert(weight_com(points, &x, &y));
    cr_assert(weight_share(points, 0.1, &share));
    for (int i = 0; i < POINT_COUNT; i++) {
        points[i].x += 0.1;
    }
    cr_assert(weight_com(points, &moved, &y));
    cr_assert_float_eq(moved - x, 0.1, 1e-12);
    cr_assert(weight_share(points, 0.1, &again));
    cr_assert_float_eq(again, share, 1e-12);
    cr_assert_float_eq(share, 0.5, 0.03);
}

Test(weight, leaning_to_the_target_loads_the_lead_foot)
{
    double even, lead;
    pose(0);
    cr_assert(weight_share(points, 0.1, &even));
    pose(0.1);
    cr_assert(weight_share(points, 0.1, &lead));
    cr_assert_gt(lead, even + 0.15);
}

Test(weight, the_fewest_points)
{
    double share;
    pose(0);
    points[POINT_LEAD_ELBOW].seen = points[POINT_TRAIL_ELBOW].seen = false;
    points[POINT_LEAD_WRIST].seen = points[POINT_TRAIL_WRIST].seen = false;
    points[POINT_LEAD_TOE].seen = points[POINT_TRAIL_TOE].seen = points[POINT_NECK].seen = false;
    cr_assert(weight_share(points, 0.1, &share));
    points[POINT_GRIP].seen = false;
    cr_assert_not(weight_share(points, 0.1, &share));
    pose(0);
    points[POINT_LEAD_KNEE].seen = false;
    cr_assert_not(weight_share(points, 0.1, &share));
    pose(0);
    points[POINT_LEAD_ANKLE] = points[POINT_TRAIL_ANKLE];
    cr_assert_not(weight_share(points, 0.1, &share));
}

Test(weight, a_picture_is_used_where_the_body_is_slow)
{
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        bool used = c == CHECKPOINT_ADDRESS || c == CHECKPOINT_ARM_BACK || c == CHECKPOINT_ARM_THROUGH ||
                    c == CHECKPOINT_FINISH;
        cr_assert_eq(weight_picture_sd((enum checkpoint)c) > 0, used);
    }
    cr_assert_float_eq(weight_picture_sd(CHECKPOINT_ADDRESS), 6, 1e-12);
    cr_assert_float_eq(weight_picture_sd(CHECKPOINT_ARM_BACK), 12, 1e-12);
}
