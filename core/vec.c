/* Eigenvectors of a symmetric 3 x 3 matrix, the best plane through points, axes of a segment, and their rotation. */
#include "core/vec.h"

#define SWEEPS_MAX 30
#define OFF_SQUARED 1e-30 /* of the trace squared: what is left beside the diagonal */
#define LINE_SPREAD 1e-6

/* One Jacobi rotation that clears a[p][q], gathered into v. */
static void rotate(double a[3][3], double v[3][3], int p, int q)
{
    if (a[p][q] == 0.0) {
        return;
    }
    double theta = (a[q][q] - a[p][p]) / (2.0 * a[p][q]);
    double t = (theta >= 0.0 ? 1.0 : -1.0) / (fabs(theta) + sqrt(theta * theta + 1.0));
    double c = 1.0 / sqrt(t * t + 1.0);
    double s = t * c;
    for (int k = 0; k < 3; k++) {
        double kp = a[k][p];
        double kq = a[k][q];
        a[k][p] = c * kp - s * kq;
        a[k][q] = s * kp + c * kq;
        kp = v[k][p];
        kq = v[k][q];
        v[k][p] = c * kp - s * kq;
        v[k][q] = s * kp + c * kq;
    }
    for (int k = 0; k < 3; k++) {
        double pk = a[p][k];
        double qk = a[q][k];
        a[p][k] = c * pk - s * qk;
        a[q][k] = s * pk + c * qk;
    }
}

void vec_eigen(const double m[9], double values[3], struct vec3 vectors[3])
{
    double a[3][3];
    double v[3][3] = {{1.0, 0.0, 0.0}, {0.0, 1.0, 0.0}, {0.0, 0.0, 1.0}};
    int order[3] = {0, 1, 2};

    for (int i = 0; i < 3; i++) {
        for (int j = 0; j < 3; j++) {
            a[i][j] = i <= j ? m[3 * i + j] : m[3 * j + i];
        }
    }
    double trace = a[0][0] + a[1][1] + a[2][2];
    for (int sweep = 0; sweep < SWEEPS_MAX; sweep++) {
        if (a[0][1] * a[0][1] + a[0][2] * a[0][2] + a[1][2] * a[1][2] <= OFF_SQUARED * trace * trace) {
            break;
        }
        rotate(a, v, 0, 1);
        rotate(a, v, 0, 2);
        rotate(a, v, 1, 2);
    }
    for (int i = 1; i < 3; i++) {
        for (int j = i; j > 0 && a[order[j]][order[j]] < a[order[j - 1]][order[j - 1]]; j--) {
            int swap = order[j];
            order[j] = order[j - 1];
            order[j - 1] = swap;
        }
    }
    for (int i = 0; i < 3; i++) {
        values[i] = a[order[i]][order[i]];
        vectors[i] = vec_make(v[0][order[i]], v[1][order[i]], v[2][order[i]]);
    }
}

bool plane_fit(const struct vec3 *points, int n, struct plane *out)
{
    double m[9] = {0.0}; /* the upper half of the scatter */
    double values[3];
    struct vec3 vectors[3];
    struct vec3 centre = {0.0, 0.0, 0.0};

    if (n < 3) {
        return false;
    }
    for (int i = 0; i < n; i++) {
        centre = vec_add(centre, points[i]);
    }
    centre = vec_scale(centre, 1.0 / n);
    for (int i = 0; i < n; i++) {
        struct vec3 d = vec_sub(points[i], centre);
        m[0] += d.x * d.x;
        m[1] += d.x * d.y;
        m[2] += d.x * d.z;
        m[4] += d.y * d.y;
        m[5] += d.y * d.z;
        m[8] += d.z * d.z;
    }
    vec_eigen(m, values, vectors);
    if (!(values[1] > LINE_SPREAD * LINE_SPREAD * values[2])) {
        return false;
    }
    struct vec3 normal = vectors[0].y < 0.0 ? vec_scale(vectors[0], -1.0) : vectors[0];
    struct vec3 ground = vec_make(-normal.z, 0.0, normal.x);
    if (ground.x < 0.0 || (ground.x == 0.0 && ground.z < 0.0)) {
        ground = vec_scale(ground, -1.0);
    }
    out->centre = centre;
    out->normal = normal;
    out->slope_deg = atan2(hypot(normal.x, normal.z), normal.y) * VEC_DEG;
    out->direction_deg = atan2(ground.z, ground.x) * VEC_DEG;
    if (out->direction_deg <= -90.0) {
        out->direction_deg = 90.0;
    }
    /* from the distances: the smallest eigenvalue carries the rounding of the largest */
    double left = 0.0;
    for (int i = 0; i < n; i++) {
        double distance = vec_dot(vec_sub(points[i], centre), normal);
        left += distance * distance;
    }
    out->rms = sqrt(left / n);
    return true;
}

bool vec_frame_of(struct vec3 right, struct vec3 up, struct vec_frame *out)
{
    struct vec3 z;
    struct vec3 y;

    if (!vec_unit(right, &z) || !vec_unit(vec_sub(up, vec_scale(z, vec_dot(up, z))), &y)) {
        return false;
    }
    *out = (struct vec_frame){vec_cross(y, z), y, z};
    return true;
}

/* Sum over the axes: the turn's matrix is after * transpose(before). */
struct vec3 vec_rotation_speed(const struct vec_frame *before, const struct vec_frame *after, double dt)
{
    struct vec3 twist = vec_cross(before->x, after->x);
    double trace = vec_dot(before->x, after->x) + vec_dot(before->y, after->y) + vec_dot(before->z, after->z);

    twist = vec_add(twist, vec_add(vec_cross(before->y, after->y), vec_cross(before->z, after->z)));
    twist = vec_scale(twist, 0.5); /* the axis times the sine of the turn */
    double sine = vec_norm(twist);
    double angle = atan2(sine, 0.5 * (trace - 1.0));
    return vec_scale(twist, (sine > 1e-12 ? angle / sine : 1.0) / dt);
}
