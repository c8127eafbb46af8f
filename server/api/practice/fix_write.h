/* A fix with all that the next coach needs to carry on. */
#ifndef LEADSIDE_API_PRACTICE_FIX_WRITE_H
#define LEADSIDE_API_PRACTICE_FIX_WRITE_H

#include "api/frame/answer.h"
#include "store/practice/fix.h"
#include "store/practice/homework.h"

/* One fix as an object: what was decided, by whom, its history, and those of the student's homework that are its. What
 * coaches tell each other (why the report's advice was overruled, why two run together, why a drill for a sore area) is
 * only for_staff. */
enum store_status fix_write(struct json_out *out, struct store_db *db, struct arena *arena, const struct store_fix *fix,
                            const struct store_homework_list *homework, bool for_staff)
    __attribute__((warn_unused_result));

#endif
