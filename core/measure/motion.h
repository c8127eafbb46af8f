/* What the files of the motion measures share. Private to core/measure*.c. */
#ifndef LEADSIDE_CORE_MEASURE_MOTION_H
#define LEADSIDE_CORE_MEASURE_MOTION_H

#include "core/measure/probe.h"
#include "core/motion/motion.h"

#define PLACES_MAX 8 /* of one rule */

/* Turn and lift from the hands' whole path about the moving hub. */
void measure_motion_orders(struct measure_work *work, const struct motion_summary *motion);

/* Inversions in the order of the segments' peak speeds. */
void measure_body_order(struct measure_work *work, const struct motion_summary *motion);

#endif
