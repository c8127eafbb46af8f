/* Eigenvectors, planes, frames and turns. */
#include <criterion/criterion.h>

#include "core/vec.h"

static void is_eigen(const double m[9], double value, struct vec3 v)
{
    cr_assert_float_eq(vec_norm(v), 1, 1e-12);
    cr_assert_float_eq(m[0] * v.x + m[1] * v.y + m[2] * v.z, value * v.x, 1e-12);
    cr_assert_float_eq(m[1] * v.x + m[4] * v.y + m[5] * v.z, value * v.y, 1e-12);
    cr_assert_float_eq(m[2] * v.x + m[5] * v.y + m[8] * v.z, value * v.z, 1e-12);
}

Test(vec, eigenvalues_rise_and_vectors_fit)
{
    const double matrices[][9] = {{2, 1, 0, 1, 2, 1, 0, 1, 2},     {3, 0, 0, 0, 1, 0, 0, 0, 2},
                                  {1, 1, 1, 1, 1, 1, 1, 1, 1},     {0, 1, 2, 1, 0, 3, 2, 3, 0},
                                  {0, 0, 0, 0, 0, 0, 0, 0, 0},     {1, 1e-9, 0, 1e-9, 1, 0, 0, 0, 5},
                                  {-1, 4, .5, 4, 2, -3, .5, -3, 7}};
    for (size_t k = 0; k < sizeof matrices / sizeof *matrices; k++) {
        double values[3];
        struct vec3 v[3];
        vec_eigen(matrices[k], values, v);
        cr_assert(values[0] <= values[1] && values[1] <= values[2]);
        for (int i = 0; i < 3; i++) {
            is_eigen(matrices[k], values[i], v[i]);
            cr_assert_float_eq(vec_dot(v[i], v[(i + 1) % 3]), 0, 1e-12);
        }
    }
}

Test(vec, eigen_reads_the_upper_half_only)
{
    const double whole[9] = {2, 1, 0, 1, 2, 1, 0, 1, 2}, half[9] = {2, 1, 0, 99, 2, 1, 99, 99, 2};
    double a[3], b[3];
    struct vec3 v[3];
    vec_eigen(whole, a, v);
    vec_eigen(half, b, v);
    cr_assert_float_eq(a[0], 2 - sqrt(2), 1e-12);
    cr_assert_float_eq(b[0], a[0], 1e-15);
    cr_assert_float_eq(b[2], a[2], 1e-15);
}

/* A circle in a plane of this slope whose ground line lies `direction` to the right of the target line. */
static void circle(double slope, double direction, double off, struct vec3 *points, int n)
{
    double a = slope * VEC_RAD, d = direction * VEC_RAD;
    struct vec3 along = vec_make(cos(d), 0, sin(d));
    struct vec3 up = vec_make(sin(d) * cos(a), sin(a), -cos(d) * cos(a));
    struct vec3 normal = vec_cross(along, up);
    for (int i = 0; i < n; i++) {
        double t = VEC_PI * i / n;
        struct vec3 p = vec_add(vec_scale(along, cos(t)), vec_scale(up, sin(t)));
        points[i] = vec_add(vec_add(vec_make(4, 1, -2), p), vec_scale(normal, i % 2 ? off : -off));
    }
}

Test(vec, plane_of_a_circle)
{
    static const struct {
        double slope, direction;
    } rows[] = {{45, 0}, {60, 5}, {57.8, -12}, {30, 89}, {10, -89}, {90, 20}, {89.9, 0}, {1, 3}};
    for (size_t r = 0; r < sizeof rows / sizeof *rows; r++) {
        struct vec3 points[40];
        struct plane plane;
        circle(rows[r].slope, rows[r].direction, 0, points, 40);
        cr_assert(plane_fit(points, 40, &plane));
        cr_assert_float_eq(plane.slope_deg, rows[r].slope, 1e-6);
        cr_assert_float_eq(plane.direction_deg, rows[r].direction, 1e-6);
        cr_assert_lt(plane.rms, 1e-12);
        cr_assert_geq(plane.normal.y, 0);
    }
}

