/* A request's JSON body: parsed here, read member by member with wire/json/tree.h, refused once at the end. */
#ifndef LEADSIDE_API_FRAME_BODY_H
#define LEADSIDE_API_FRAME_BODY_H

#include "api/frame/call.h"
#include "wire/json/tree.h"

struct body {
    struct tree in; /* what the readers take; in.failed once something was refused */
    struct call *call;
    json_t *json;
    struct wire_error error;
};

/* Parses the call's body, which must be an object with none but the NULL-ended keys. False: answered
 * (400 for what is no JSON, 422 with a path otherwise). On true, body_end must be called. An empty body is {} when
 * may_be_empty. The body must stay where it is. */
bool body_begin(struct body *body, struct call *call, const char *const *keys, bool may_be_empty);
/* Frees the JSON; texts live in the arena. True when nothing was refused. Answers 422 when something was. */
bool body_end(struct body *body);

#endif
