/* What the errors of two measures of one swing share: the marks, cameras and markers that both rest on. Each measure
 * keeps how far one sd of every input moves it; the covariance of two is the sum over the inputs of both. Private to
 * core/measure. */
#ifndef LEADSIDE_CORE_MEASURE_SHARED_H
#define LEADSIDE_CORE_MEASURE_SHARED_H

#include "core/measure/measure.h"

/* Inputs are numbered: first those that are new with each swing, then those that stay. */
#define SHARED_MARK(view, checkpoint, point) ((((view)*CHECKPOINT_COUNT + (checkpoint)) * POINT_COUNT + (point)) * 2)
#define SHARED_MOVING(checkpoint, point) (SHARED_MARK(SWING_VIEWS_MAX, 0, 0) + ((checkpoint)*POINT_COUNT + (point)) * 3)
#define SHARED_TIME(checkpoint) (SHARED_MOVING(CHECKPOINT_COUNT, 0) + (checkpoint))
#define SHARED_SYSTEMATIC SHARED_TIME(CHECKPOINT_COUNT)
#define SHARED_CAMERA(view) (SHARED_SYSTEMATIC + (view)*4) /* yaw, pitch, roll, depth */
#define SHARED_SLOPE SHARED_CAMERA(SWING_VIEWS_MAX)
#define SHARED_FIXED(point) (SHARED_SLOPE + 1 + (point)*3)
#define SHARED_INPUTS SHARED_FIXED(POINT_COUNT)

#define SHARES_MAX 64 /* of one measure: the order of turn and lift has that many */

struct shares {
    int count;
    uint16_t inputs[SHARES_MAX];
    double parts[SHARES_MAX]; /* what one sd of that input moves the measure, in its unit */
};

/* Nothing for a part of 0; what is more than there is room for is left out, as if it were the measure's own. */
static inline void shares_add(struct shares *shares, int input, double part)
{
    if (part != 0.0 && shares->count < SHARES_MAX) {
        shares->inputs[shares->count] = (uint16_t)input;
        shares->parts[shares->count++] = part;
    }
}

/* Of a measure that is the size of a signed value. */
static inline void shares_turn(struct shares *shares, double value)
{
    for (int i = 0; i < shares->count && value < 0.0; i++) {
        shares->parts[i] = -shares->parts[i];
    }
}

/* Fills in what each two measures of the set share. */
void shares_correlate(const struct shares shares[MEASURE_COUNT], struct measure_set *set);

#endif
