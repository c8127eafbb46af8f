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

/* Slopes of a monotone cubic through y at the places s: none may be steeper than three times a neighbouring chord. */
static void monotone_slopes(const double *s, const double *y, int n, double *slope)
{
    double chord[ORDER_FEW];

    for (int i = 0; i + 1 < n; i++) {
        chord[i] = (y[i + 1] - y[i]) / (s[i + 1] - s[i]);
    }
    slope[0] = chord[0];
    slope[n - 1] = chord[n - 2];
    for (int i = 1; i + 1 < n; i++) {
        double a = s[i] - s[i - 1];
        double b = s[i + 1] - s[i];
        /* Harmonic mean, weighted by the stretches; flat at a turning point. */
        slope[i] = chord[i - 1] * chord[i] <= 0.0
                       ? 0.0
                       : 3.0 * (a + b) / ((2.0 * b + a) / chord[i - 1] + (b + 2.0 * a) / chord[i]);
    }
}

/* Value and rate of a cubic over one stretch, u in [0, 1], h its length. */
static double cubic(const double *y, const double *slope, double h, double u, double *rate)
{
    double v = 1.0 - u;
    *rate = 6.0 * u * v * (y[1] - y[0]) / h + v * (v - 2.0 * u) * slope[0] + u * (u - 2.0 * v) * slope[1];
    return v * v * (1.0 + 2.0 * u) * y[0] + u * u * (1.0 + 2.0 * v) * y[1] + h * u * v * (v * slope[0] - u * slope[1]);
}

bool order_index_of_few(const double *first, const double *then, int n, double *index)
{
    static const double node[3] = {0.1127016653792583, 0.5, 0.8872983346207417}; /* Gauss: exact to degree five */
    static const double weight[3] = {5.0 / 18.0, 4.0 / 9.0, 5.0 / 18.0};
    double a[ORDER_FEW];
    double e[ORDER_FEW];
    double s[ORDER_FEW] = {0.0};
    double slope_a[ORDER_FEW];
    double slope_e[ORDER_FEW];
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
    monotone_slopes(s, a, n, slope_a);
    monotone_slopes(s, e, n, slope_e);
    for (int i = 0; i + 1 < n; i++) {
        double h = s[i + 1] - s[i];
        for (int k = 0; k < 3; k++) {
            double rate_a;
            double rate_e;
            double value = cubic(a + i, slope_a + i, h, node[k], &rate_a);
            (void)cubic(e + i, slope_e + i, h, node[k], &rate_e);
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
