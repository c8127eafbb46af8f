/* Who read a junior's data: a row in the audit for each account, student, kind of thing and day (UTC), without making
 * the reader wait for it. */
#ifndef LEADSIDE_API_FRAME_READING_H
#define LEADSIDE_API_FRAME_READING_H

#include "api/frame/call.h"

/* What was put on record lately; NULL when memory is short. */
struct reading_memory *reading_new(void);
void reading_free(struct reading_memory *memory);

/* Called when the right was checked and before the handler. Only reads about others' data are looked at; whether the
 * student is a junior, and whether the day's row is there already (after a restart), the writer finds out. What the
 * writer can't take just now is tried again at the next reading. */
void reading_note(const struct call *call);

#endif
