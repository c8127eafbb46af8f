/* See counts.h. */
#include "core/counts.h"

#include <math.h>

#define Z 1.959963984540054
#define ALIKE 1e-7       /* tables whose chances differ by so small a share are as likely as each other */
#define FREEDOM_MAX 200. /* more is as good as endless */

int counts_total(const struct counts_row *row)
{
    int total = 0;
    for (int i = 0; i < COUNTS_CLASSES_MAX; i++) {
        total += row->of[i];
    }
    return total;
}

static int least(int a, int b)
{
    return a < b ? a : b;
}

/* ---- the exact test ---- */

/* Of how many ways to take so many out of a class, the logarithm. */
static double ways(const double *logs, int of, int take)
{
    return logs[of] - logs[take] - logs[of - take];
}

double counts_exact_p(const struct counts_row *first, const struct counts_row *second)
{
    double logs[2 * COUNTS_ROW_MAX + 1]; /* of the factorials */
    int c[COUNTS_CLASSES_MAX];
    const int n = counts_total(first);
    const int all = n + counts_total(second);
    if (n == 0 || n == all || n > COUNTS_ROW_MAX || all - n > COUNTS_ROW_MAX) {
        return 1;
    }
    logs[0] = 0;
    for (int i = 1; i <= all; i++) {
        logs[i] = logs[i - 1] + log(i);
    }
    double seen = -ways(logs, all, n);
    for (int i = 0; i < COUNTS_CLASSES_MAX; i++) {
        c[i] = first->of[i] + second->of[i];
        seen += ways(logs, c[i], first->of[i]);
    }
    const double limit = exp(seen) * (1 + ALIKE);
    double p = 0;
    for (int x = 0; x <= least(c[0], n); x++) {
        for (int y = 0; y <= least(c[1], n - x); y++) {
            const double two = ways(logs, c[0], x) + ways(logs, c[1], y) - ways(logs, all, n);
            const int left = n - x - y;
            int z = left > c[3] ? left - c[3] : 0;
            const int last = least(c[2], left);
            double chance = z > last ? 0 : exp(two + ways(logs, c[2], z) + ways(logs, c[3], left - z));
            for (; z <= last; z++) { /* the next is this one times a ratio */
                p += chance <= limit ? chance : 0;
                chance *= (double)(c[2] - z) * (left - z) / ((z + 1.) * (c[3] - left + z + 1.));
            }
        }
    }
    return p < 1 ? p : 1;
}

/* ---- how much days differ ---- */

static void sum_days(const struct counts_row *days, int count, struct counts_row *sum)
{
    *sum = (struct counts_row){{0}};
    for (int d = 0; d < count; d++) {
        for (int i = 0; i < COUNTS_CLASSES_MAX; i++) {
            sum->of[i] += days[d].of[i];
        }
    }
}

/* Of the classes that were seen at all. */
static int classes_of(const struct counts_row *row)
{
    int classes = 0;
    for (int i = 0; i < COUNTS_CLASSES_MAX; i++) {
        classes += row->of[i] > 0;
    }
    return classes;
}

/* Chi-square of one row beside the pattern that a sum shows. */
static double chi_square(const struct counts_row *row, const struct counts_row *sum)
{
    const double share = (double)counts_total(row) / counts_total(sum);
    double chi = 0;
    for (int i = 0; i < COUNTS_CLASSES_MAX; i++) {
        const double expected = share * sum->of[i];
        const double off = row->of[i] - expected;
        chi += sum->of[i] > 0 && expected > 0 ? off * off / expected : 0;
    }
    return chi;
}

void counts_spread_add(struct counts_spread *spread, const struct counts_row *days, int count)
{
    struct counts_row sum;
    sum_days(days, count, &sum);
    const int all = counts_total(&sum);
    const int more = classes_of(&sum) - 1;
    int filled = 0;
    for (int d = 0; d < count; d++) {
        const int n = counts_total(&days[d]);
        if (n > 0 && more > 0) {
            spread->excess += chi_square(&days[d], &sum);
            spread->weight += (double)more * (n - 1) * (1 - (double)n / all);
            filled++;
        }
    }
    if (filled > 0) {
        spread->excess -= (double)more * (filled - 1);
        spread->freedom += (double)more * (filled - 1);
    }
}

