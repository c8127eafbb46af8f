/* Everything held on one student. A table that gains a reference to a student must gain a statement here: a test
 * compares this register with the schema. */
#include "store/people/export.h"

#include "store/engine/query.h"

static const struct {
    enum statement statement;
    const char *table;
} tables[] = {
    {EXPORT_STUDENT, "student"},
    {EXPORT_CONSENT, "consent"},
    {EXPORT_CONSENT_REQUEST, "consent_request"},
    {EXPORT_ACCOUNT, "account"},
    {EXPORT_SESSION, "session"},
    {EXPORT_SECOND_FACTOR, "second_factor"},
    {EXPORT_GUARDIAN, "guardian"},
    {EXPORT_TEAM, "team"},
    {EXPORT_HANDOVER, "handover"},
    {EXPORT_LESSON, "lesson"},
    {EXPORT_SWING, "swing"},
    {EXPORT_SWING_EDIT, "swing_edit"},
    {EXPORT_REVISION, "revision"},
    {EXPORT_REPORT, "report"},
    {EXPORT_LOOK, "look"},
    {EXPORT_STILL, "still"},
    {EXPORT_FIX, "fix"},
    {EXPORT_FIX_EVENT, "fix_event"},
    {EXPORT_RETEST, "retest"},
    {EXPORT_HOMEWORK, "homework"},
    {EXPORT_HOMEWORK_DONE, "homework_done"},
    {EXPORT_ROUND, "round"},
    {EXPORT_INBOX, "inbox"},
    {EXPORT_NOTE, "note"},
    {EXPORT_AUDIT, "audit"},
    {EXPORT_IDEMPOTENCY, "idempotency"},
    {EXPORT_ACCOUNT_LINK, "account_link"},
    {EXPORT_CALENDAR, "calendar"},
};
#define TABLES (sizeof tables / sizeof tables[0])

#define FIELDS_MAX 64 /* columns of one statement; more of them is a fault that fails the export */

static struct store_field field_of(sqlite3_stmt *row, int column)
{
    struct store_field field = {.name = sqlite3_column_name(row, column)};
    switch (sqlite3_column_type(row, column)) {
    case SQLITE_INTEGER:
        field.kind = STORE_FIELD_INTEGER;
        field.integer = sqlite3_column_int64(row, column);
        break;
    case SQLITE_FLOAT:
        field.kind = STORE_FIELD_REAL;
        field.real = sqlite3_column_double(row, column);
        break;
    case SQLITE_TEXT:
        field.kind = STORE_FIELD_TEXT;
        field.text = (const char *)sqlite3_column_text(row, column);
        field.size = (size_t)sqlite3_column_bytes(row, column);
        break;
    case SQLITE_BLOB:
        field.kind = STORE_FIELD_BLOB;
        field.text = sqlite3_column_blob(row, column);
        field.size = (size_t)sqlite3_column_bytes(row, column);
        break;
    default:
        field.kind = STORE_FIELD_NULL;
        break;
    }
    return field;
}

/* STORE_NOT_FOUND when the table held nothing. */
static enum store_status export_table(struct store_db *db, size_t table, const char *student_id, bool with_private,
                                      unsigned readers, store_export_fn row, void *context)
{
    struct query query;
    bool any = false;
    query_open(&query, db, tables[table].statement);
    query_text(&query, 1, student_id);
    if (query.statement && sqlite3_bind_parameter_count(query.statement) > 1) {
        query_integer(&query, 2, with_private);
    }
    if (query.statement && sqlite3_bind_parameter_count(query.statement) > 2) {
        query_integer(&query, 3, readers);
    }
    enum store_status status;
    while ((status = query_row(&query)) == STORE_OK) {
        struct store_field fields[FIELDS_MAX];
        const int count = sqlite3_column_count(query.statement);
        if (count > FIELDS_MAX) {
            query_close(&query);
            return STORE_ERROR;
        }
        for (int i = 0; i < count; i++) {
            fields[i] = field_of(query.statement, i);
        }
        any = true;
        status = row(context, tables[table].table, fields, (size_t)count);
        if (status != STORE_OK) {
            query_close(&query);
            return status == STORE_NOT_FOUND ? STORE_ERROR : status;
        }
    }
    query_close(&query);
    return status == STORE_NOT_FOUND && any ? STORE_OK : status;
}

enum store_status store_export_student(struct store_db *db, const char *student_id, bool with_private, unsigned readers,
                                       store_export_fn row, void *context)
{
    for (size_t table = 0; table < TABLES; table++) {
        const enum store_status status = export_table(db, table, student_id, with_private, readers, row, context);
        if (status != STORE_OK && (status != STORE_NOT_FOUND || tables[table].statement == EXPORT_STUDENT)) {
            return status;
        }
    }
    return STORE_OK;
}
