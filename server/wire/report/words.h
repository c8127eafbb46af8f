/* The English of a report: measures, faults, numbers with their errors, and the sentences made of them. Used by the
 * JSON report and by the readable one, so that both say the same.
 *
 * "+-" in a sentence is what 19 of 20 lie within (95 %). Texts made here live in the arena; NULL when memory is
 * short. Fixed texts are static. */
#ifndef LEADSIDE_WIRE_REPORT_WORDS_H
#define LEADSIDE_WIRE_REPORT_WORDS_H

#include "base/arena.h"
#include "core/score.h"
#include "wire/report/codes.h"

/* "shaft direction at waist height going back" */
const char *words_measure(enum measure_item item);
/* "taking the club back too far inside": fits after "work on" and before "is". */
const char *words_fault(enum fault_id fault);
/* "at address", "at the top", ...; "" for the whole swing. */
const char *words_checkpoint(enum checkpoint checkpoint);

/* "-24° ± 5°", "18 cm ± 2 cm", "34 % ± 6 %", "0.31 ± 0.10" */
const char *words_value(struct arena *arena, enum measure_item item, double value, double sd);
/* "-6° to 15°", "at least 25°", "at most 45°"; what is fine. */
const char *words_range(struct arena *arena, enum measure_item item, const struct measure_range *range);

/* Why this fix comes first (or second): in a few short sentences. */
const char *words_why(struct arena *arena, const struct report *report, int index, enum hand hand);
/* What to leave alone, and why. */
const char *words_leave_alone(struct arena *arena, const struct report *report, enum fault_id fault);
/* What the camera check found and what to move, in metres or degrees. */
const char *words_camera(struct arena *arena, const struct camera_finding *finding);
/* "film from behind along the target line, or lay two sticks"; "" when nothing would. */
const char *words_settle(struct arena *arena, unsigned settle);

/* How far the report may be believed: one swing, two, or a habit. */
const char *words_scope(struct arena *arena, const struct report *report);
/* "a thin strike that starts left and curves right", as the player sees it; "" when nothing is known. */
const char *words_flight(struct arena *arena, const struct flight_class *flight, enum hand hand);

/* How a drill is dosed: "four times a week, 12 minutes, ..." */
const char *words_dose(struct arena *arena, const struct dose *dose);

/* Why a drill needs the coach's word: "it loads the low back"; "" when it needs none. */
const char *words_needs_word(struct arena *arena, const struct drill *drill, unsigned pain, bool unsteady);
/* That nothing may be done at once for want of a free drill; "" when a drill of the list is free of it. */
const char *words_no_drill(struct arena *arena, const struct practice_pick *picks, int count, unsigned pain);

/* "a", "a and b", "a, b and c" of count phrases. */
const char *words_list(struct arena *arena, const char *const *phrases, int count, const char *last);

/* The sentence of a caution. */
const char *words_caution(struct arena *arena, enum codes_caution caution, int age_years, unsigned pain);

#endif
