/* Invitations into accounts. */
#include "store/people/invitation.h"

#include "store/engine/query.h"
#include "store/practice/calendar.h"

/* Runs a statement about this id. */
static enum store_status end(struct store_db *db, enum statement statement, const char *id)
{
    struct query query;
    query_open(&query, db, statement);
    query_text(&query, 1, id);
    return query_run(&query);
}

enum store_status store_invitation_make(struct store_db *db, const struct store_invitation *invitation,
                                        const uint8_t token_hash[STORE_HASH])
{
    struct query query;
    const enum store_status status = end(db, INVITATION_MAKE_CLEAR, invitation->account_id);
    if (status != STORE_OK) {
        return status;
    }
    query_open(&query, db, INVITATION_MAKE);
    query_bytes(&query, 1, token_hash, STORE_HASH);
    query_text(&query, 2, invitation->account_id);
    query_text(&query, 3, invitation->made_by);
    query_integer(&query, 4, invitation->created);
    query_integer(&query, 5, invitation->expires);
    return query_run(&query);
}

enum store_status store_invitation_find(struct store_db *db, const uint8_t token_hash[STORE_HASH], int64_t now,
                                        struct store_invitation *out)
{
    struct query query;
    query_open(&query, db, INVITATION_FIND);
    query_bytes(&query, 1, token_hash, STORE_HASH);
    query_integer(&query, 2, now);
    enum store_status status = query_row(&query);
    if (status == STORE_OK) {
        query_get_id(&query, 0, out->account_id, sizeof out->account_id);
        query_get_id(&query, 1, out->made_by, sizeof out->made_by);
        out->created = query_get_integer(&query, 2);
        out->expires = query_get_integer(&query, 3);
        status = query.status;
    }
    query_close(&query);
    return status;
}

enum store_status store_invitation_use(struct store_db *db, const uint8_t token_hash[STORE_HASH], int64_t now)
{
    struct store_invitation invitation;
    struct query query;
    const enum store_status status = store_invitation_find(db, token_hash, now, &invitation);
    if (status != STORE_OK) {
        return status;
    }
    query_open(&query, db, INVITATION_USE);
    query_bytes(&query, 1, token_hash, STORE_HASH);
    query_integer(&query, 2, now);
    return query_run_one(&query);
}

enum store_status store_invitation_purge(struct store_db *db, int64_t before)
{
    struct query query;
    query_open(&query, db, INVITATION_PURGE);
    query_integer(&query, 1, before);
    return query_run(&query);
}

/* ---- ending ---- */

enum store_status store_invitation_end_account(struct store_db *db, const char *account_id)
{
    const enum store_status status = end(db, INVITATION_MAKE_CLEAR, account_id);
    return status == STORE_OK ? store_calendar_end_account(db, account_id) : status;
}

enum store_status store_invitation_end_maker(struct store_db *db, const char *account_id)
{
    const enum store_status status = end(db, INVITATION_END_MADE, account_id);
    return status == STORE_OK ? store_calendar_end_taught(db, account_id) : status;
}

enum store_status store_invitation_end_student(struct store_db *db, const char *student_id)
{
    const enum store_status status = end(db, INVITATION_END_STUDENT, student_id);
    return status == STORE_OK ? store_calendar_end_student(db, student_id) : status;
}
