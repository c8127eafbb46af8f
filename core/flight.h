/* What the ball did, from the coach's eye or from path and face, and what that says for and against each fault.
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

/* Parts of a flight: bits. */
enum flight_part { FLIGHT_PART_START = 1, FLIGHT_PART_CURVE = 2, FLIGHT_PART_STRIKE = 4 };

#define FLIGHT_TRUST                                                                                                   \
    9.0                 /* the most that a flight says, as odds: as far as a coach's eye is trusted (common practice) */
#define FLIGHT_SAID 0.3 /* match from which a part is worth a sentence */

/* What a flight says of a fault, by what the standard calls typical of it. A row that fits with match m makes the fault
 * 1 / (1 - m) times as likely, of where the ball flew (start and curve) and of the strike the best row each; a part
 * that contradicts a row, and is in none that fits, 1 - m times. What flew straight or was struck well contradicts
 * nothing, nor does what is not known, nor the height of a strike its place on the face. */
struct flight_weight {
    double ratio;           /* likelihood ratio, [1 / FLIGHT_TRUST, FLIGHT_TRUST]; 1 = says nothing */
    double fits;            /* best match of all rows that fit, [0, 1] */
    unsigned with, against; /* enum flight_part bits worth a sentence: typical of the fault; not so */
    bool refused;           /* there are rows, and each is contradicted */
};
struct flight_weight flight_weigh(const struct standard *standard, enum fault_id fault,
                                  const struct flight_class *flight);

#endif
