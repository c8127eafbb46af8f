/* Signed-in sessions, known only by the hash of their token. */
#ifndef LEADSIDE_STORE_PEOPLE_SESSION_H
#define LEADSIDE_STORE_PEOPLE_SESSION_H

#include "store/people/account.h"

enum store_session_kind { STORE_BEARER, STORE_COOKIE };

struct store_session {
    char id[UUID_TEXT];
    char account_id[UUID_TEXT];
    char device_id[UUID_TEXT]; /* "" = not on a club's tablet */
    enum store_session_kind kind;
    int64_t created, last_seen;
    int64_t expires;      /* whatever happens */
    int64_t idle_ms;      /* ends when unused for so long */
    int64_t revoked;      /* 0 = not */
    int64_t confirmed_at; /* when whoever uses it last proved who that is; 0 = never */
};

struct store_session_list {
    struct store_session *items;
    size_t count;
    bool more;
};

/* Everything a request needs to know about its caller. No memory of its own. */
struct store_session_identity {
    char session_id[UUID_TEXT];
    char account_id[UUID_TEXT];
    char student_id[UUID_TEXT]; /* role student: self; otherwise "" */
    char device_id[UUID_TEXT];
    enum store_role role;
    enum store_session_kind kind;
    bool password_temporary;
    int64_t created, last_seen, expires;
    int64_t confirmed_at;
};

enum store_status store_session_insert(struct store_db *db, const struct store_session *session,
                                       const uint8_t token_hash[STORE_HASH]) STORE_CHECKED;
/* One statement. STORE_NOT_FOUND also when expired, idle too long, revoked, the account disabled or the device revoked.
 */
enum store_status store_session_find(struct store_db *db, const uint8_t token_hash[STORE_HASH], int64_t now,
                                     struct store_session_identity *out) STORE_CHECKED;
/* The same of a session that was found before: does it still stand, and whose is it now? */
enum store_status store_session_find_id(struct store_db *db, const char *id, int64_t now,
                                        struct store_session_identity *out) STORE_CHECKED;
/* STORE_OK while it could be used: for a job whose request was let in a moment ago. */
enum store_status store_session_standing(struct store_db *db, const char *id, int64_t now) STORE_CHECKED;
/* Marks it used. Call seldom (when last_seen is a minute old): it is a write. */
enum store_status store_session_touch(struct store_db *db, const char *id, int64_t now) STORE_CHECKED;
/* Whoever uses it has proved who that is. STORE_NOT_FOUND when it is over. */
enum store_status store_session_confirm(struct store_db *db, const char *id, int64_t now) STORE_CHECKED;
/* Sessions that could still be used, newest first, at most STORE_PAGE_MAX. */
enum store_status store_session_list(struct store_db *db, const char *account_id, int64_t now, struct arena *arena,
                                     struct store_session_list *out) STORE_CHECKED;
/* One of the account's own; STORE_NOT_FOUND when it is somebody else's. */
enum store_status store_session_revoke(struct store_db *db, const char *account_id, const char *id,
                                       int64_t now) STORE_CHECKED;
/* All of an account's but `except` (NULL = none spared). */
enum store_status store_session_revoke_all(struct store_db *db, const char *account_id, const char *except,
                                           int64_t now) STORE_CHECKED;
/* The session of this token, whosever; none is STORE_OK too. */
enum store_status store_session_revoke_token(struct store_db *db, const uint8_t token_hash[STORE_HASH],
                                             int64_t now) STORE_CHECKED;
enum store_status store_session_revoke_device(struct store_db *db, const char *device_id, int64_t now) STORE_CHECKED;
/* Forgets sessions that expired before `before`; at most 500 at a time. removed may be NULL. */
enum store_status store_session_purge(struct store_db *db, int64_t before, int64_t *removed) STORE_CHECKED;

#endif
