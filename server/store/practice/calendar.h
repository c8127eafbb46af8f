/* Calendar feeds: what is to be done, for a student's or a guardian's own calendar. Each opens by a token whose hash
 * alone is kept. */
#ifndef LEADSIDE_STORE_PRACTICE_CALENDAR_H
#define LEADSIDE_STORE_PRACTICE_CALENDAR_H

#include "store/engine/store.h"

struct store_calendar {
    char account_id[UUID_TEXT], student_id[UUID_TEXT];
    int64_t created;
};

/* Takes the place of the feed that this account has for this student. */
enum store_status store_calendar_make(struct store_db *db, const struct store_calendar *calendar,
                                      const uint8_t token_hash[STORE_HASH]) STORE_CHECKED;
/* STORE_NOT_FOUND also when the account may no longer see the student: disabled, no longer standing for the student, or
 * the student grown up. */
enum store_status store_calendar_find(struct store_db *db, const uint8_t token_hash[STORE_HASH],
                                      struct store_calendar *out) STORE_CHECKED;
enum store_status store_calendar_remove(struct store_db *db, const char *account_id,
                                        const char *student_id) STORE_CHECKED;
/* Feeds end with what they rested on, as invitations do, and at the same moments (store/people/invitation.h calls
 * these): the account's own; those of the students whom this coach teaches; the student's. */
enum store_status store_calendar_end_account(struct store_db *db, const char *account_id) STORE_CHECKED;
enum store_status store_calendar_end_taught(struct store_db *db, const char *account_id) STORE_CHECKED;
enum store_status store_calendar_end_student(struct store_db *db, const char *student_id) STORE_CHECKED;

#endif
