/* A swing that comes in, or whose marks are corrected: read, refused where it can't be, judged by itself. */
#ifndef LEADSIDE_API_LESSONS_INCOMING_H
#define LEADSIDE_API_LESSONS_INCOMING_H

#include "api/lessons/scoring.h"
#include "wire/swing/file.h"

/* False: answered. A record that nothing can be measured from is refused when there is nothing beside it: a report
 * without a measure would look like a swing without a fault. */
bool incoming_read(struct call *call, enum swing_media media, const char *bytes, size_t length,
                   const struct swing_reading *reading, struct swing_document *out) __attribute__((warn_unused_result));

/* The document's own report, with an id and to be kept for this swing. False: answered. */
bool incoming_score(struct call *call, const struct scored_student *scored, struct swing_document *document,
                    const char *swing_id, struct store_report *out) __attribute__((warn_unused_result));

#endif
