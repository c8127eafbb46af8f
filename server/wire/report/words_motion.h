/* The sentences of motion data, beside words.h: "±" is 95 %; NULL when memory is short. Times are told from impact;
 * without one from the hands' low point. */
#ifndef LEADSIDE_WIRE_REPORT_WORDS_MOTION_H
#define LEADSIDE_WIRE_REPORT_WORDS_MOTION_H

#include "core/motion/motion.h"
#include "wire/markers/map.h"
#include "wire/report/words.h"

/* "lead arm" */
const char *words_segment(const struct speaker *say, enum motion_segment segment);

/* "The pelvis turned fastest 92 ms ± 8 ms before impact, then the chest (...), ... and the club (...): in the usual
 * order." Neighbours in the usual order within twice their lag's error are said to be too close to tell. */
const char *words_sequence(const struct speaker *say, const struct motion_summary *motion);

/* "0.612 s ± 20 ms", from the record's first sample. */
const char *words_motion_time(const struct speaker *say, const struct motion_time *time);

/* "Back 0.81 s ± 0.03 s, down 0.27 s ± 0.02 s: a tempo of 3.0 ± 0.2 to one.", or why there is none. */
const char *words_motion_tempo(const struct speaker *say, const struct motion_summary *motion);

/* "3.0 s at 240 pictures a second, with the club." and which of several swings was taken. */
const char *words_motion_record(const struct speaker *say, const struct motion_summary *motion);

/* What a finding means and what to do, for a player of this hand. */
const char *words_motion_finding(const struct speaker *say, const struct motion_summary *motion,
                                 const struct motion_finding *finding, enum hand hand);

/* Points without a marker, and markers that are nobody's; "" when there are none of either. */
const char *words_markers(const struct speaker *say, const struct marker_match *match);

#endif
