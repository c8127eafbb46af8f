/* Times: UTC instants as RFC 3339 text and as milliseconds. */
#ifndef LEADSIDE_BASE_TIMES_H
#define LEADSIDE_BASE_TIMES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define TIME_TEXT 25 /* "2026-05-02T09:14:05.123Z" with the final NUL */

/* Milliseconds since 1970-01-01T00:00:00Z. */
int64_t clock_now_ms(void);
/* Monotonic nanoseconds, for durations only. */
int64_t clock_monotonic_ns(void);

/* RFC 3339, UTC, milliseconds. */
void time_format(int64_t unix_ms, char out[TIME_TEXT]);
/* Accepts RFC 3339 with Z or a numeric offset; false when malformed, no such day, or a moment that has no such text in
 * UTC (past the year 9999 or before 0000). */
bool time_parse(const char *text, int64_t *unix_ms);
/* "2026-05-02"; false when no such day. */
bool date_parse(const char *text, int *year, int *month, int *day);

#endif
