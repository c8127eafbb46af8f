/* A new student, on the writer's thread. */
#ifndef LEADSIDE_API_PEOPLE_STUDENT_ADD_H
#define LEADSIDE_API_PEOPLE_STUDENT_ADD_H

#include "api/frame/call.h"

/* The row, and what was agreed to when the student came, with an audit row of its own. A coach's new student is theirs:
 * otherwise nobody but the head could see it. */
enum store_status student_add(struct store_db *db, const struct write *write,
                              const struct store_student *student) STORE_CHECKED;
/* What it says of keeping a student: a member number that is another's is refused in words, the rest as it is. */
enum store_status student_number_taken(struct write *write, enum store_status status) STORE_CHECKED;

#endif
