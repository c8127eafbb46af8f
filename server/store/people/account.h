/* Who may sign in, and which juniors a guardian stands for. */
#ifndef LEADSIDE_STORE_PEOPLE_ACCOUNT_H
#define LEADSIDE_STORE_PEOPLE_ACCOUNT_H

#include "core/names.h"
#include "store/engine/store.h"

#define STORE_ROLE_NAMES(X)                                                                                            \
    X(STORE_HEAD, "head")                                                                                              \
    X(STORE_COACH, "coach")                                                                                            \
    X(STORE_STUDENT, "student")                                                                                        \
    X(STORE_GUARDIAN, "guardian")

enum store_role { STORE_ROLE_NAMES(NAMES_ENUM) STORE_ROLE_COUNT };

const char *store_role_name(enum store_role value);
bool store_role_parse(const char *name, enum store_role *out);

struct store_account {
    char id[UUID_TEXT];
    enum store_role role;
    const char *name;           /* shown */
    const char *sign_in;        /* as typed when it was made */
    const char *password_hash;  /* libsodium's text; NULL = can't sign in with a password */
    bool password_temporary;    /* somebody else chose it: must be changed */
    char student_id[UUID_TEXT]; /* role student only: whose own account this is */
    int64_t created;
    int64_t disabled; /* since when; 0 = in use */
    int64_t version;
    int64_t last_seen;  /* newest use of its sessions that are kept; 0 = none; read only */
    bool second_factor; /* a code is asked for as well; read only (store/people/second_factor.h) */
};

struct store_account_list {
    struct store_account *items;
    size_t count;
    bool more;
};

/* sign_in_key = the sign-in name as it is compared (case folded by the caller); unique: STORE_CONFLICT. */
enum store_status store_account_insert(struct store_db *db, const struct store_account *account,
                                       const char *sign_in_key) STORE_CHECKED;
enum store_status store_account_get(struct store_db *db, const char *id, struct arena *arena,
                                    struct store_account *out) STORE_CHECKED;
enum store_status store_account_by_sign_in(struct store_db *db, const char *sign_in_key, struct arena *arena,
                                           struct store_account *out) STORE_CHECKED;
/* Oldest first. */
enum store_status store_account_list(struct store_db *db, const struct store_page *page, struct arena *arena,
                                     struct store_account_list *out) STORE_CHECKED;
/* A student's own account and, of a junior, those of the guardians; oldest first, at most STORE_PAGE_MAX. */
enum store_status store_account_family(struct store_db *db, const char *student_id, struct arena *arena,
                                       struct store_account_list *out) STORE_CHECKED;
/* Role, name, disabled. With another role, or out of use, the account's sessions end in the same job, and so do its
 * invitations and feeds and the invitations it made. */
enum store_status store_account_update(struct store_db *db, struct store_account *account) STORE_CHECKED;
/* A new password; ends the account's invitations and feeds. Sessions are left to the caller (store_session_revoke_all).
 * The version stays, or whoever holds the old password could keep the head's change from ever fitting. */
enum store_status store_account_set_password(struct store_db *db, const char *id, const char *password_hash,
                                             bool temporary) STORE_CHECKED;
/* For good, with sessions, invitations, feeds and memberships. What the account did keeps its id; homework it ticked
 * loses even that. */
enum store_status store_account_erase(struct store_db *db, const char *id) STORE_CHECKED;
/* The same password hashed anew: nothing ends. */
enum store_status store_account_rehash(struct store_db *db, const char *id, const char *password_hash) STORE_CHECKED;
/* How many heads are not disabled: the last one must stay. */
enum store_status store_account_count_heads(struct store_db *db, int64_t *out) STORE_CHECKED;

/* The juniors a guardian stands for. Adding twice, or removing one who is not there, is STORE_OK; a change ends the
 * guardian's invitations and feeds. */
enum store_status store_guardian_add(struct store_db *db, const char *account_id, const char *student_id,
                                     int64_t now) STORE_CHECKED;
enum store_status store_guardian_remove(struct store_db *db, const char *account_id,
                                        const char *student_id) STORE_CHECKED;
/* STORE_OK when the guardian stands for the student and the student is a junior still, STORE_NOT_FOUND when not. */
enum store_status store_guardian_may(struct store_db *db, const char *account_id, const char *student_id) STORE_CHECKED;

struct store_id_list {
    char (*items)[UUID_TEXT];
    size_t count;
    bool more;
};
/* The juniors a guardian stands for (at most STORE_PAGE_MAX), oldest first. */
enum store_status store_guardian_students(struct store_db *db, const char *account_id, struct arena *arena,
                                          struct store_id_list *out) STORE_CHECKED;

#endif
