/* What a report says by code: where a rule of thumb chooses a sentence, the choice is made here once, stored and sent
 * as a code; whoever speaks (pages, command line, sheets) finds the sentence of that code in the reader's language. */
#ifndef LEADSIDE_WIRE_REPORT_CODES_H
#define LEADSIDE_WIRE_REPORT_CODES_H

#include "core/motion/motion.h"
#include "core/score.h"
#include "wire/json/out.h"

#define CODES_SURE 1.96 /* standard deviations shown after a "±"; server/pages/lib/units.js shows as many */

/* "part", "half" or "mostly": how much of a fault another one usually explains; NULL = too little to be said. */
const char *codes_share(double share);
/* "one_swing", "two_swings" or "habit": how far the report may be believed. */
const char *codes_scope(const struct report *report);
/* The observed sign that speaks loudest for a fault; NULL when none does, or a coach only saw it. Borrowed. */
const struct sign_result *codes_loudest(const struct fault_result *fault);
/* The chosen fix that explains most of a fault; NULL when none explains enough of it to be said. Borrowed. */
const struct first_fix *codes_cause(const struct report *report, enum fault_id fault);

/* Why a fault that is there is left alone: "explained" (codes_cause says by what), "contested" or "matters_less". */
const char *codes_leave(const struct report *report, const struct standard *standard, enum fault_id fault);

/* Which sentence tells a finding about marks: its kind, and "_all" where it is the whole picture or view. */
const char *codes_mark(const struct mark_finding *finding);

/* Which of two peaks, neighbours in the usual order, came first: +1 as usual, -1 the other way, 0 too close to tell. */
int codes_lag(const struct motion_peak *early, const struct motion_peak *late);

/* Why a drill needs the coach's word: areas (enum area bits) it is not for, areas it loads, and whether it asks for
 * balance. */
struct codes_word {
    unsigned ruled_out, loaded;
    bool balance;
};
struct codes_word codes_word(const struct drill *drill, unsigned pain, bool unsteady);
/* Whether no drill of a fix may be done at once: "needs_word", "none_fits"; NULL when one is free of it. */
const char *codes_no_drill(const struct practice_pick *picks, int count);

enum codes_caution {
    CAUTION_WARM_UP,
    CAUTION_STOP_ON_PAIN,
    CAUTION_CLEAR_SPACE,
    CAUTION_NO_BALL,
    CAUTION_SUPPORT,
    CAUTION_BUILD_UP,
    CAUTION_OWN_SIZE,
    CAUTION_ADULT,
    CAUTION_HOURS,
    CAUTION_SORE,
    CAUTION_NOT_TREATMENT,
    CAUTION_COUNT
};
/* "warm_up", ... */
const char *codes_caution_name(enum codes_caution caution);
/* The cautions of a sheet in their order; returns how many of them. age_years < 0: unknown. */
int codes_cautions(const struct drill *const *given, int given_count, int age_years, unsigned pain,
                   enum codes_caution out[CAUTION_COUNT]);
/* Writes "cautions": codes, and objects {"code", …} of those with an age or areas. */
void codes_cautions_write(struct json_out *out, const struct drill *const *given, int given_count, int age_years,
                          unsigned pain);
/* An array of area names. */
void codes_areas_write(struct json_out *out, const char *key, unsigned areas);

#endif
