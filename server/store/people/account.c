/* Accounts and guardian links. */
#include "store/people/account.h"

#include <string.h>

#include "store/engine/internal.h"
#include "store/people/link.h"
#include "store/people/membership.h"

#define COLUMNS                                                                                                        \
    "SELECT id, role, name, sign_in, password_hash, password_temporary, student_id, created, disabled, version, "      \
    "EXISTS (SELECT 1 FROM second_factor AS f WHERE f.account_id = account.id AND f.confirmed IS NOT NULL) "           \
    "FROM account "

enum {
    INSERT,
    GET,
    BY_SIGN_IN,
    LIST,
    UPDATE,
    EXISTS,
    ROLE,
    END_SESSIONS,
    SET_PASSWORD,
    REHASH,
    COUNT_HEADS,
    LINK,
    UNLINK,
    MAY,
    STUDENTS,
    STATEMENTS
};
static const char *const sql[STATEMENTS] = {
    [INSERT] =
        "INSERT INTO account (id, role, name, sign_in, sign_in_key, password_hash, password_temporary, student_id, "
        "created, disabled) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)",
    [GET] = COLUMNS "WHERE id = ?1",
    [BY_SIGN_IN] = COLUMNS "WHERE sign_in_key = ?1",
    [LIST] = COLUMNS "WHERE id > ?1 ORDER BY id LIMIT ?2",
    [UPDATE] = "UPDATE account SET role = ?2, name = ?3, disabled = ?4, version = version + 1 "
               "WHERE id = ?1 AND version = ?5",
    [EXISTS] = "SELECT 1 FROM account WHERE id = ?1",
    [ROLE] = "SELECT role FROM account WHERE id = ?1",
    [END_SESSIONS] = "UPDATE session SET revoked = ?2 WHERE account_id = ?1 AND revoked IS NULL",
    [SET_PASSWORD] = "UPDATE account SET password_hash = ?2, password_temporary = ?3 WHERE id = ?1",
    [REHASH] = "UPDATE account SET password_hash = ?2 WHERE id = ?1",
    [COUNT_HEADS] = "SELECT count(*) FROM account WHERE role = 'head' AND disabled IS NULL",
    [LINK] = "INSERT INTO guardian (account_id, student_id, created) VALUES (?1, ?2, ?3) "
             "ON CONFLICT (account_id, student_id) DO NOTHING",
    [UNLINK] = "DELETE FROM guardian WHERE account_id = ?1 AND student_id = ?2",
    [MAY] = "SELECT 1 FROM guardian AS g JOIN student AS s ON s.id = g.student_id AND " SQL_JUNIOR
            " WHERE g.account_id = ?1 AND g.student_id = ?2",
    [STUDENTS] = "SELECT g.student_id FROM guardian AS g JOIN student AS s ON s.id = g.student_id AND " SQL_JUNIOR
                 " WHERE g.account_id = ?1 ORDER BY g.student_id LIMIT ?2",
};
const struct store_statements store_account_statements = {"account", sql, STATEMENTS};

static const char *const role_names[STORE_ROLE_COUNT] = {"head", "coach", "student", "guardian"};

const char *store_role_name(enum store_role role)
{
    return (unsigned)role < STORE_ROLE_COUNT ? role_names[role] : "unknown";
}

bool store_role_parse(const char *name, enum store_role *out)
{
    for (int role = 0; role < STORE_ROLE_COUNT; role++) {
        if (name && strcmp(name, role_names[role]) == 0) {
            *out = (enum store_role)role;
            return true;
        }
    }
    return false;
}

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
    if (!store_role_parse(role, &out->role) && query->status == STORE_OK) {
        query->status = STORE_CORRUPT;
    }
}

static enum store_status find_one(struct store_db *db, int statement, const char *by, struct arena *arena,
                                  struct store_account *out)
{
    struct query query;
    query_open(&query, db, STATEMENTS_ACCOUNT, statement);
    query_text(&query, 1, by);
    enum store_status status = query_row(&query);
    if (status == STORE_OK) {
        read_account(&query, arena, out);
        status = query.status;
    }
    query_close(&query);
    return status;
}

enum store_status store_account_insert(struct store_db *db, const struct store_account *account,
                                       const char *sign_in_key)
{
    struct query query;
    query_open(&query, db, STATEMENTS_ACCOUNT, INSERT);
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
    return find_one(db, GET, id, arena, out);
}

