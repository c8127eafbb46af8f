/* Sessions: looked up on every request by one statement, touched seldom, ended in several ways. */
#include "store/people/session.h"

#include <string.h>

#include "store/engine/query.h"

static enum store_session_kind kind_of(const char *name)
{
    return strcmp(name, "cookie") == 0 ? STORE_COOKIE : STORE_BEARER;
}

enum store_status store_session_insert(struct store_db *db, const struct store_session *session,
                                       const uint8_t token_hash[STORE_HASH])
{
    struct query query;
    query_open(&query, db, SESSION_INSERT);
    query_bytes(&query, 1, token_hash, STORE_HASH);
    query_text(&query, 2, session->id);
    query_text(&query, 3, session->account_id);
    query_id(&query, 4, session->device_id);
    query_text(&query, 5, session->kind == STORE_COOKIE ? "cookie" : "bearer");
    query_integer(&query, 6, session->created);
    query_integer(&query, 7, session->last_seen);
    query_integer(&query, 8, session->expires);
    query_integer(&query, 9, session->idle_ms);
    query_time(&query, 10, session->revoked);
    query_time(&query, 11, session->confirmed_at);
    return query_run(&query);
}

/* Ends the query. */
static enum store_status read_identity(struct query *query, int64_t now, struct store_session_identity *out)
{
    query_integer(query, 2, now);
    enum store_status status = query_row(query);
    if (status == STORE_OK) {
        char role[16];
        char kind[16];
        *out = (struct store_session_identity){0};
        query_get_id(query, 0, out->session_id, sizeof out->session_id);
        query_get_id(query, 1, out->account_id, sizeof out->account_id);
        query_get_id(query, 2, out->student_id, sizeof out->student_id);
        query_get_id(query, 3, out->device_id, sizeof out->device_id);
        query_get_id(query, 4, role, sizeof role);
        query_get_id(query, 5, kind, sizeof kind);
        out->kind = kind_of(kind);
        out->password_temporary = query_get_integer(query, 6) != 0;
        out->created = query_get_integer(query, 7);
        out->last_seen = query_get_integer(query, 8);
        out->expires = query_get_integer(query, 9);
        out->confirmed_at = query_get_integer(query, 10);
        status = store_role_parse(role, &out->role) ? query->status : STORE_CORRUPT;
    }
    query_close(query);
    return status;
}

enum store_status store_session_find(struct store_db *db, const uint8_t token_hash[STORE_HASH], int64_t now,
                                     struct store_session_identity *out)
{
    struct query query;
    query_open(&query, db, SESSION_FIND);
    query_bytes(&query, 1, token_hash, STORE_HASH);
    return read_identity(&query, now, out);
}

enum store_status store_session_find_id(struct store_db *db, const char *id, int64_t now,
                                        struct store_session_identity *out)
{
    struct query query;
    query_open(&query, db, SESSION_FIND_ID);
    query_text(&query, 1, id);
    return read_identity(&query, now, out);
}

enum store_status store_session_standing(struct store_db *db, const char *id, int64_t now)
{
    struct query query;
    query_open(&query, db, SESSION_STANDING);
    query_text(&query, 1, id);
    query_integer(&query, 2, now);
    return query_exists(&query);
}

enum store_status store_session_touch(struct store_db *db, const char *id, int64_t now)
{
    struct query query;
    query_open(&query, db, SESSION_TOUCH);
    query_text(&query, 1, id);
    query_integer(&query, 2, now);
    return query_run_one(&query);
}

enum store_status store_session_confirm(struct store_db *db, const char *id, int64_t now)
{
    struct query query;
    query_open(&query, db, SESSION_CONFIRM);
    query_text(&query, 1, id);
    query_integer(&query, 2, now);
    return query_run_one(&query);
}

static void read_session(struct query *query, struct arena *arena, void *item)
{
    struct store_session *out = item;
    char kind[16];
    (void)arena;
    *out = (struct store_session){0};
    query_get_id(query, 0, out->id, sizeof out->id);
    query_get_id(query, 1, out->account_id, sizeof out->account_id);
    query_get_id(query, 2, out->device_id, sizeof out->device_id);
    query_get_id(query, 3, kind, sizeof kind);
    out->kind = kind_of(kind);
    out->created = query_get_integer(query, 4);
    out->last_seen = query_get_integer(query, 5);
    out->expires = query_get_integer(query, 6);
    out->idle_ms = query_get_integer(query, 7);
    out->revoked = query_get_integer(query, 8);
}

enum store_status store_session_list(struct store_db *db, const char *account_id, int64_t now, struct arena *arena,
                                     struct store_session_list *out)
{
    struct query query;
    query_open(&query, db, SESSION_LIST);
    query_text(&query, 1, account_id);
    query_integer(&query, 2, now);
    query_integer(&query, 3, STORE_PAGE_MAX);
    return query_list(&query, arena, STORE_PAGE_MAX, read_session, out);
}

enum store_status store_session_revoke(struct store_db *db, const char *account_id, const char *id, int64_t now)
{
    struct query query;
    query_open(&query, db, SESSION_REVOKE);
    query_text(&query, 1, account_id);
    query_text(&query, 2, id);
    query_integer(&query, 3, now);
    return query_run_one(&query);
}

enum store_status store_session_revoke_all(struct store_db *db, const char *account_id, const char *except, int64_t now)
{
    struct query query;
    query_open(&query, db, SESSION_REVOKE_ALL);
    query_text(&query, 1, account_id);
    query_text(&query, 2, except ? except : "");
    query_integer(&query, 3, now);
    return query_run(&query);
}

enum store_status store_session_revoke_token(struct store_db *db, const uint8_t token_hash[STORE_HASH], int64_t now)
{
    struct query query;
    query_open(&query, db, SESSION_REVOKE_TOKEN);
    query_bytes(&query, 1, token_hash, STORE_HASH);
    query_integer(&query, 2, now);
    return query_run(&query);
}

enum store_status store_session_revoke_device(struct store_db *db, const char *device_id, int64_t now)
{
    struct query query;
    query_open(&query, db, SESSION_REVOKE_DEVICE);
    query_text(&query, 1, device_id);
    query_integer(&query, 2, now);
    return query_run(&query);
}

enum store_status store_session_purge(struct store_db *db, int64_t before, int64_t *removed)
{
    struct query query;
    query_open(&query, db, SESSION_PURGE);
    query_integer(&query, 1, before);
    const enum store_status status = query_run(&query);
    if (removed) {
        *removed = status == STORE_OK ? sqlite3_changes64(db->handle) : 0;
    }
    return status;
}
