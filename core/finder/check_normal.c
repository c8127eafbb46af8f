/* Cholesky's factor by points, and what is needed of the inverse. The order of the points is the caller's, and says how
 * many more become tied. */
#include "core/finder/check_normal.h"

#include <math.h>
#include <string.h>

void normal_start(struct normal *normal, double weight)
{
    for (int p = 0; p < normal->points; p++) {
        normal->tied[p] = 0;
        memset(normal->m[p][p], 0, sizeof normal->m[p][p]);
        for (int k = 0; k < 3; k++) {
            normal->m[p][p][k][k] = weight;
            normal->right[p][k] = 0.0;
        }
    }
}

/* The equations of two points; at first 0. */
static double (*tie(struct normal *normal, int later, int earlier))[3]
{
    double(*block)[3] = normal->m[later][earlier];
    if (later != earlier && !(normal->tied[earlier] >> later & 1U)) {
        normal->tied[earlier] |= 1U << later;
        memset(block, 0, sizeof normal->m[0][0]);
    }
    return block;
}

void normal_add_point(struct normal *normal, int p, const double a[3], double off, double weight)
{
    for (int i = 0; i < 3; i++) {
        const double wa = weight * a[i];
        normal->right[p][i] += wa * off;
        for (int k = 0; k <= i; k++) {
            normal->m[p][p][i][k] += wa * a[k];
        }
    }
}

void normal_add_between(struct normal *normal, int p, int q, const double a[3], double off, double weight)
{
    double(*both)[3] = tie(normal, p > q ? p : q, p > q ? q : p);
    normal_add_point(normal, p, a, off, weight);
    for (int i = 0; i < 3; i++) {
        const double wa = weight * a[i];
        normal->right[q][i] -= wa * off;
        for (int k = 0; k < 3; k++) {
            both[i][k] -= wa * a[k];
            normal->m[q][q][i][k] += wa * a[k];
        }
    }
}

void normal_add_axis(struct normal *normal, enum normal_axis axis, int n, const int *points, const double *a,
                     double value, double weight)
{
    double off = value;
    for (int i = 0; i < n; i++) {
        off -= a[i] * normal->x[points[i]][axis];
    }
    for (int i = 0; i < n; i++) {
        const double wa = weight * a[i];
        normal->right[points[i]][axis] += wa * off;
        for (int k = 0; k < n; k++) {
            if (points[k] <= points[i]) {
                tie(normal, points[i], points[k])[axis][axis] += wa * a[k];
            }
        }
    }
}

/* The first of a set of points; takes it out. */
static inline int next_point(uint32_t *points)
{
    const int first = __builtin_ctz(*points);
    *points &= *points - 1;
    return first;
}

/* A point's own equations become their factor, lower triangle. False when they are not regular. */
static bool factor_own(double m[3][3])
{
    for (int i = 0; i < 3; i++) {
        for (int k = 0; k <= i; k++) {
            double sum = m[i][k];
            for (int j = 0; j < k; j++) {
                sum -= m[i][j] * m[k][j];
            }
            if (k < i) {
                m[i][k] = sum / m[k][k];
            } else if (!(sum > 0.0) || !isfinite(sum)) {
                return false;
            } else {
                m[i][i] = sqrt(sum);
            }
        }
    }
    return true;
}

/* a -= b c^T. */
static inline void less_product(double a[3][3], double b[3][3], double c[3][3])
{
    for (int i = 0; i < 3; i++) {
        for (int k = 0; k < 3; k++) {
            a[i][k] -= b[i][0] * c[k][0] + b[i][1] * c[k][1] + b[i][2] * c[k][2];
        }
    }
}

/* In place, point by point: each is taken out of those after it. False when the equations are not regular. */
static bool factor(struct normal *normal)
{
    for (int p = 0; p < normal->points; p++) {
        double(*own)[3] = normal->m[p][p];
        if (!factor_own(own)) {
            return false;
        }
        const double inverse[3] = {1.0 / own[0][0], 1.0 / own[1][1], 1.0 / own[2][2]};
        for (uint32_t rest = normal->tied[p]; rest != 0;) {
            const int later = next_point(&rest);
            double(*m)[3] = normal->m[later][p];
            for (int i = 0; i < 3; i++) {
                m[i][0] *= inverse[0];
                m[i][1] = (m[i][1] - m[i][0] * own[1][0]) * inverse[1];
                m[i][2] = (m[i][2] - m[i][0] * own[2][0] - m[i][1] * own[2][1]) * inverse[2];
            }
            for (uint32_t others = normal->tied[p] & ((2U << later) - 1); others != 0;) {
                const int other = next_point(&others);
                less_product(tie(normal, later, other), m, normal->m[other][p]);
            }
        }
    }
    return true;
}

