/* The sentences of a report, in the reader's language: measures, faults, numbers with their errors, and what is made of
 * them. Used by the readable report and, in English, by the drawings.
 *
 * "±" in a sentence is what 19 of 20 lie within (95 %). Texts live in the speaker's arena or for ever; NULL when memory
 * is short. */
#ifndef LEADSIDE_WIRE_REPORT_WORDS_H
#define LEADSIDE_WIRE_REPORT_WORDS_H

#include "core/score.h"
#include "wire/report/codes.h"
#include "words/words.h"

/* "shaft direction (+ out over the ball), shaft level going back" */
const char *words_measure(const struct speaker *say, enum measure_item item);
/* "taking the club back too far inside": fits after "work on" and before "is". */
const char *words_fault(const struct speaker *say, enum fault_id fault);
/* "On the way back, too much of your weight is on your left foot.": one sentence for the player, without a number. */
const char *words_plain(const struct speaker *say, enum fault_id fault, enum hand hand);
/* "top" */
const char *words_checkpoint(const struct speaker *say, enum checkpoint checkpoint);

/* "-24° ± 5°", "18 cm ± 2 cm", "34 % ± 6 %", "0.31 ± 0.10" */
const char *words_value(const struct speaker *say, enum measure_item item, double value, double sd);
/* "-6° to 15°", "25° or more", "up to 45°"; what is fine. */
const char *words_range(const struct speaker *say, enum measure_item item, const struct measure_range *range);
/* "fine", "strong", "strong, not certain": what the error allows to be said of a value. */
const char *words_rating(const struct speaker *say, const struct measure *measure, const struct measure_range *range,
                         double severity);

/* The same of a standard's fault: "… (contested)" where it is. */
const char *words_fault_of(const struct speaker *say, const struct standard *standard, enum fault_id fault);
/* Why this fix was chosen: in a few short sentences. */
const char *words_why(const struct speaker *say, const struct report *report, const struct standard *standard,
                      int index, enum hand hand);
/* What to leave alone, and why. */
const char *words_leave_alone(const struct speaker *say, const struct report *report, const struct standard *standard,
                              enum fault_id fault);
/* "The ball started right and curved left, which speaks against it."; "" where it doesn't. */
const char *words_against(const struct speaker *say, const struct report *report, enum fault_id fault, enum hand hand);
/* What the camera check found and what to move, in metres or degrees. */
const char *words_camera(const struct speaker *say, const struct camera_finding *finding);
/* Which mark does not fit the others, and how. */
const char *words_mark(const struct speaker *say, const struct mark_finding *finding);
/* "two sticks on the ground along the target line or a picture from the front"; "" when nothing would. */
const char *words_settle(const struct speaker *say, unsigned settle);

/* How far the report may be believed: one swing, two, or a habit. */
const char *words_scope(const struct speaker *say, const struct report *report);
/* "start left, curve right and strike thin", as the player sees it; "" when nothing is known. */
const char *words_flight(const struct speaker *say, const struct flight_class *flight, enum hand hand);

/* One of a drill's texts ("name", "how_to", "feel", "cautions"): where the club has left the house's as it is, in the
 * reader's language. */
const char *words_drill(const struct speaker *say, const char *drill_id, const char *part, const char *text);
/* How a drill is dosed: "4 sessions a week, 12 minutes each. ..." */
const char *words_dose(const struct speaker *say, const struct dose *dose);

/* Why a drill needs the coach's word: "It loads what hurts: low back."; "" when it needs none. */
const char *words_needs_word(const struct speaker *say, const struct drill *drill, unsigned pain, bool unsteady);
/* That nothing may be done at once for want of a free drill; "" when a drill of the list is free of it. */
const char *words_no_drill(const struct speaker *say, const struct practice_pick *picks, int count, unsigned pain);

/* The sentence of a caution. */
const char *words_caution(const struct speaker *say, enum codes_caution caution, int age_years, unsigned pain);

#endif
