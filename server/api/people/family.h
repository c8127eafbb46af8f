/* For whom one of the family asks: the student's own things, or those of one of a guardian's juniors. */
#ifndef LEADSIDE_API_PEOPLE_FAMILY_H
#define LEADSIDE_API_PEOPLE_FAMILY_H

#include "api/frame/call.h"

/* The caller is a student or a guardian. wanted: the id the caller names, NULL = none; a student, and a guardian of one
 * junior alone, need not. Fills call->student_id in. False: answered. */
bool family_choose(struct call *call, const char *wanted);

#endif