static void substitute(struct normal *normal)
{
    for (int p = 0; p < normal->points; p++) {
        double(*own)[3] = normal->m[p][p];
        double *b = normal->right[p];
        b[0] /= own[0][0];
        b[1] = (b[1] - own[1][0] * b[0]) / own[1][1];
        b[2] = (b[2] - own[2][0] * b[0] - own[2][1] * b[1]) / own[2][2];
        for (uint32_t rest = normal->tied[p]; rest != 0;) {
            const int later = next_point(&rest);
            double(*m)[3] = normal->m[later][p];
            for (int i = 0; i < 3; i++) {
                normal->right[later][i] -= m[i][0] * b[0] + m[i][1] * b[1] + m[i][2] * b[2];
            }
        }
    }
    for (int p = normal->points - 1; p >= 0; p--) {
        double(*own)[3] = normal->m[p][p];
        double *b = normal->right[p];
        for (uint32_t rest = normal->tied[p]; rest != 0;) {
            const int later = next_point(&rest);
            double(*m)[3] = normal->m[later][p];
            const double *x = normal->right[later];
            for (int k = 0; k < 3; k++) {
                b[k] -= m[0][k] * x[0] + m[1][k] * x[1] + m[2][k] * x[2];
            }
        }
        b[2] /= own[2][2];
        b[1] = (b[1] - own[2][1] * b[2]) / own[1][1];
        b[0] = (b[0] - own[1][0] * b[1] - own[2][0] * b[2]) / own[0][0];
        for (int k = 0; k < 3; k++) {
            normal->x[p][k] += fmax(-2.0, fmin(2.0, b[k]));
        }
    }
}

/* a -= b c, of b its transpose when `turned`. */
static inline void less_times(double a[3][3], double b[3][3], bool turned, double c[3][3])
{
    for (int i = 0; i < 3; i++) {
        for (int k = 0; k < 3; k++) {
            for (int j = 0; j < 3; j++) {
                a[i][k] -= (turned ? b[j][i] : b[i][j]) * c[j][k];
            }
        }
    }
}

/* A lower triangle's inverse. */
static void invert_own(double m[3][3], double out[3][3])
{
    for (int i = 0; i < 3; i++) {
        out[i][i] = 1.0 / m[i][i];
    }
    out[0][1] = out[0][2] = out[1][2] = 0.0;
    out[1][0] = -m[1][0] * out[0][0] * out[1][1];
    out[2][1] = -m[2][1] * out[1][1] * out[2][2];
    out[2][0] = -(m[2][0] * out[0][0] + m[2][1] * out[1][0]) * out[2][2];
}

bool normal_solve(struct normal *normal)
{
    if (!factor(normal)) {
        return false;
    }
    substitute(normal);
    return true;
}

/* In place, from the last point to the first: where the factor is not zero, and so of every point with itself, it
 * becomes the inverse of the equations (Takahashi, Fagan & Chen 1973); no other part of it is asked for. */
void normal_invert(struct normal *normal)
{
    for (int p = normal->points - 1; p >= 0; p--) {
        double own[3][3];
        double by[NORMAL_POINTS][3][3]; /* the factor's column over its own */
        const uint32_t tied = normal->tied[p];
        invert_own(normal->m[p][p], own);
        for (uint32_t rest = tied; rest != 0;) {
            const int later = next_point(&rest);
            memset(by[later], 0, sizeof by[later]);
            less_times(by[later], normal->m[later][p], false, own); /* less: -by */
        }
        for (uint32_t rest = tied; rest != 0;) {
            const int later = next_point(&rest);
            double sum[3][3] = {{0}};
            for (uint32_t others = tied; others != 0;) {
                const int other = next_point(&others);
                const bool turned = other > later;
                less_times(sum, turned ? normal->m[other][later] : normal->m[later][other], turned, by[other]);
            }
            for (int i = 0; i < 9; i++) {
                normal->m[later][p][i / 3][i % 3] = -sum[i / 3][i % 3];
            }
        }
        for (int i = 0; i < 3; i++) {
            for (int k = 0; k < 3; k++) {
                normal->m[p][p][i][k] = own[0][i] * own[0][k] + own[1][i] * own[1][k] + own[2][i] * own[2][k];
            }
        }
        for (uint32_t rest = tied; rest != 0;) {
            const int later = next_point(&rest);
            double minus[3][3] = {{0}};
            less_times(minus, by[later], true, normal->m[later][p]); /* both less: W^T Z, and Z is negative */
            for (int i = 0; i < 9; i++) {
                normal->m[p][p][i / 3][i % 3] -= minus[i / 3][i % 3];
            }
        }
    }
}
