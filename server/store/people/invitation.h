/* Invitations: one-time links into accounts. Each opens by a token whose hash alone is kept. */
#ifndef LEADSIDE_STORE_PEOPLE_INVITATION_H
#define LEADSIDE_STORE_PEOPLE_INVITATION_H

#include "store/people/account.h"

struct store_invitation {
    char account_id[UUID_TEXT];
    char made_by[UUID_TEXT];
    int64_t created, expires;
};

/* Takes the place of the account's older invitation. */
enum store_status store_invitation_make(struct store_db *db, const struct store_invitation *invitation,
                                        const uint8_t token_hash[STORE_HASH]) STORE_CHECKED;
/* An invitation that still counts: whom it leads to, and who made it. STORE_NOT_FOUND: never made, used, replaced,
 * ended, expired, or the account is disabled. Whether the maker might still make it is the caller's to ask. */
enum store_status store_invitation_find(struct store_db *db, const uint8_t token_hash[STORE_HASH], int64_t now,
                                        struct store_invitation *out) STORE_CHECKED;
/* Ends it; STORE_NOT_FOUND unless store_invitation_find would find it, so that one of two takers gets nothing. */
enum store_status store_invitation_use(struct store_db *db, const uint8_t token_hash[STORE_HASH],
                                       int64_t now) STORE_CHECKED;
/* Forgets those that expired before `before`. */
enum store_status store_invitation_purge(struct store_db *db, int64_t before) STORE_CHECKED;

/* Invitations and feeds end with what they rested on. The store calls these itself wherever a password, a role, a team
 * or a guardian's juniors change, so that no caller can forget to. */

/* The account's own: its password, its role or its juniors have changed, or it is out of use. */
enum store_status store_invitation_end_account(struct store_db *db, const char *account_id) STORE_CHECKED;
/* Every invitation this account has made, and the feeds of the students it taught. */
enum store_status store_invitation_end_maker(struct store_db *db, const char *account_id) STORE_CHECKED;
/* Invitations into the accounts of a student and of the student's guardians, and the student's feeds: a coach has left,
 * or the student is about to be erased. */
enum store_status store_invitation_end_student(struct store_db *db, const char *student_id) STORE_CHECKED;

#endif
