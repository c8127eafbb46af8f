/* What opening and changing a fix share: two are open and two drills run at most, the other coaches are told, and the
 * answer is the fix as it then stands. All of it runs in a write's job. */
#ifndef LEADSIDE_API_PRACTICE_FIX_TWO_H
#define LEADSIDE_API_PRACTICE_FIX_TWO_H

#include "api/frame/call.h"
#include "store/practice/fix.h"

#define FIX_DRILLS_MAX                                                                                                 \
    2 /* our choice: of 15 people over 67 those with two exercises did them better than those                          \
       * with eight, with five no different from either (Henry et al. 1999) */
#define FIX_REASON_MAX 2000

/* The fix of this id, read anew, as the write's answer. */
enum store_status fix_two_answer(struct store_db *db, struct write *write, const char *id, int status) STORE_CHECKED;

/* Says why the store took no more: its fault is open already, or two are. */
enum store_status fix_two_refuse(struct store_db *db, struct write *write, const struct store_fix *fix) STORE_CHECKED;

/* Two fixes together are given only as many drills as one: those of the coach's own list must fit, others are left out
 * (*count goes down). STORE_INVALID: refused. */
enum store_status fix_two_fit(struct store_db *db, struct write *write, const char *student_id, int *count,
                              bool may_leave_out) STORE_CHECKED;

/* Tells the student's other coaches of a fix. kind: "fix_conflict", "fix_changed". */
enum store_status fix_two_tell(struct store_db *db, const struct write *write, const struct store_fix *fix,
                               const char *kind) STORE_CHECKED;

#endif
