/* A student as shown and as sent. */
#ifndef LEADSIDE_API_STUDENT_JSON_H
#define LEADSIDE_API_STUDENT_JSON_H

#include "api/body.h"
#include "wire/json_out.h"

/* The fields, inside an open object. */
void student_json(struct json_out *out, const struct store_student *student);

extern const char *const student_keys[];
/* Changes what the body names; name and hand must be there when fresh. Refusals stay in the body. */
void student_read(struct body *body, struct store_student *student, bool fresh);

#endif
