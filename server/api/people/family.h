/* For whom one of the family asks: the student's own things, or those of one of a guardian's juniors; and whose
 * accounts are a coach's to look after. */
#ifndef LEADSIDE_API_PEOPLE_FAMILY_H
#define LEADSIDE_API_PEOPLE_FAMILY_H

#include "api/frame/call.h"
#include "store/people/account.h"

/* The caller is a student or a guardian. wanted: the id the caller names, NULL = none; a student, and a guardian of one
 * junior alone, need not. Fills call->student_id in. False: answered. */
bool family_choose(struct call *call, const char *wanted);

/* Whether an account is this one's of the staff to look after, as things are now: a head's is every account; a coach's
 * the account of an own student, or of a guardian whose juniors are all own students, for whoever looks after it can
 * open everything that it sees. STORE_NOT_FOUND when the account is out of reach, or the coach or head out of use. */
enum store_status family_reach(struct store_db *db, const char *staff_id, const struct store_account *account,
                               struct arena *arena) STORE_CHECKED;

#endif
