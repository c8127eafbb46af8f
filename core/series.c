/* Gap filling, the zero-lag filter, the derivative, peaks. */
#include "series.h"

#include <math.h>

#include "vec.h"

#define PAD_MIN 9

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

size_t series_filter_work(const struct series_filter *filter, int n)
{
    return (size_t)n + 2 * (size_t)filter->pad;
}

/* One pass, transposed direct form II, from the state of a signal that always stood at its first value. step is +1
 * forward, -1 backward. */
static void pass(const struct series_filter *f, double *y, int n, int step)
{
    double z1 = (1.0 - f->b0) * y[0];
    double z2 = (f->b2 - f->a2) * y[0];

    for (int i = 0; i < n; i++, y += step) {
        double x = *y;
        double out = f->b0 * x + z1;
        z1 = f->b1 * x - f->a1 * out + z2;
        z2 = f->b2 * x - f->a2 * out;
        *y = out;
    }
}

void series_filter_run(const struct series_filter *filter, double *x, int n, int stride, double *work)
{
    if (n < 4) {
        return;
    }
    int pad = filter->pad < n - 1 ? filter->pad : n - 1;
    int all = n + 2 * pad;
    double first = x[0];
    double last = x[(n - 1) * stride];
    for (int i = 0; i < n; i++) {
        work[pad + i] = x[i * stride];
    }
    for (int i = 1; i <= pad; i++) {
        work[pad - i] = 2.0 * first - x[i * stride];
        work[pad + n - 1 + i] = 2.0 * last - x[(n - 1 - i) * stride];
    }
    pass(filter, work, all, 1);
    pass(filter, work + all - 1, all, -1);
    for (int i = 0; i < n; i++) {
        x[i * stride] = work[pad + i];
    }
}

/* White noise of sd 1 leaves a filter of frequency response H with the mean of |H|^2 as variance; here |H|^4. */
double series_filter_noise(const struct series_filter *filter)
{
    enum { steps = 512 };
    double sum = 0.0;

    for (int i = 0; i < steps; i++) {
        double w = VEC_PI * (i + 0.5) / steps;
        double top = filter->b0 * (2.0 + 2.0 * cos(w)); /* b0 (1, 2, 1) */
        double re = 1.0 + filter->a1 * cos(w) + filter->a2 * cos(2.0 * w);
        double im = filter->a1 * sin(w) + filter->a2 * sin(2.0 * w);
        double gain = top * top / (re * re + im * im);
        sum += gain * gain;
    }
    return sqrt(sum / steps);
}

/* The cubic (or what fewer points allow) through known samples, at sample i. */
static double lagrange(const double *x, int stride, const int *at, int count, int i)
{
    double sum = 0.0;

    for (int a = 0; a < count; a++) {
        double part = x[at[a] * stride];
        for (int b = 0; b < count; b++) {
            part *= b == a ? 1.0 : (double)(i - at[b]) / (at[a] - at[b]);
        }
        sum += part;
    }
    return sum;
}

int series_fill(double *x, int n, int stride, const bool *seen, bool *filled, int longest)
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
        for (int next = end + 1; next < n && count < 4 && next <= end + longest; next++) {
            if (seen[next]) {
                at[count++] = next;
                break;
            }
        }
        for (; i < end; i++) {
            x[i * stride] = lagrange(x, stride, at, count, i);
            filled[i] = true;
        }
    }
    return missing;
}

void series_derivative(const double *x, int n, int stride, double rate_hz, double *out)
{
    for (int i = 1; i + 1 < n; i++) {
        out[i] = 0.5 * rate_hz * (x[(i + 1) * stride] - x[(i - 1) * stride]);
    }
    if (n >= 3) {
        const double *last = x + (ptrdiff_t)(n - 1) * stride;
        out[0] = 0.5 * rate_hz * (4.0 * x[stride] - 3.0 * x[0] - x[2 * stride]);
        out[n - 1] = 0.5 * rate_hz * (3.0 * last[0] - 4.0 * last[-stride] + last[-2 * stride]);
    }
}

bool series_parabola(double before, double here, double after, double *offset, double *value)
{
    double bend = before - 2.0 * here + after;

    if (!(fabs(bend) > 0.0)) {
        return false;
    }
    *offset = 0.5 * (before - after) / bend;
    *value = here - 0.25 * (before - after) * *offset;
    return isfinite(*offset);
}

int series_peak(const double *x, int from, int to, double prominence)
{
    int best = -1;

    for (int i = from + 1; i + 1 < to; i++) {
        if (x[i] < x[i - 1] || x[i] < x[i + 1] || (best >= 0 && x[i] <= x[best])) {
            continue;
        }
        double left = x[i];
        double right = x[i];
        for (int k = from; k < i; k++) {
            left = fmin(left, x[k]);
        }
        for (int k = i + 1; k < to; k++) {
            right = fmin(right, x[k]);
        }
        if (x[i] - left >= prominence && x[i] - right >= prominence) {
            best = i;
        }
    }
    return best;
}
