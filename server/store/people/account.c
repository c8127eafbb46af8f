/* Accounts, and which juniors a guardian stands for. */
#include "store/people/account.h"

#include <string.h>

#include "store/engine/query.h"
#include "store/people/invitation.h"
#include "store/people/membership.h"

NAMES(store_role, enum store_role, STORE_ROLE_NAMES);
NAMES_PARSE(store_role, enum store_role, STORE_ROLE_NAMES);

static void read_account(struct query *query, struct arena *arena, void *item)
{
    struct store_account *out = item;
    char role[16];
    *out = (struct store_account){0};
    query_get_id(query, 0, out->id, sizeof out->id);
    query_get_id(query, 1, role, sizeof role);
    out->name = query_get_text(query, 2, arena);
    out->sign_in = query_get_text(query, 3, arena);
    out->password_hash = query_get_text(query, 4, arena);
    out->password_temporary = query_get_integer(query, 5) != 0;
    query_get_id(query, 6, out->student_id, sizeof out->student_id);
    out->created = query_get_integer(query, 7);
    out->disabled = query_get_integer(query, 8);
    out->version = query_get_integer(query, 9);
    out->second_factor = query_get_integer(query, 10) != 0;
    out->last_seen = query_get_integer(query, 11);
    if (!store_role_parse(role, &out->role) && query->status == STORE_OK) {
        query->status = STORE_CORRUPT;
    }
}

static enum store_status find_one(struct store_db *db, enum statement statement, const char *by, struct arena *arena,
                                  struct store_account *out)
{
    struct query query;
    query_open(&query, db, statement);
    query_text(&query, 1, by);
    return query_one(&query, arena, read_account, out);
}

enum store_status store_account_insert(struct store_db *db, const struct store_account *account,
                                       const char *sign_in_key)
{
    struct query query;
    query_open(&query, db, ACCOUNT_INSERT);
    query_text(&query, 1, account->id);
    query_text(&query, 2, store_role_name(account->role));
    query_text(&query, 3, account->name);
    query_text(&query, 4, account->sign_in);
    query_text(&query, 5, sign_in_key);
    query_text(&query, 6, account->password_hash);
    query_integer(&query, 7, account->password_temporary);
    query_id(&query, 8, account->student_id);
    query_integer(&query, 9, account->created);
    query_time(&query, 10, account->disabled);
    return query_run(&query);
}

enum store_status store_account_get(struct store_db *db, const char *id, struct arena *arena, struct store_account *out)
{
    return find_one(db, ACCOUNT_BY_ID, id, arena, out);
}

enum store_status store_account_by_sign_in(struct store_db *db, const char *sign_in_key, struct arena *arena,
                                           struct store_account *out)
{
    return find_one(db, ACCOUNT_BY_SIGN_IN, sign_in_key, arena, out);
}

enum store_status store_account_list(struct store_db *db, const struct store_page *page, struct arena *arena,
                                     struct store_account_list *out)
{
    struct query query;
    query_open(&query, db, ACCOUNT_LIST);
    query_page_after(&query, 1, page);
    query_page_names(&query, 3, page);
    return query_list(&query, arena, page_limit(page), read_account, out);
}

static enum store_status role_changes(struct store_db *db, const struct store_account *account, int64_t *changes)
{
    struct query query;
    query_open(&query, db, ACCOUNT_ROLE_CHANGES);
    query_text(&query, 1, account->id);
    query_text(&query, 2, store_role_name(account->role));
    return query_number(&query, changes);
}

/* What rested on the account as it was. */
static enum store_status end_all(struct store_db *db, const char *id, int64_t now)
{
    struct query query;
    query_open(&query, db, ACCOUNT_END_SESSIONS);
    query_text(&query, 1, id);
    query_integer(&query, 2, now);
    enum store_status status = query_run(&query);
    status = status == STORE_OK ? store_invitation_end_account(db, id) : status;
    return status == STORE_OK ? store_invitation_end_maker(db, id) : status;
}

enum store_status store_account_update(struct store_db *db, struct store_account *account)
{
    struct query query;
    int64_t other_role;
    enum store_status status = role_changes(db, account, &other_role);
    if (status != STORE_OK) {
        return status;
    }
    query_open(&query, db, ACCOUNT_UPDATE);
    query_text(&query, 1, account->id);
    query_text(&query, 2, store_role_name(account->role));
    query_text(&query, 3, account->name);
    query_time(&query, 4, account->disabled);
    query_integer(&query, 5, account->version);
    status = query_run_versioned(&query, ACCOUNT_EXISTS, account->id);
    if (status == STORE_OK && (other_role || account->disabled)) {
        status = end_all(db, account->id, account->disabled ? account->disabled : clock_now_ms());
    }
    account->version += status == STORE_OK;
    return status;
}

enum store_status store_account_set_password(struct store_db *db, const char *id, const char *password_hash,
                                             bool temporary)
{
    struct query query;
    query_open(&query, db, ACCOUNT_SET_PASSWORD);
    query_text(&query, 1, id);
    query_text(&query, 2, password_hash);
    query_integer(&query, 3, temporary);
    const enum store_status status = query_run_one(&query);
    return status == STORE_OK ? store_invitation_end_account(db, id) : status;
}

enum store_status store_account_rehash(struct store_db *db, const char *id, const char *password_hash)
{
    struct query query;
    query_open(&query, db, ACCOUNT_REHASH);
    query_text(&query, 1, id);
    query_text(&query, 2, password_hash);
    return query_run_one(&query);
}

enum store_status store_account_count_heads(struct store_db *db, int64_t *out)
{
    struct query query;
    query_open(&query, db, ACCOUNT_COUNT_HEADS);
    return query_number(&query, out);
}

enum store_status store_account_family(struct store_db *db, const char *student_id, struct arena *arena,
                                       struct store_account_list *out)
{
    struct query query;
    query_open_all(&query, db, ACCOUNT_FAMILY, student_id);
    return query_list(&query, arena, STORE_PAGE_MAX, read_account, out);
}

enum store_status store_guardian_add(struct store_db *db, const char *account_id, const char *student_id, int64_t now)
{
    const enum store_status status = membership_add(db, ACCOUNT_GUARDIAN_ADD, account_id, student_id, now);
    return status == STORE_OK && sqlite3_changes64(db->handle) > 0 ? store_invitation_end_account(db, account_id)
                                                                   : status;
}

enum store_status store_guardian_remove(struct store_db *db, const char *account_id, const char *student_id)
{
    const enum store_status status = membership_remove(db, ACCOUNT_GUARDIAN_REMOVE, account_id, student_id);
    return status == STORE_OK && sqlite3_changes64(db->handle) > 0 ? store_invitation_end_account(db, account_id)
                                                                   : status;
}

enum store_status store_guardian_may(struct store_db *db, const char *account_id, const char *student_id)
{
    return membership_may(db, ACCOUNT_GUARDIAN_MAY, account_id, student_id);
}

enum store_status store_guardian_students(struct store_db *db, const char *account_id, struct arena *arena,
                                          struct store_id_list *out)
{
    return membership_list(db, ACCOUNT_GUARDIAN_STUDENTS, account_id, arena, out);
}
