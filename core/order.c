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

/* Second derivatives of the natural cubics through y[0] and y[1] at the places s: none at the ends, the tridiagonal
 * system between. */
static void natural_bends(const double *s, double y[2][ORDER_FEW], int n, double bend[2][ORDER_FEW])
{
    double above[ORDER_FEW]; /* of the system, once the lower diagonal is gone */
    double rise[2];          /* of the stretch before */

    above[0] = 0.0;
    for (int k = 0; k < 2; k++) {
        bend[k][0] = bend[k][n - 1] = 0.0;
        rise[k] = (y[k][1] - y[k][0]) / (s[1] - s[0]);
    }
    for (int i = 1; i + 1 < n; i++) {
        double a = s[i] - s[i - 1];
        double b = s[i + 1] - s[i];
        double pivot = 2.0 * (a + b) - a * above[i - 1];
        above[i] = b / pivot;
        for (int k = 0; k < 2; k++) {
            double next = (y[k][i + 1] - y[k][i]) / b;
            bend[k][i] = (6.0 * (next - rise[k]) - a * bend[k][i - 1]) / pivot;
            rise[k] = next;
        }
    }
    for (int i = n - 2; i > 0; i--) {
        bend[0][i] -= above[i] * bend[0][i + 1];
        bend[1][i] -= above[i] * bend[1][i + 1];
    }
}

/* sum + the integral, over one stretch of length h, of one cubic times the rate of the other. */
static double stretch_add(double sum, const double *y, const double *bend, const double *other, const double *turn,
                          double h)
{
    static const double node[3] = {0.1127016653792583, 0.5, 0.8872983346207417}; /* Gauss: exact to degree five */
    static const double weight[3] = {5.0 / 18.0, 4.0 / 9.0, 5.0 / 18.0};
    double third = h * h / 6.0;
    double over = third / h;
    double rise = (other[1] - other[0]) / h;

    for (int k = 0; k < 3; k++) {
        double u = node[k];
        double v = 1.0 - u;
        double value = v * y[0] + u * y[1] + third * ((v * v * v - v) * bend[0] + (u * u * u - u) * bend[1]);
        double rate = rise + over * ((3.0 * u * u - 1.0) * turn[1] - (3.0 * v * v - 1.0) * turn[0]);
        sum += weight[k] * h * value * rate;
    }
    return sum;
}

bool order_index_of_few(const double *first, const double *then, int n, double *index)
{
    double y[2][ORDER_FEW]; /* progress of the first and of the other */
    double bend[2][ORDER_FEW];
    double s[ORDER_FEW] = {0.0};
    double sum = 0.0;

    if (n < 2 || n > ORDER_FEW || !(fabs(first[n - 1] - first[0]) > 1e-9) || !(fabs(then[n - 1] - then[0]) > 1e-9)) {
        return false;
    }
    for (int i = 0; i < n; i++) {
        y[0][i] = (first[i] - first[0]) / (first[n - 1] - first[0]);
        y[1][i] = (then[i] - then[0]) / (then[n - 1] - then[0]);
        if (i > 0) {
            double way = hypot(y[0][i] - y[0][i - 1], y[1][i] - y[1][i - 1]);
            s[i] = s[i - 1] + (way > 1e-6 ? way : 1e-6);
        }
    }
    natural_bends(s, y, n, bend);
    for (int i = 0; i + 1 < n; i++) {
        sum = stretch_add(sum, y[0] + i, bend[0] + i, y[1] + i, bend[1] + i, s[i + 1] - s[i]);
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

bool order_azimuth(double x, double z, double *deg)
{
    *deg = atan2(-x, z) * VEC_DEG;
    return x * x + z * z > 1e-6;
}

bool order_of_turn(double *turn, const double *height, int n, enum order_phase phase, double *index)
{
    if (n < 3 || n > ORDER_HANDS_MAX) {
        return false;
    }
    for (int i = 1; i < n; i++) {
        turn[i] = turn[i - 1] + sigma_wrap(turn[i] - turn[i - 1]);
    }
    if (!(fabs(turn[n - 1] - turn[0]) >= ORDER_TURN_MIN_DEG) ||
        !(fabs(height[n - 1] - height[0]) >= ORDER_LIFT_MIN_M)) {
        return false;
    }
    const double *first = phase == ORDER_DOWN ? height : turn;
    const double *then = phase == ORDER_DOWN ? turn : height;
    return n <= ORDER_FEW ? order_index_of_few(first, then, n, index) : order_index(first, then, n, index);
}

bool order_of_hands(const struct vec3 *hands, int n, struct vec3 hub, enum order_phase phase, double *index)
{
    double turn[ORDER_HANDS_MAX];
    double height[ORDER_HANDS_MAX];

    for (int i = 0; i < n && i < ORDER_HANDS_MAX; i++) {
        if (!order_azimuth(hands[i].x - hub.x, hands[i].z - hub.z, &turn[i])) {
            return false;
        }
        height[i] = hands[i].y;
    }
    return order_of_turn(turn, height, n, phase, index);
}
