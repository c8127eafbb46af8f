/* Gap filling, the zero-lag filter, the derivative, peaks. */
#include "core/motion/series.h"

#include <math.h>
#include <string.h>

#include "core/vec.h"

#define PAD_MIN 9
#define ROUNDING 1e-14 /* of three samples: a line bends by less */

bool series_filter_design(double cutoff_hz, double rate_hz, struct series_filter *out)
{
    if (!(cutoff_hz > 0.0) || !(cutoff_hz < 0.45 * rate_hz)) {
        return false;
    }
    double k = tan(VEC_PI * cutoff_hz / rate_hz) / sqrt(sqrt(sqrt(2.0) - 1.0));
    double n = 1.0 / (1.0 + sqrt(2.0) * k + k * k);
    int pad = (int)ceil(rate_hz / cutoff_hz);
    out->b0 = k * k * n;
    out->b1 = 2.0 * out->b0;
    out->b2 = out->b0;
    out->a1 = 2.0 * (k * k - 1.0) * n;
    out->a2 = (1.0 - sqrt(2.0) * k + k * k) * n;
    out->pad = pad > PAD_MIN ? pad : PAD_MIN;
    return true;
}

/* Three channels in lockstep, in the direct form: what the input adds does not wait for the output before. */
static void pass3(const struct series_filter *f, double *y, int n, ptrdiff_t step)
{
    const double b0 = f->b0;
    const double b1 = f->b1;
    const double b2 = f->b2;
    const double a1 = f->a1;
    const double a2 = f->a2;
    double x1[3];
    double x2[3];
    double y1[3];
    double y2[3];

    for (int k = 0; k < 3; k++) {
        x1[k] = x2[k] = y1[k] = y2[k] = y[k];
    }
    for (int i = 0; i < n; i++, y += step) {
        for (int k = 0; k < 3; k++) {
            double x = y[k];
            double out = ((b0 * x + b1 * x1[k]) + (b2 * x2[k] - a2 * y2[k])) - a1 * y1[k];
            x2[k] = x1[k];
            x1[k] = x;
            y2[k] = y1[k];
            y1[k] = out;
            y[k] = out;
        }
    }
}

void series_filter_run3(const struct series_filter *filter, double *x, int n, double *work)
{
    if (n < 4) {
        return;
    }
    int pad = filter->pad < n - 1 ? filter->pad : n - 1;
    int all = n + 2 * pad;
    double *first = work + (ptrdiff_t)3 * pad;
    double *last = first + (ptrdiff_t)3 * (n - 1);
    memcpy(first, x, 3 * (size_t)n * sizeof *x);
    for (ptrdiff_t i = 3; i <= (ptrdiff_t)3 * pad; i += 3) {
        for (int k = 0; k < 3; k++) {
            first[k - i] = 2.0 * first[k] - first[k + i];
            last[k + i] = 2.0 * last[k] - last[k - i];
        }
    }
    pass3(filter, work, all, 3);
    pass3(filter, work + (ptrdiff_t)3 * (all - 1), all, -3);
    memcpy(x, first, 3 * (size_t)n * sizeof *x);
}

/* The mean over all w of the dual pass' power gain (1 + (t/k)^4)^-2, t = tan(w/2), by partial fractions. */
double series_filter_noise(const struct series_filter *filter)
{
    double k2 = 4.0 * filter->b0 / (1.0 - filter->a1 + filter->a2);
    double k = sqrt(k2);
    double share = k2 * k2 / (k2 * k2 + 1.0);

    return sqrt(share * share + sqrt(0.5) * k * ((1.0 - k2) * share + 0.25 * (3.0 - k2)) / (k2 * k2 + 1.0));
}

/* One sample of each lane by the cubic (or what fewer points allow) through known samples. */
static void lagrange(double *x, int stride, int lanes, const int *at, int count, int i)
{
    double weight[4];

    for (int a = 0; a < count; a++) {
        weight[a] = 1.0;
        for (int b = 0; b < count; b++) {
            weight[a] *= b == a ? 1.0 : (double)(i - at[b]) / (at[a] - at[b]);
        }
    }
    for (int k = 0; k < lanes; k++) {
        double sum = 0.0;
        for (int a = 0; a < count; a++) {
            sum += weight[a] * x[(ptrdiff_t)at[a] * stride + k];
        }
        x[(ptrdiff_t)i * stride + k] = sum;
    }
}

