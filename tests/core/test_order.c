/* Order indices. */
#include <criterion/criterion.h>

#include "core/order.h"
#include "tests/core/posed_figure.h"

Test(order, limits_and_middle)
{
    const double turn[] = {0, 1, 1}, lift[] = {0, 0, 1}, both[] = {5, 6, 7};
    double index;
    cr_assert(order_index(turn, lift, 3, &index));
    cr_assert_float_eq(index, 1, 1e-12);
    cr_assert(order_index(lift, turn, 3, &index));
    cr_assert_float_eq(index, -1, 1e-12);
    cr_assert(order_index(both, both, 3, &index));
    cr_assert_float_eq(index, 0, 1e-12);
    const double flat[] = {1, 2, 1};
    cr_assert_not(order_index(flat, both, 3, &index));
    cr_assert_not(order_index(both, both, 1, &index));
}

Test(order, worked_polyline)
{
    const double a[] = {0, .25, .55, .8, .95, 1}, e[] = {0, .05, .2, .5, .85, 1};
    double index;
    cr_assert(order_index(a, e, 6, &index));
    cr_assert_float_eq(index, 0.4425, 1e-12);
    cr_assert(order_index_one_view(a, e, 6, &index));
    cr_assert_float_eq(index, 0.4425, 1e-12);
}

Test(order, a_flat_swing_about_the_hub)
{
    static const struct {
        double swing, index;
    } rows[] = {{90, .45}, {120, .39}, {150, .24}};
    struct posed_body a = posed_address();
    struct vec3 hub = vec_scale(vec_add(a.points[POINT_LEAD_SHOULDER], a.points[POINT_TRAIL_SHOULDER]), 0.5);
    for (size_t r = 0; r < 3; r++) {
        struct vec3 hands[200], down[200];
        double back, drop; /* the same path backwards has the same index */
        for (int i = 0; i < 200; i++) {
            hands[i] = posed_hands(rows[r].swing * i / 199.0, 50);
            down[199 - i] = hands[i];
        }
        cr_assert(order_of_hands(hands, 200, hub, ORDER_BACK, &back));
        cr_assert_float_eq(back, rows[r].index, 0.006);
        cr_assert(order_of_hands(down, 200, hub, ORDER_DOWN, &drop));
        cr_assert_float_eq(drop, back, 1e-9);
    }
}

Test(order, hands_over_the_hub_or_still_are_refused)
{
    struct vec3 hub = vec_make(0, 1.3, 0), still[4] = {hub, hub, hub, hub};
    double index;
    cr_assert_not(order_of_hands(still, 4, hub, ORDER_BACK, &index));
    cr_assert_not(order_in_front(vec_make(0, 0.8, 0.03), hub));
    cr_assert(order_in_front(vec_make(0, 0.8, 0.05), hub));
}
