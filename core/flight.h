/* What the ball did, from the coach's eye or from path and face, and how well each fault fits it.
 * Spin axis = path x face normal (Jorgensen 1994, The Physics of Golf); start direction between path and face, mostly
 * the face's (Wood, Henrikson & Broadie 2018, Proceedings 2(6):249). Degrees, + right of target (mirrored), + up. */
#ifndef LEADSIDE_CORE_FLIGHT_H
#define LEADSIDE_CORE_FLIGHT_H

#include <stdbool.h>

#include "core/standard.h"
#include "core/swing.h"

/* Spin-axis tilt from horizontal, + = curves right. loft > 0. */
double flight_axis_tilt(double path_deg, double face_deg, double attack_deg, double dynamic_loft_deg);

/* Start direction from the face's share, in (0, 1]. */
double flight_start_direction(double path_deg, double face_deg, double face_share);

/* The flight classes that the document and its numbers support. Eye wins over numbers where both speak; an off-centre
 * strike (heel, toe), or an unknown one with numbers only, gives no curve. */
struct flight_class {
    enum flight_side start, curve;
    enum strike strike;
    struct maybe start_deg, axis_tilt_deg;
};
struct flight_class flight_classify(const struct swing_flight *flight, const struct standard *standard,
                                    enum club_class club);

/* Best match in [0, 1] of a fault with the flight; 0 when nothing is known. */
double flight_match(const struct standard *standard, enum fault_id fault, const struct flight_class *flight);

#endif
