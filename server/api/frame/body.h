/* Reading a request's JSON body: strictly, with limits, and with a path in every refusal. */
#ifndef LEADSIDE_API_FRAME_BODY_H
#define LEADSIDE_API_FRAME_BODY_H

#include "api/frame/call.h"
#include "wire/json/tree.h"

/* A parsed body. After the first refusal the call has been answered and every getter gives false. */
struct body {
    struct call *call;
    json_t *json;
    struct wire_error error;
    bool failed;
};

/* Parses the call's body, which must be an object with none but the NULL-ended keys. False: answered (400 for what is
 * no JSON, 422 with a path otherwise). On true, body_end must be called. An empty body is {} when may_be_empty. */
bool body_begin(struct body *body, struct call *call, const char *const *keys, bool may_be_empty);
/* Frees the JSON; texts live in the arena. True when nothing was refused. Answers 422 when something was. */
bool body_end(struct body *body);

/* Each leaves out as it was when an optional field is absent. */
bool body_text(struct body *body, const char *key, bool required, size_t max, const char **out);
/* A name of somebody or something; what it may hold says base/plain_text.h. */
bool body_name(struct body *body, const char *key, bool required, size_t max, const char **out);
/* null or "" clears: *out = NULL. *given tells whether the key was there; may be NULL. */
bool body_text_clear(struct body *body, const char *key, size_t max, const char **out, bool *given);
bool body_bool(struct body *body, const char *key, bool required, bool *out);
bool body_integer(struct body *body, const char *key, bool required, int low, int high, int *out);
/* A number; null clears. *has tells whether there is one now. */
bool body_number_clear(struct body *body, const char *key, double low, double high, double *out, bool *has);
/* RFC 3339; null clears to 0. */
bool body_time(struct body *body, const char *key, bool required, int64_t *out);
bool body_uuid(struct body *body, const char *key, bool required, char out[UUID_TEXT]);
/* Is the key there (null counts)? */
bool body_has(const struct body *body, const char *key);
/* A refusal of the caller's own. Always false. */
bool body_refuse(struct body *body, const char *path, const char *format, ...) __attribute__((format(printf, 3, 4)));

#endif
