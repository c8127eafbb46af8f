/* Calendar feeds. */
#include "store/practice/calendar.h"

#include "store/engine/query.h"

static enum store_status calendar_clear(struct store_db *db, const char *account_id, const char *student_id, bool must)
{
    struct query query;
    query_open(&query, db, CALENDAR_CLEAR);
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
    query_open(&query, db, CALENDAR_MAKE);
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
    query_open(&query, db, CALENDAR_FIND);
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

static enum store_status end(struct store_db *db, enum statement statement, const char *id)
{
    struct query query;
    query_open(&query, db, statement);
    query_text(&query, 1, id);
    return query_run(&query);
}

enum store_status store_calendar_end_account(struct store_db *db, const char *account_id)
{
    return end(db, CALENDAR_END_ACCOUNT, account_id);
}

enum store_status store_calendar_end_taught(struct store_db *db, const char *account_id)
{
    return end(db, CALENDAR_END_TAUGHT, account_id);
}

enum store_status store_calendar_end_student(struct store_db *db, const char *student_id)
{
    return end(db, CALENDAR_END_STUDENT, student_id);
}
