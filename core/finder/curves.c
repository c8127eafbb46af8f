/* Least squares by normal equations; an instant by trying it in small steps. */
#include "core/finder/curves.h"

#include <math.h>
#include <string.h>

#define STEPS 160

void finder_curve_add(struct curve *curve, double x, double y)
{
    if (curve->count < CURVE_MOST && isfinite(x) && isfinite(y)) {
        curve->x[curve->count] = x;
        curve->y[curve->count] = y;
        curve->count++;
    }
}

double finder_curve_median(const struct curve *curve)
{
    double sorted[CURVE_MOST];
    int n = 0;

    for (; n < curve->count; n++) {
        int k = n;
        for (; k > 0 && sorted[k - 1] > curve->y[n]; k--) {
            sorted[k] = sorted[k - 1];
        }
        sorted[k] = curve->y[n];
    }
    return n > 0 ? 0.5 * (sorted[(n - 1) / 2] + sorted[n / 2]) : 0.0;
}

void finder_sums_add(struct curve_sums *sums, const double *row, double y)
{
    for (int i = 0; i < sums->terms; i++) {
        for (int k = 0; k <= i; k++) {
            sums->a[i][k] += row[i] * row[k];
        }
        sums->b[i] += row[i] * y;
    }
    sums->squares += y * y;
    sums->count++;
}

/* Cholesky's way. */
bool finder_sums_solve(struct curve_sums *sums, double c[CURVE_TERMS], double *left)
{
    double found = 0.0;

    for (int i = 0; i < sums->terms; i++) {
        for (int k = 0; k <= i; k++) {
            double rest = sums->a[i][k];
            for (int m = 0; m < k; m++) {
                rest -= sums->a[i][m] * sums->a[k][m];
            }
            if (i == k && !(rest > 1e-9 * sums->a[i][i])) {
                return false;
            }
            sums->a[i][k] = i == k ? sqrt(rest) : rest / sums->a[k][k];
        }
    }
    for (int i = 0; i < sums->terms; i++) {
        c[i] = sums->b[i];
        for (int m = 0; m < i; m++) {
            c[i] -= sums->a[i][m] * c[m];
        }
        c[i] /= sums->a[i][i];
        found += c[i] * c[i];
    }
    for (int i = sums->terms - 1; i >= 0; i--) {
        for (int m = i + 1; m < sums->terms; m++) {
            c[i] -= sums->a[m][i] * c[m];
        }
        c[i] /= sums->a[i][i];
    }
    *left = fmax(sums->squares - found, 0.0);
    return true;
}

bool finder_curve_fit(const struct curve *curve, int degree, double c[CURVE_TERMS])
{
    struct curve_sums e = {.terms = degree + 1};
    double scale = 0.0;
    double left;

    if (degree < 1 || degree >= CURVE_TERMS || curve->count < degree + 1) {
        return false;
    }
    for (int n = 0; n < curve->count; n++) {
        scale = fmax(scale, fabs(curve->x[n]));
    }
    for (int n = 0; n < curve->count && scale > 0.0; n++) {
        double row[CURVE_TERMS] = {1.0};
        for (int k = 1; k <= degree; k++) {
            row[k] = row[k - 1] * curve->x[n] / scale;
        }
        finder_sums_add(&e, row, curve->y[n]);
    }
    if (e.count == 0 || !finder_sums_solve(&e, c, &left)) {
        return false;
    }
    double power = 1.0;
    for (int k = 1; k <= degree; k++) {
        power *= scale;
        c[k] /= power;
    }
    return true;
}

/* What remains of the squares when the instant is `at`; negative where that can't be said. */
static double left_at(const struct curve *curve, enum curve_kind kind, double at, double scale)
{
    const bool cubic = curve->count >= 8;
    struct curve_sums e = {0};
    double c[CURVE_TERMS];
    double left;

    e.terms = 1 + (cubic ? 2 : 1) * (kind == CURVE_TURNS ? 2 : 1);
    for (int n = 0; n < curve->count; n++) {
        const double x = (curve->x[n] - at) / scale;
        const double before = fmin(x, 0.0);
        const double after = fmax(x, 0.0);
        double row[CURVE_TERMS] = {1.0};
        int term = 1;
        for (int side = 0; side < 2; side++) {
            const double part = side ? after : before;
            if (kind == (side ? CURVE_ENDS : CURVE_BEGINS)) {
                continue;
            }
            row[term++] = part * part;
            if (cubic) {
                row[term++] = part * part * part;
            }
        }
        finder_sums_add(&e, row, curve->y[n]);
    }
    return finder_sums_solve(&e, c, &left) ? left : -1.0;
}

bool finder_curve_instant(const struct curve *curve, enum curve_kind kind, double from, double to, double *at,
                          double *sd)
{
    const int terms = 2 + (curve->count >= 8 ? 2 : 1) * (kind == CURVE_TURNS ? 2 : 1);
    const double step = (to - from) / STEPS;
    double left[STEPS + 1];
    double scale = 0.0;
    int best = -1;

    for (int n = 0; n < curve->count; n++) {
        scale = fmax(scale, fabs(curve->x[n]));
    }
    if (curve->count <= terms || !(scale > 0.0) || !(step > 0.0)) {
        return false;
    }
    for (int k = 0; k <= STEPS; k++) {
        left[k] = left_at(curve, kind, from + k * step, scale);
        if (left[k] >= 0.0 && (best < 0 || left[k] < left[best])) {
            best = k;
        }
    }
    if (best <= 0 || best >= STEPS || left[best - 1] < 0.0 || left[best + 1] < 0.0) {
        return false;
    }
    /* A parabola through the remains about the best: its foot, and by its width the instant's error. */
    const double bend = left[best - 1] - 2.0 * left[best] + left[best + 1];
    const double lean = 0.5 * (left[best + 1] - left[best - 1]);
    *at = from + step * (best - (bend > 0.0 ? lean / bend : 0.0));
    *sd = bend > 0.0 ? step * sqrt(2.0 * left[best] / (curve->count - terms) / bend) : INFINITY;
    return true;
}
