/* The families of measures, as the front (measure.c) asks them. Private to core/measure. */
#ifndef LEADSIDE_CORE_MEASURE_FAMILIES_H
#define LEADSIDE_CORE_MEASURE_FAMILIES_H

#include "core/measure/probe.h"

/* Plane slope and depth of every view; called before the others. No view stays when the pictures show a player of the
 * other hand. */
void measure_cameras(struct measure_work *work);
void measure_shafts(struct measure_work *work);
void measure_bodies(struct measure_work *work);
void measure_weights(struct measure_work *work);
void measure_orders(struct measure_work *work);
void measure_joined(struct measure_work *work); /* from both views joined */
void measure_motion(struct measure_work *work);

#endif
