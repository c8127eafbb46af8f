/* Ids: UUIDv7 (RFC 9562) as 36-character text. */
#ifndef LEADSIDE_BASE_IDS_H
#define LEADSIDE_BASE_IDS_H

#include <stdbool.h>
#include <stdint.h>

#define UUID_TEXT 37 /* with the final NUL */

/* Lays out a UUIDv7 from a time and 10 random bytes (the version and variant bits are set here). */
void uuid7_format(int64_t unix_ms, const uint8_t random[10], char out[UUID_TEXT]);
/* Less than every id of then or later; times before 1970 as 1970. */
void uuid7_least(int64_t unix_ms, char out[UUID_TEXT]);
/* A new one, now; ids made by one process rise strictly. Thread-safe. */
void uuid7_new(char out[UUID_TEXT]);
/* Lower-case canonical form of any version? */
bool uuid_valid(const char *text);

#endif
