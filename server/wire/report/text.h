/* The readable report: what a coach would tell the student, then a table of the numbers. UTF-8, at most 100 columns,
 * but for a long word. */
#ifndef LEADSIDE_WIRE_REPORT_TEXT_H
#define LEADSIDE_WIRE_REPORT_TEXT_H

#include "wire/report/write.h"
#include "words/words.h"

/* In the speaker's language and arena; NULL when memory is short. */
char *report_text(const struct report *report, const struct standard *standard, const struct drill *drills,
                  int drill_count, const struct report_context *context, const struct speaker *say)
    __attribute__((warn_unused_result));

#endif
