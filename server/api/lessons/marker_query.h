/* What stands beside a marker file in the address: ?hand=&target=&up=&club=&club_number=&club_length_m=&recorded_at= */
#ifndef LEADSIDE_API_LESSONS_MARKER_QUERY_H
#define LEADSIDE_API_LESSONS_MARKER_QUERY_H

#include "api/frame/call.h"
#include "wire/swing/file.h"

#define MARKER_QUERIES "hand target up club club_number club_length_m recorded_at"

/* The first of them that is there; NULL when there is none. */
const char *marker_query_any(const struct call *call);

/* hand: the player's as kept, where none is given. The reading's map is left as it is. False: answered 422, with the
 * name as path. */
bool marker_query_read(struct call *call, const char *hand, struct swing_reading *out)
    __attribute__((warn_unused_result));

/* SHA-256 of a marker file's own hash, its kind and these queries as they came: what an Idempotency-Key stands for. */
void marker_query_hash(const struct call *call, enum swing_media media, const uint8_t document_hash[STORE_HASH],
                       uint8_t out[STORE_HASH]);

#endif
