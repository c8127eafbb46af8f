/* Order indices of turn and lift. */
#include "core/order.h"

#include "core/sigma.h"

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

/* Second derivatives of the natural cubic through y at the places s: none at the ends, the tridiagonal system between.
 */
static void natural_bends(const double *s, const double *y, int n, double *bend)
{
    double above[ORDER_FEW]; /* of the system, once the lower diagonal is gone */

    bend[0] = bend[n - 1] = above[0] = 0.0;
    for (int i = 1; i + 1 < n; i++) {
        double a = s[i] - s[i - 1];
        double b = s[i + 1] - s[i];
        double right = 6.0 * ((y[i + 1] - y[i]) / b - (y[i] - y[i - 1]) / a);
        double pivot = 2.0 * (a + b) - a * above[i - 1];
        above[i] = b / pivot;
        bend[i] = (right - a * bend[i - 1]) / pivot;
    }
    for (int i = n - 2; i > 0; i--) {
        bend[i] -= above[i] * bend[i + 1];
    }
}

/* Value and rate of the cubic over one stretch of length h, u in [0, 1]. */
static double cubic(const double *y, const double *bend, double h, double u, double *rate)
{
    double v = 1.0 - u;
    double third = h * h / 6.0;
    *rate = (y[1] - y[0]) / h + third / h * ((3.0 * u * u - 1.0) * bend[1] - (3.0 * v * v - 1.0) * bend[0]);
    return v * y[0] + u * y[1] + third * ((v * v * v - v) * bend[0] + (u * u * u - u) * bend[1]);
}

bool order_index_of_few(const double *first, const double *then, int n, double *index)
{
    static const double node[3] = {0.1127016653792583, 0.5, 0.8872983346207417}; /* Gauss: exact to degree five */
    static const double weight[3] = {5.0 / 18.0, 4.0 / 9.0, 5.0 / 18.0};
    double a[ORDER_FEW];
    double e[ORDER_FEW];
    double s[ORDER_FEW] = {0.0};
    double bend_a[ORDER_FEW];
    double bend_e[ORDER_FEW];
    double sum = 0.0;

    if (n < 2 || n > ORDER_FEW || !(fabs(first[n - 1] - first[0]) > 1e-9) || !(fabs(then[n - 1] - then[0]) > 1e-9)) {
        return false;
    }
    for (int i = 0; i < n; i++) {
        a[i] = (first[i] - first[0]) / (first[n - 1] - first[0]);
        e[i] = (then[i] - then[0]) / (then[n - 1] - then[0]);
        if (i > 0) {
            s[i] = s[i - 1] + fmax(1e-6, hypot(a[i] - a[i - 1], e[i] - e[i - 1]));
        }
    }
    natural_bends(s, a, n, bend_a);
    natural_bends(s, e, n, bend_e);
    for (int i = 0; i + 1 < n; i++) {
        double h = s[i + 1] - s[i];
        for (int k = 0; k < 3; k++) {
            double rate_a;
            double rate_e;
            double value = cubic(a + i, bend_a + i, h, node[k], &rate_a);
            (void)cubic(e + i, bend_e + i, h, node[k], &rate_e);
            sum += weight[k] * h * value * rate_e;
        }
    }
    *index = fmax(-1.0, fmin(1.0, 2.0 * sum - 1.0));
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
    const double *first = phase == ORDER_DOWN ? height : turn;
    const double *then = phase == ORDER_DOWN ? turn : height;
    return n <= ORDER_FEW ? order_index_of_few(first, then, n, index) : order_index(first, then, n, index);
}
