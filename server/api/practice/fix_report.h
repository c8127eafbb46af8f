/* The report that a fix is opened from, for what it says against the fix. */
#ifndef LEADSIDE_API_PRACTICE_FIX_REPORT_H
#define LEADSIDE_API_PRACTICE_FIX_REPORT_H

#include "api/practice/fix_conflicts.h"

/* Fills asked->first and asked->flight in from the report of the fix's baseline, where one is named. must: one that is
 * not the student's or counts no longer is refused; else it says nothing. False: answered. */
bool fix_report_ask(struct call *call, const struct store_fix *fix, bool must, struct fix_asked *asked);

#endif