Test(vec, plane_tells_how_far_the_points_are_off)
{
    struct vec3 points[40];
    struct plane plane;
    circle(50, 0, 0.004, points, 40);
    cr_assert(plane_fit(points, 40, &plane));
    cr_assert_float_eq(plane.rms, 0.004, 1e-4);
    cr_assert_float_eq(plane.slope_deg, 50, 0.1);
}

Test(vec, level_and_upright_planes)
{
    const struct vec3 level[] = {{0, 2, 0}, {1, 2, 0}, {0, 2, 1}}, facing[] = {{3, 0, 0}, {3, 1, 0}, {3, 0, 1}};
    struct plane plane;
    cr_assert(plane_fit(level, 3, &plane));
    cr_assert_float_eq(plane.slope_deg, 0, 1e-9);
    cr_assert_float_eq(plane.normal.y, 1, 1e-12);
    cr_assert(plane_fit(facing, 3, &plane));
    cr_assert_float_eq(plane.slope_deg, 90, 1e-9);
    cr_assert_float_eq(plane.direction_deg, 90, 1e-9); /* never -90 */
}

Test(vec, no_plane_through_a_line_or_too_little)
{
    struct vec3 line[9], same[4] = {{1, 1, 1}, {1, 1, 1}, {1, 1, 1}, {1, 1, 1}};
    struct plane plane;
    for (int i = 0; i < 9; i++) {
        line[i] = vec_make(0.1 * i, 1 - 0.3 * i, 0.7 * i);
    }
    cr_assert_not(plane_fit(line, 9, &plane));
    cr_assert_not(plane_fit(same, 4, &plane));
    cr_assert_not(plane_fit(line, 2, &plane));
    line[4].x = NAN;
    cr_assert_not(plane_fit(line, 9, &plane));
}

Test(vec, frame_is_right_handed_and_keeps_right)
{
    struct vec_frame f;
    cr_assert(vec_frame_of(vec_make(0, 0, 2), vec_make(0.5, 3, 1), &f));
    cr_assert_float_eq(f.z.z, 1, 1e-12);
    cr_assert_float_eq(vec_dot(f.x, f.y), 0, 1e-12);
    cr_assert_float_eq(vec_norm(f.y), 1, 1e-12);
    cr_assert_float_eq(vec_norm(vec_sub(vec_cross(f.x, f.y), f.z)), 0, 1e-12);
    cr_assert_gt(f.y.y, 0.9);
    cr_assert_not(vec_frame_of(vec_make(0, 0, 1), vec_make(0, 0, -3), &f));
    cr_assert_not(vec_frame_of(vec_make(0, 0, 0), vec_make(0, 1, 0), &f));
    cr_assert_not(vec_frame_of(vec_make(0, 1, 0), vec_make(0, 0, 0), &f));
}

static struct vec3 turned(struct vec3 v, struct vec3 axis, double angle)
{
    double along = vec_dot(axis, v);
    return vec_add(vec_add(vec_scale(v, cos(angle)), vec_scale(vec_cross(axis, v), sin(angle))),
                   vec_scale(axis, along * (1 - cos(angle))));
}

Test(vec, turns_from_none_to_nearly_half)
{
    static const double angles[] = {0, 1e-10, 1e-5, 1, 60, 90, 120, 179, 179.9};
    struct vec3 axis;
    struct vec_frame before;
    cr_assert(vec_unit(vec_make(1, -2, 0.5), &axis));
    cr_assert(vec_frame_of(vec_make(0.3, 0.1, 1), vec_make(0.2, 1, 0), &before));
    for (size_t i = 0; i < sizeof angles / sizeof *angles; i++) {
        double angle = angles[i] * VEC_RAD;
        struct vec_frame after = {turned(before.x, axis, angle), turned(before.y, axis, angle),
                                  turned(before.z, axis, angle)};
        struct vec3 speed = vec_rotation_speed(&before, &after, 0.5);
        cr_assert_lt(vec_norm(vec_sub(speed, vec_scale(axis, 2 * angle))), 1e-11, "%g deg", angles[i]);
    }
}
