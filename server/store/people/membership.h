/* Memberships of an account with a student: a coach on a team, a guardian of a junior. The tables differ, the way of
 * asking does not. Statements bind the account, the student and, where one is added, the time. Private to the store. */
#ifndef LEADSIDE_STORE_PEOPLE_MEMBERSHIP_H
#define LEADSIDE_STORE_PEOPLE_MEMBERSHIP_H

#include "store/engine/query.h"
#include "store/people/account.h"

enum store_status membership_add(struct store_db *db, enum statement statement, const char *account_id,
                                 const char *student_id, int64_t now) STORE_CHECKED;
enum store_status membership_remove(struct store_db *db, enum statement statement, const char *account_id,
                                    const char *student_id) STORE_CHECKED;
/* STORE_OK when there is one, STORE_NOT_FOUND when not. */
enum store_status membership_may(struct store_db *db, enum statement statement, const char *account_id,
                                 const char *student_id) STORE_CHECKED;
/* The ids on the other side of one id, at most STORE_PAGE_MAX. */
enum store_status membership_list(struct store_db *db, enum statement statement, const char *id, struct arena *arena,
                                  struct store_id_list *out) STORE_CHECKED;

#endif
