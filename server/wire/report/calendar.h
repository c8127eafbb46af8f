/* iCalendar text (RFC 5545): all-day events in a calendar, folded and escaped. */
#ifndef LEADSIDE_WIRE_REPORT_CALENDAR_H
#define LEADSIDE_WIRE_REPORT_CALENDAR_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/text.h"

#define CALENDAR_LINE_MAX 75 /* octets of a line without its end (RFC 5545, 3.1) */

/* Once memory is short everything is ignored and calendar_finish gives NULL. */
struct calendar_out {
    struct text text;
};

/* One day, UTC dates. Texts are UTF-8 and borrowed for the call. */
struct calendar_event {
    const char *uid; /* the same for the same day of the same thing, for ever; plain ASCII */
    int64_t day;     /* days from 1970-01-01 */
    int64_t stamp;   /* when the event was laid down, UTC milliseconds */
    const char *summary, *description;
};

void calendar_start(struct calendar_out *out, struct arena *arena, const char *name);
void calendar_event_add(struct calendar_out *out, const struct calendar_event *event);
/* The whole text, in the arena. */
char *calendar_finish(struct calendar_out *out, size_t *length);

/* Is this weekday (0 = Monday) one of `sessions` practice days, spread evenly over the week? 1...7 sessions; more are
 * taken as seven. Four are Monday, Wednesday, Friday and Sunday. */
bool calendar_practice_day(int sessions, int weekday);

#endif
