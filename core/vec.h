/* Vectors in the world frame (X to the target, Y up, Z = X x Y), metres or unit length; planes, frames, rotation.
 * Plain values, no allocation. */
#ifndef LEADSIDE_CORE_VEC_H
#define LEADSIDE_CORE_VEC_H

#include <math.h>
#include <stdbool.h>

#define VEC_PI 3.14159265358979323846
#define VEC_DEG (180.0 / VEC_PI) /* radians to degrees */
#define VEC_RAD (VEC_PI / 180.0) /* degrees to radians */

struct vec3 {
    double x, y, z;
};

static inline struct vec3 vec_make(double x, double y, double z)
{
    return (struct vec3){x, y, z};
}

static inline struct vec3 vec_add(struct vec3 a, struct vec3 b)
{
    return (struct vec3){a.x + b.x, a.y + b.y, a.z + b.z};
}

static inline struct vec3 vec_sub(struct vec3 a, struct vec3 b)
{
    return (struct vec3){a.x - b.x, a.y - b.y, a.z - b.z};
}

static inline struct vec3 vec_scale(struct vec3 a, double k)
{
    return (struct vec3){a.x * k, a.y * k, a.z * k};
}

static inline double vec_dot(struct vec3 a, struct vec3 b)
{
    return a.x * b.x + a.y * b.y + a.z * b.z;
}

static inline struct vec3 vec_cross(struct vec3 a, struct vec3 b)
{
    return (struct vec3){a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}

static inline double vec_norm(struct vec3 a)
{
    return sqrt(vec_dot(a, a));
}

/* a scaled to length 1; false (and *out untouched) for a vector of no length. */
static inline bool vec_unit(struct vec3 a, struct vec3 *out)
{
    double length = vec_norm(a);
    if (!(length > 1e-12)) {
        return false;
    }
    *out = vec_scale(a, 1.0 / length);
    return true;
}

/* Eigenvalues, ascending, and unit eigenvectors of a symmetric matrix (cyclic Jacobi). m: row by row; only
 * the upper half is read. */
void vec_eigen(const double m[9], double values[3], struct vec3 vectors[3]);

/* Best plane through points: what of them is left has the least sum of squares. */
struct plane {
    struct vec3 centre;
    struct vec3 normal; /* unit, y >= 0 */
    double slope_deg;   /* from the ground, 0...90 */
    double
        direction_deg; /* of the line where it meets the ground, from the target line, + right (toward Z), (-90, 90] */
    double rms;        /* m, distance of the points from it */
};

/* False for fewer than 3 points or points on one line (second spread under 1e-6 of the first). */
__attribute__((warn_unused_result)) bool plane_fit(const struct vec3 *points, int n, struct plane *out);

/* A right-handed set of unit axes in the world. */
struct vec_frame {
    struct vec3 x, y, z;
};

/* Axes of a body segment from joint centres: z along trail -> lead reversed as the ISB's right (lead to trail for a
 * right-hander), y as near to `up` as a right angle allows, x = y x z. False when they do not span a plane. */
__attribute__((warn_unused_result)) bool vec_frame_of(struct vec3 right, struct vec3 up, struct vec_frame *out);

/* Mean angular velocity that turns `before` into `after` within dt seconds, world axes, rad/s; turns below 180 deg. */
struct vec3 vec_rotation_speed(const struct vec_frame *before, const struct vec_frame *after, double dt);

#endif
