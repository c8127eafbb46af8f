/* A student as shown and as sent. */
#ifndef LEADSIDE_API_PEOPLE_STUDENT_JSON_H
#define LEADSIDE_API_PEOPLE_STUDENT_JSON_H

#include "api/frame/body.h"
#include "wire/json/out.h"

/* The fields, inside an open object. */
void student_json(struct json_out *out, const struct store_student *student);

/* "comes_of_age": the day, or null for 0 and for a day that isn't known. */
void student_comes_of_age(struct json_out *out, int64_t adult_from);

/* "pain": the areas of these bits. */
void student_pain(struct json_out *out, unsigned pain);

extern const char *const student_keys[];
/* Changes what the body names; name and hand must be there when fresh. Consent
 * is taken when fresh alone. Refusals stay in the body. */
void student_read(struct body *body, struct store_student *student, bool fresh);

#endif