enum store_status store_account_by_sign_in(struct store_db *db, const char *sign_in_key, struct arena *arena,
                                           struct store_account *out)
{
    return find_one(db, BY_SIGN_IN, sign_in_key, arena, out);
}

enum store_status store_account_list(struct store_db *db, const struct store_page *page, struct arena *arena,
                                     struct store_account_list *out)
{
    struct query query;
    struct query_items items;
    query_open(&query, db, STATEMENTS_ACCOUNT, LIST);
    query_text(&query, 1, page_after(page));
    query_integer(&query, 2, page_limit(page) + 1);
    const enum store_status status =
        query_list(&query, arena, page_limit(page), sizeof(struct store_account), read_account, &items);
    *out = (struct store_account_list){items.items, items.count, items.more};
    return status;
}

static enum store_status role_changes(struct store_db *db, const struct store_account *account, bool *changes)
{
    struct query query;
    char role[16];
    query_open(&query, db, STATEMENTS_ACCOUNT, ROLE);
    query_text(&query, 1, account->id);
    enum store_status status = query_row(&query);
    if (status == STORE_OK) {
        query_get_id(&query, 0, role, sizeof role);
        status = query.status;
        *changes = status == STORE_OK && strcmp(role, store_role_name(account->role)) != 0;
    }
    query_close(&query);
    return status;
}

/* What rested on the account as it was. */
static enum store_status end_all(struct store_db *db, const char *id, int64_t now)
{
    struct query query;
    query_open(&query, db, STATEMENTS_ACCOUNT, END_SESSIONS);
    query_text(&query, 1, id);
    query_integer(&query, 2, now);
    enum store_status status = query_run(&query);
    status = status == STORE_OK ? store_link_end_account(db, id) : status;
    return status == STORE_OK ? store_link_end_maker(db, id) : status;
}

enum store_status store_account_update(struct store_db *db, struct store_account *account)
{
    struct query query;
    bool other_role = false;
    enum store_status status = role_changes(db, account, &other_role);
    if (status != STORE_OK) {
        return status;
    }
    query_open(&query, db, STATEMENTS_ACCOUNT, UPDATE);
    query_text(&query, 1, account->id);
    query_text(&query, 2, store_role_name(account->role));
    query_text(&query, 3, account->name);
    query_time(&query, 4, account->disabled);
    query_integer(&query, 5, account->version);
    status = query_run_versioned(&query, STATEMENTS_ACCOUNT, EXISTS, account->id);
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
    query_open(&query, db, STATEMENTS_ACCOUNT, SET_PASSWORD);
    query_text(&query, 1, id);
    query_text(&query, 2, password_hash);
    query_integer(&query, 3, temporary);
    const enum store_status status = query_run_one(&query);
    return status == STORE_OK ? store_link_end_account(db, id) : status;
}

enum store_status store_account_rehash(struct store_db *db, const char *id, const char *password_hash)
{
    struct query query;
    query_open(&query, db, STATEMENTS_ACCOUNT, REHASH);
    query_text(&query, 1, id);
    query_text(&query, 2, password_hash);
    return query_run_one(&query);
}

enum store_status store_account_count_heads(struct store_db *db, int64_t *out)
{
    struct query query;
    query_open(&query, db, STATEMENTS_ACCOUNT, COUNT_HEADS);
    const enum store_status status = query_row(&query);
    *out = status == STORE_OK ? query_get_integer(&query, 0) : 0;
    query_close(&query);
    return status;
}

enum store_status store_guardian_link(struct store_db *db, const char *account_id, const char *student_id, int64_t now)
{
    const enum store_status status = membership_add(db, STATEMENTS_ACCOUNT, LINK, account_id, student_id, now);
    return status == STORE_OK && sqlite3_changes64(db->handle) > 0 ? store_link_end_account(db, account_id) : status;
}

enum store_status store_guardian_unlink(struct store_db *db, const char *account_id, const char *student_id)
{
    const enum store_status status = membership_remove(db, STATEMENTS_ACCOUNT, UNLINK, account_id, student_id);
    return status == STORE_OK && sqlite3_changes64(db->handle) > 0 ? store_link_end_account(db, account_id) : status;
}

enum store_status store_guardian_may(struct store_db *db, const char *account_id, const char *student_id)
{
    return membership_may(db, STATEMENTS_ACCOUNT, MAY, account_id, student_id);
}

enum store_status store_guardian_students(struct store_db *db, const char *account_id, struct arena *arena,
                                          struct store_id_list *out)
{
    return membership_list(db, STATEMENTS_ACCOUNT, STUDENTS, account_id, arena, out);
}
