/* A fix with all that the next coach needs to carry on. */
#ifndef LEADSIDE_API_PRACTICE_FIX_WRITE_H
#define LEADSIDE_API_PRACTICE_FIX_WRITE_H

#include "api/frame/answer.h"
#include "core/standard.h"
#include "store/practice/fix.h"
#include "store/practice/homework.h"

/* One fix as an object: what was decided, by whom, its history, and those of the student's homework that are its. What
 * coaches tell each other (why the report's advice was overruled, why two run together, why a drill for a sore area) is
 * only for_staff. standard: the one in force. */
enum store_status fix_write(struct json_out *out, struct store_db *db, struct arena *arena, const struct store_fix *fix,
                            const struct store_homework_list *homework, const struct standard *standard, bool for_staff)
    __attribute__((warn_unused_result));

/* "evidence": what the standard rests a fault on; null where it has no such fault. */
void fix_evidence_write(struct json_out *out, const struct standard *standard, const char *fault);

#endif
