/* Small pieces that several resources' answers are made of. */
#ifndef LEADSIDE_API_FRAME_ANSWER_H
#define LEADSIDE_API_FRAME_ANSWER_H

#include "api/frame/call.h"
#include "wire/json/out.h"

#define WEEK_MS ((int64_t)7 * 24 * 3600 * 1000)
#define DAY_MS ((int64_t)24 * 3600 * 1000)

/* RFC 3339, or null for 0. */
void answer_time(struct json_out *out, const char *key, int64_t ms);
/* An id, or null for "". */
void answer_id(struct json_out *out, const char *key, const char *id);
void answer_integer(struct json_out *out, const char *key, int64_t value);

/* A list's answer, {"students": […]}: begin, each item, end. status not STORE_OK: false, and answered. */
bool answer_list_begin(struct call *call, struct json_out *out, enum store_status status, const char *name);
/* next_after: the last item's id while there are more (ANSWER_NEXT), else NULL. Answers. */
void answer_list_end(struct call *call, struct json_out *out, const char *next_after);
#define ANSWER_NEXT(list) ((list).more ? (list).items[(list).count - 1].id : NULL)

/* Finishes the JSON and answers 200 with it (500 when memory is short). etag 0 = none. */
void answer_json(struct call *call, struct json_out *out, int64_t etag);
/* The same for what also shows things that move without an edit of it: ticks, the team, when it was last seen. */
void answer_json_moving(struct call *call, struct json_out *out, int64_t version);
/* The same for what a write answers; false when memory is short. */
bool answer_write(struct write *write, struct json_out *out, int status);

/* Fills in the audit row of a write: who, when, what. object_id is copied. */
void answer_audit(struct write *write, const char *action, const char *kind, const char *object_id,
                  const char *student_id);

void answer_no_memory(struct call *call);

#endif
