/* A new student, on the writer's thread. */
#ifndef LEADSIDE_API_PEOPLE_STUDENT_ADD_H
#define LEADSIDE_API_PEOPLE_STUDENT_ADD_H

#include "api/frame/call.h"

/* The row, and what was agreed to when the student came, with an audit row of its own. A coach's new student is theirs:
 * otherwise nobody but the head could see it. */
enum store_status student_add(struct store_db *db, const struct write *write,
                              const struct store_student *student) STORE_CHECKED;

#endif