/* filled may be seen: flags from the sample looked at on are still as they came. */
static int fill(double *x, int n, int stride, int lanes, const bool *seen, bool *filled, int longest)
{
    int missing = 0;
    int before[2] = {-1, -1}; /* the last two samples seen, the later first */

    for (int i = 0; i < n;) {
        filled[i] = seen[i];
        if (seen[i]) {
            before[1] = before[0];
            before[0] = i++;
            continue;
        }
        int end = i;
        while (end < n && !seen[end]) {
            filled[end++] = false;
        }
        if (before[0] < 0 || end == n || end - i > longest) {
            missing += end - i;
            i = end;
            continue;
        }
        int at[4];
        int count = 0;
        if (before[1] >= 0) {
            at[count++] = before[1];
        }
        at[count++] = before[0];
        at[count++] = end;
        int next = end + 1;
        while (next < n && !seen[next]) {
            next++;
        }
        if (next < n) {
            at[count++] = next;
        }
        for (; i < end; i++) {
            lagrange(x, stride, lanes, at, count, i);
            filled[i] = true;
        }
    }
    return missing;
}

int series_fill3(double *x, int n, const bool *seen, bool *filled, int longest)
{
    return fill(x, n, 3, 3, seen, filled, longest);
}

bool series_parabola(double before, double here, double after, double *offset, double *value)
{
    double bend = before - 2.0 * here + after;

    if (!(fabs(bend) > ROUNDING * (fabs(before) + 2.0 * fabs(here) + fabs(after)))) {
        return false;
    }
    *offset = 0.5 * (before - after) / bend;
    *value = here - 0.25 * (before - after) * *offset;
    return isfinite(*offset);
}

int series_peak(const double *x, int from, int to, double prominence)
{
    int best = -1;
    int lowest = from;

    for (int i = from + 1; i < to; i++) {
        lowest = x[i] < x[lowest] ? i : lowest;
    }
    /* On the near side of the lowest sample it is the floor of the far side: each sample asks for one side only. */
    double floor = from < to ? x[from] : 0.0;
    for (int i = from + 1; i < lowest; i++) {
        if (x[i] - floor >= prominence && x[i] - x[lowest] >= prominence && (best < 0 || x[i] > x[best])) {
            best = i;
        }
        floor = fmin(floor, x[i]);
    }
    floor = from < to ? x[to - 1] : 0.0;
    int late = -1;
    for (int i = to - 2; i > lowest; i--) {
        if (x[i] - floor >= prominence && x[i] - x[lowest] >= prominence && (late < 0 || x[i] >= x[late])) {
            late = i;
        }
        floor = fmin(floor, x[i]);
    }
    return late >= 0 && (best < 0 || x[late] > x[best]) ? late : best;
}

#define QUARTIC 5      /* coefficients */
#define BROAD_LEAST 8  /* samples */
#define BROAD_STEPS 80 /* where the quartic is looked at, from end to end of -1...1 */

/* Least squares through count samples from x on, their places spread over -1...1; the normal equations by elimination
 * (places so spread keep them far from singular). False when they are not. */
static bool quartic_fit(const double *x, int count, double *c)
{
    double a[QUARTIC][QUARTIC + 1] = {{0}};

    for (int i = 0; i < count; i++) {
        double u = 2.0 * i / (count - 1) - 1.0;
        double power[2 * QUARTIC - 1] = {1.0};
        for (int k = 1; k < 2 * QUARTIC - 1; k++) {
            power[k] = power[k - 1] * u;
        }
        for (int r = 0; r < QUARTIC; r++) {
            for (int k = 0; k < QUARTIC; k++) {
                a[r][k] += power[r + k];
            }
            a[r][QUARTIC] += power[r] * x[i];
        }
    }
    for (int p = 0; p < QUARTIC; p++) {
        for (int r = p + 1; r < QUARTIC; r++) {
            double times = a[r][p] / a[p][p];
            for (int k = p; k <= QUARTIC; k++) {
                a[r][k] -= times * a[p][k];
            }
        }
    }
    for (int p = QUARTIC - 1; p >= 0; p--) {
        c[p] = a[p][QUARTIC];
        for (int k = p + 1; k < QUARTIC; k++) {
            c[p] -= a[p][k] * c[k];
        }
        c[p] /= a[p][p];
    }
    return isfinite(c[0]);
}

bool series_broad_peak(const double *x, int at, int from, int to, double level, double *top, int *width)
{
    const double least = level * x[at];
    double c[QUARTIC];
    double value[BROAD_STEPS + 1];
    double offset;
    double height;
    int first = at;
    int last = at;
    int best = 0;

    while (first > from && x[first - 1] > least) {
        first--;
    }
    while (last + 1 < to && x[last + 1] > least) {
        last++;
    }
    *width = last - first + 1;
    if (*width < BROAD_LEAST || !quartic_fit(x + first, *width, c)) {
        return false;
    }
    for (int i = 0; i <= BROAD_STEPS; i++) {
        double u = 2.0 * i / BROAD_STEPS - 1.0;
        value[i] = (((c[4] * u + c[3]) * u + c[2]) * u + c[1]) * u + c[0];
        best = value[i] > value[best] ? i : best;
    }
    if (best == 0 || best == BROAD_STEPS ||
        !series_parabola(value[best - 1], value[best], value[best + 1], &offset, &height)) {
        return false;
    }
    *top = first + (best + offset) * (*width - 1) / BROAD_STEPS;
    return true;
}
