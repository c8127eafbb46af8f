/* Order indices of turn and lift. */
#include "order.h"

#include "sigma.h"

bool order_index(const double *first, const double *then, int n, double *index)
{
    if (n < 2) {
        return false;
    }
    double a = first[n - 1] - first[0];
    double e = then[n - 1] - then[0];
    double sum = 0.0;
    if (!(fabs(a) > 1e-9) || !(fabs(e) > 1e-9)) {
        return false;
    }
    for (int i = 0; i + 1 < n; i++) {
        sum += 0.5 * (first[i] + first[i + 1] - 2.0 * first[0]) * (then[i + 1] - then[i]);
    }
    *index = fmax(-1.0, fmin(1.0, 2.0 * sum / (a * e) - 1.0));
    return isfinite(sum);
}

bool order_index_one_view(const double *shift, const double *height, int n, double *index)
{
    if (n < 2) {
        return false;
    }
    double l = shift[n - 1] - shift[0];
    double h = height[n - 1] - height[0];
    double sum = 0.0;
    if (!(fabs(l) > 1e-9) || !(fabs(h) > 1e-9)) {
        return false;
    }
    for (int i = 0; i + 1 < n; i++) {
        sum +=
            (shift[i] - shift[0]) * (height[i + 1] - height[0]) - (shift[i + 1] - shift[0]) * (height[i] - height[0]);
    }
    *index = sum / (l * h);
    return isfinite(*index);
}

bool order_in_front(struct vec3 hands_at_address, struct vec3 hub)
{
    return hands_at_address.z - hub.z >= ORDER_IN_FRONT_M;
}

bool order_of_hands(const struct vec3 *hands, int n, struct vec3 hub, enum order_phase phase, double *index)
{
    double turn[ORDER_HANDS_MAX];
    double height[ORDER_HANDS_MAX];

    if (n < 3 || n > ORDER_HANDS_MAX) {
        return false;
    }
    for (int i = 0; i < n; i++) {
        double x = hands[i].x - hub.x;
        double z = hands[i].z - hub.z;
        if (!(x * x + z * z > 1e-6)) {
            return false;
        }
        turn[i] = atan2(-x, z) * VEC_DEG;
        if (i > 0) {
            turn[i] = turn[i - 1] + sigma_wrap(turn[i] - turn[i - 1]);
        }
        height[i] = hands[i].y;
    }
    if (!(fabs(turn[n - 1] - turn[0]) >= ORDER_TURN_MIN_DEG) ||
        !(fabs(height[n - 1] - height[0]) >= ORDER_LIFT_MIN_M)) {
        return false;
    }
    return phase == ORDER_DOWN ? order_index(height, turn, n, index) : order_index(turn, height, n, index);
}
