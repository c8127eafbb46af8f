/* Ids and times: UUIDv7 (RFC 9562) as 36-character text, UTC instants as RFC 3339 text and as milliseconds. */
#ifndef LEADSIDE_BASE_IDS_H
#define LEADSIDE_BASE_IDS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define UUID_TEXT 37 /* with the final NUL */
#define TIME_TEXT 25 /* "2026-05-02T09:14:05.123Z" with the final NUL */

/* Milliseconds since 1970-01-01T00:00:00Z. */
int64_t clock_now_ms(void);
/* Monotonic nanoseconds, for durations only. */
int64_t clock_monotonic_ns(void);

/* Lays out a UUIDv7 from a time and 10 random bytes (the version and variant bits are set here). */
void uuid7_format(int64_t unix_ms, const uint8_t random[10], char out[UUID_TEXT]);
/* Less than every id of then or later; times before 1970 as 1970. */
void uuid7_least(int64_t unix_ms, char out[UUID_TEXT]);
/* A new one, now; ids made by one process rise strictly. Thread-safe. */
void uuid7_new(char out[UUID_TEXT]);
/* Lower-case canonical form of any version? */
bool uuid_valid(const char *text);

/* RFC 3339, UTC, milliseconds. */
void time_format(int64_t unix_ms, char out[TIME_TEXT]);
/* Accepts RFC 3339 with Z or a numeric offset; false when malformed or no such day. */
bool time_parse(const char *text, int64_t *unix_ms);
/* "2026-05-02"; false when no such day. */
bool date_parse(const char *text, int *year, int *month, int *day);

#endif
