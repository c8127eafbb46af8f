/* Vectors in the world frame (X to the target, Y up, Z = X x Y), metres or unit length.
 * Plain values, no allocation, no errors. */
#ifndef LEADSIDE_CORE_VEC_H
#define LEADSIDE_CORE_VEC_H

#include <math.h>

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

#endif
