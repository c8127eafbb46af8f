/* Conditional requests (RFC 9110, 13): the ETags of this server against If-Match and If-None-Match.
 * A tag is a version in quotes ("3"). Where an answer also shows what moves without an edit (ticks, the team), a hash
 * follows ("3-5f0c91…"): then If-None-Match tells apart all of it, and If-Match the version alone, since that is what
 * an edit could take away from somebody. */
#ifndef LEADSIDE_API_FRAME_PRECONDITION_H
#define LEADSIDE_API_FRAME_PRECONDITION_H

#include "api/frame/call.h"

#define PRECONDITION_TAG 48

enum precondition { PRECONDITION_ABSENT, PRECONDITION_MATCHES, PRECONDITION_DIFFERS, PRECONDITION_MALFORMED };

/* A field's value (NULL = not sent) against one tag with its quotes. "*" matches. weak: W/"3" matches "3" as well. An
 * entry without a hash matches any tag of its version when by_version. */
enum precondition precondition_judge(const char *field, const char *tag, bool weak, bool by_version);

/* "3", or "3-hash" of the text when it is given. */
void precondition_tag(int64_t version, const char *text, size_t length, char out[PRECONDITION_TAG]);

/* Before an edit of what is at this version now. False: answered (428 without If-Match, 400 when it is none, 412 when
 * it names another version). The writer looks again, for the version may change meanwhile. */
bool precondition_edit(struct call *call, int64_t version);

/* For a GET whose answer has this tag: true when the caller has that answer already, and it was told so (304; 400 when
 * If-None-Match is none). */
bool precondition_unchanged(struct call *call, const char *tag);

/* The same, with the ETag of an answer that also shows what moves, told by the text that shows it (any part of the
 * answer but what the version tells of). */
bool precondition_moving(struct call *call, int64_t version, const char *text, size_t length);

#endif