double counts_spread_share(const struct counts_spread *spread)
{
    const double share = spread->weight > 0 ? spread->excess / spread->weight : 0;
    return share < 0 ? 0 : share > 1 ? 1 : share;
}

double counts_day_effect(const struct counts_row *days, int count, double share)
{
    double squares = 0;
    double all = 0;
    for (int d = 0; d < count; d++) {
        const double n = counts_total(&days[d]);
        squares += n * n;
        all += n;
    }
    return all > 0 ? 1 + share * (squares / all - 1) : 1;
}

/* ---- F ---- */

/* The incomplete beta function's ratio by its continued fraction (modified Lentz), for x < (a + 1) / (a + b + 2). */
static double beta_fraction(double a, double b, double x)
{
    const double tiny = 1e-300;
    double c = 1;
    double d = 1 - (a + b) * x / (a + 1);
    d = 1 / (fabs(d) < tiny ? tiny : d);
    double value = d;
    for (int m = 1; m < 400; m++) {
        const double even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m));
        const double odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1));
        double step = 1;
        for (int half = 0; half < 2; half++) {
            const double term = half == 0 ? even : odd;
            d = 1 + term * d;
            c = 1 + term / c;
            d = 1 / (fabs(d) < tiny ? tiny : d);
            c = fabs(c) < tiny ? tiny : c;
            step = d * c;
            value *= step;
        }
        if (fabs(step - 1) < 1e-14) {
            break;
        }
    }
    return value;
}

static double beta_share(double a, double b, double x)
{
    if (x <= 0 || x >= 1) {
        return x <= 0 ? 0 : 1;
    }
    const double front = pow(x, a) * pow(1 - x, b) * (tgamma(a + b) / tgamma(a) / tgamma(b));
    return x < (a + 1) / (a + b + 2) ? front * beta_fraction(a, b, x) / a : 1 - front * beta_fraction(b, a, 1 - x) / b;
}

/* P that F with these degrees of freedom is as large. */
static double f_tail(double f, double above, double below)
{
    return beta_share(below / 2, above / 2, below / (below + above * f));
}

double counts_spread_p(const struct counts_row *first, const struct counts_row *second, const double effect[2],
                       double freedom)
{
    const struct counts_row rows[2] = {*first, *second};
    struct counts_row sum;
    const double n[2] = {counts_total(first), counts_total(second)};
    sum_days(rows, 2, &sum);
    const int more = classes_of(&sum) - 1;
    if (n[0] == 0 || n[1] == 0 || more == 0 || freedom <= 0) {
        return 1;
    }
    const double worth = (effect[0] / n[0] + effect[1] / n[1]) / (1 / n[0] + 1 / n[1]);
    const double chi = chi_square(first, &sum) + chi_square(second, &sum);
    return f_tail(chi / more / worth, more, freedom < FREEDOM_MAX ? freedom : FREEDOM_MAX);
}

/* ---- the difference of two shares ---- */

struct counts_difference counts_difference(const int n[2], const int of[2], const double effect[2])
{
    double share[2];
    double low[2];
    double high[2];
    for (int i = 0; i < 2; i++) {
        const double worth = of[i] / effect[i];
        share[i] = (double)n[i] / of[i];
        const double middle = share[i] + Z * Z / (2 * worth);
        const double half = Z * sqrt(share[i] * (1 - share[i]) / worth + Z * Z / (4 * worth * worth));
        low[i] = (middle - half) / (1 + Z * Z / worth);
        high[i] = (middle + half) / (1 + Z * Z / worth);
    }
    const double value = share[0] - share[1];
    return (struct counts_difference){.value = value,
                                      .low = value - hypot(share[0] - low[0], high[1] - share[1]),
                                      .high = value + hypot(high[0] - share[0], share[1] - low[1])};
}
