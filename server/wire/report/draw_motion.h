/* Two drawings of one swing's motion data, as SVG text: how fast the segments turn over time, and the hands' turn
 * against their lift. Every line is named beside it and told by its dashes as well as by its colour. */
#ifndef LEADSIDE_WIRE_REPORT_DRAW_MOTION_H
#define LEADSIDE_WIRE_REPORT_DRAW_MOTION_H

#include "core/measure/measure.h"
#include "core/motion/motion.h"
#include "words/words.h"

/* name: of the swing, for the title (a file's name); escaped. In the speaker's arena, ended by a NUL that *length does
 * not count; NULL when memory is short. What the record does not show is left out, and said in the drawing when nothing
 * is left.
 */
char *draw_speeds(const struct motion_summary *motion, const char *name, const struct speaker *say, size_t *length)
    __attribute__((warn_unused_result));

/* back, down: the order indices of the same swing (MEASURE_ORDER_BACK, MEASURE_ORDER_DOWN), observed or not. */
char *draw_hands(const struct motion_summary *motion, const struct measure *back, const struct measure *down,
                 const char *name, const struct speaker *say, size_t *length) __attribute__((warn_unused_result));

#endif
