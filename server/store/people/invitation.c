/* Invitations and calendar feeds. */
#include "store/people/invitation.h"

#include "store/engine/query.h"

enum store_status store_invitation_make(struct store_db *db, const struct store_invitation *invitation,
                                        const uint8_t token_hash[STORE_HASH])
{
    struct query query;
    query_open(&query, db, INVITATION_MAKE_CLEAR);
    query_text(&query, 1, invitation->account_id);
    const enum store_status status = query_run(&query);
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

/* ---- calendars ---- */

static enum store_status calendar_clear(struct store_db *db, const char *account_id, const char *student_id, bool must)
{
    struct query query;
    query_open(&query, db, INVITATION_CALENDAR_CLEAR);
    query_text(&query, 1, account_id);
    query_text(&query, 2, student_id);
    return must ? query_run_one(&query) : query_run(&query);
}

enum store_status store_calendar_make(struct store_db *db, const struct store_calendar *calendar,
                                      const uint8_t token_hash[STORE_HASH])
{
    struct query query;
    const enum store_status status = calendar_clear(db, calendar->account_id, calendar->student_id, false);
    if (status != STORE_OK) {
        return status;
    }
    query_open(&query, db, INVITATION_CALENDAR_MAKE);
    query_bytes(&query, 1, token_hash, STORE_HASH);
    query_text(&query, 2, calendar->account_id);
    query_text(&query, 3, calendar->student_id);
    query_integer(&query, 4, calendar->created);
    return query_run(&query);
}

enum store_status store_calendar_find(struct store_db *db, const uint8_t token_hash[STORE_HASH],
                                      struct store_calendar *out)
{
    struct query query;
    query_open(&query, db, INVITATION_CALENDAR_FIND);
    query_bytes(&query, 1, token_hash, STORE_HASH);
    enum store_status status = query_row(&query);
    if (status == STORE_OK) {
        query_get_id(&query, 0, out->account_id, sizeof out->account_id);
        query_get_id(&query, 1, out->student_id, sizeof out->student_id);
        out->created = query_get_integer(&query, 2);
        status = query.status;
    }
    query_close(&query);
    return status;
}

enum store_status store_calendar_remove(struct store_db *db, const char *account_id, const char *student_id)
{
    return calendar_clear(db, account_id, student_id, true);
}

/* ---- ending ---- */

static enum store_status end_two(struct store_db *db, enum statement first, enum statement second, const char *id)
{
    const enum statement steps[] = {first, second};
    enum store_status status = STORE_OK;
    for (size_t i = 0; status == STORE_OK && i < sizeof steps / sizeof steps[0]; i++) {
        struct query query;
        query_open(&query, db, steps[i]);
        query_text(&query, 1, id);
        status = query_run(&query);
    }
    return status;
}

enum store_status store_invitation_end_account(struct store_db *db, const char *account_id)
{
    return end_two(db, INVITATION_MAKE_CLEAR, INVITATION_END_FEEDS, account_id);
}

enum store_status store_invitation_end_maker(struct store_db *db, const char *account_id)
{
    return end_two(db, INVITATION_END_MADE, INVITATION_END_TAUGHT, account_id);
}

enum store_status store_invitation_end_student(struct store_db *db, const char *student_id)
{
    return end_two(db, INVITATION_END_STUDENT, INVITATION_END_STUDENT_FEEDS, student_id);
}
