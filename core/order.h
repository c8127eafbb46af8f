/* Turn and lift: which comes first. Index 2 * integral(A dE) - 1 over the progress A of the turn and E of the lift,
 * trapezoid: +1 all turn then all lift, 0 together, -1 lift first. For the downswing pass the descent as the turn and
 * the returning turn as the lift: + = drop first. */
#ifndef LEADSIDE_CORE_ORDER_H
#define LEADSIDE_CORE_ORDER_H

#include <stdbool.h>

#include "core/vec.h"

#define ORDER_HANDS_MAX 512
#define ORDER_FEW 10          /* so many places or fewer were marked, not recorded */
#define ORDER_IN_FRONT_M 0.04 /* nearer to the hub than this the hands at address have no azimuth */
#define ORDER_TURN_MIN_DEG 10.0
#define ORDER_LIFT_MIN_M 0.10
#define ORDER_SHIFT_MIN_M 0.15 /* of the one-view index */

enum order_phase { ORDER_BACK, ORDER_DOWN, ORDER_THROUGH };

/* first, then: any scale, n >= 2 samples; each is turned into progress from its first to its last value. Clamped to
 * [-1, 1]. False when one of them ends where it began. */
__attribute__((warn_unused_result)) bool order_index(const double *first, const double *then, int n, double *index);

/* The same of a few marked places, joined by the natural cubic over the length of the broken line: straight joins cut
 * the corners of the path and read 0.06...0.1 low on a sound swing, the cubic 0.01 (simulated). n <= ORDER_FEW. */
__attribute__((warn_unused_result)) bool order_index_of_few(const double *first, const double *then, int n,
                                                            double *index);

/* One-view index sum(l_i h_i+1 - l_i+1 h_i) of the progress of sideways shift l and height h: 0 for a straight path. */
__attribute__((warn_unused_result)) bool order_index_one_view(const double *shift, const double *height, int n,
                                                              double *index);

/* Index of hands (metres, world frame) about a fixed hub, 3 <= n <= ORDER_HANDS_MAX. False when the hands turn or rise
 * too little, or pass over the hub. Whether they stand in front of the hub at address is the caller's check, for a
 * phase need not begin there: order_in_front(). */
__attribute__((warn_unused_result)) bool order_of_hands(const struct vec3 *hands, int n, struct vec3 hub,
                                                        enum order_phase phase, double *index);

/* Where hands stand about the hub, from its front toward the trail side, deg; x and z from the hub, m. False over it.
 */
__attribute__((warn_unused_result)) bool order_azimuth(double x, double z, double *deg);

/* The index from azimuths (each brought within half a turn of the one before) and heights: order_of_hands in two steps,
 * for a caller who moves one place at a time. */
__attribute__((warn_unused_result)) bool order_of_turn(double *turn, const double *height, int n,
                                                       enum order_phase phase, double *index);

bool order_in_front(struct vec3 hands_at_address, struct vec3 hub);

#endif
