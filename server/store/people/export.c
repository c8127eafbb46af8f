/* Everything held on one student. A table that gains a reference to a student must gain a statement here: a test
 * compares this register with the schema. */
#include "store/people/export.h"

#include "store/engine/internal.h"

enum {
    STUDENT,
    CONSENT,
    ACCOUNT,
    SESSION,
    SECOND_FACTOR,
    GUARDIAN,
    TEAM,
    LESSON,
    SWING,
    REPORT,
    LOOK,
    STILL,
    FIX,
    FIX_EVENT,
    HOMEWORK,
    HOMEWORK_DONE,
    INBOX,
    NOTE,
    AUDIT,
    IDEMPOTENCY,
    ACCOUNT_LINK,
    CALENDAR,
    STATEMENTS
};
#define OWN_SWINGS "(SELECT id FROM swing WHERE student_id = ?1)"
#define OWN_FIXES "(SELECT id FROM fix WHERE student_id = ?1)"

static const char *const sql[STATEMENTS] = {
    [STUDENT] = "SELECT id, name, hand, sex, birth_date, birth_year, height_m, handicap, tendencies, pain, pain_note, "
                "wants, " SQL_JUNIOR " AS junior, created, archived FROM student AS s WHERE id = ?1",
    [CONSENT] = "SELECT id, scope, as_junior, said_by, recorded_by, given_at, expires, withdrawn_at, withdrawn_by "
                "FROM consent WHERE student_id = ?1 ORDER BY scope, id",
    [ACCOUNT] = "SELECT id, role, name, sign_in, created, disabled FROM account WHERE student_id = ?1",
    [SESSION] = "SELECT s.id, s.kind, s.device_id, s.created, s.last_seen, s.expires, s.confirmed_at, s.revoked FROM "
                "account AS a "
                "CROSS JOIN session AS s ON s.account_id = a.id WHERE a.student_id = ?1 ORDER BY s.id",
    [SECOND_FACTOR] = "SELECT f.account_id, f.started, f.confirmed, (SELECT count(*) FROM recovery_code AS r WHERE "
                      "r.account_id = f.account_id) AS recovery_codes_left FROM account AS a CROSS JOIN second_factor "
                      "AS f ON f.account_id = a.id WHERE a.student_id = ?1",
    [GUARDIAN] =
        "SELECT g.account_id, a.name, g.created FROM guardian AS g CROSS JOIN account AS a ON a.id = g.account_id "
        "WHERE g.student_id = ?1 ORDER BY g.account_id",
    [TEAM] = "SELECT t.account_id, a.name, t.created FROM team AS t CROSS JOIN account AS a ON a.id = t.account_id "
             "WHERE t.student_id = ?1 ORDER BY t.account_id",
    [LESSON] =
        "SELECT id, coach, held_at, created, iif(?2, note, NULL) AS note FROM lesson WHERE student_id = ?1 ORDER BY id",
    [SWING] = "SELECT id, lesson_id, uploaded_by, recorded_at, received_at, media_type, reading AS reading_json, "
              "iif(media_type = 'application/json', document, NULL) AS document_json, "
              "iif(media_type = 'application/json', NULL, document) AS file FROM swing "
              "WHERE student_id = ?1 ORDER BY id",
    [REPORT] = "SELECT r.id, r.swing_id, r.lesson_id, r.standard, r.created, r.json AS report_json FROM report AS r "
               "WHERE r.swing_id IN " OWN_SWINGS
               " OR r.lesson_id IN (SELECT id FROM lesson WHERE student_id = ?1) ORDER BY r.number",
    [LOOK] = "SELECT id, swing_id, account_id, created, json AS look_json FROM look WHERE swing_id IN " OWN_SWINGS
             " ORDER BY id",
    [STILL] = "SELECT t.id, t.swing_id, t.view, t.checkpoint, t.media_type, t.width, t.height, t.put_by, t.created, "
              "t.picture_size, '/v1/swings/' || t.swing_id || '/stills/' || t.view || '-' || t.checkpoint AS address "
              "FROM swing AS w CROSS JOIN still AS t ON t.swing_id = w.id WHERE w.student_id = ?1 "
              "AND (SELECT " SQL_PICTURES " FROM student AS s " SQL_CONSENT_PICTURES "WHERE s.id = ?1) ORDER BY w.id",
    [FIX] = "SELECT id, fault, opened_by, opened_at, status, ended_at, reason, iif(?2, overrule, NULL) AS overrule, "
            "waits, iif(?2, together, NULL) AS together, baseline_swing, baseline_lesson "
            "FROM fix WHERE student_id = ?1 ORDER BY id",
    [FIX_EVENT] =
        "SELECT fix_id, at, account_id, status, reason FROM fix_event WHERE fix_id IN " OWN_FIXES " ORDER BY number",
    [HOMEWORK] =
        "SELECT id, fix_id, drill_id, sessions_per_week, minutes, self_check_every, retest_at, iif(?2, "
        "confirmed, NULL) AS confirmed, word_pain, paused_at, paused_area, paused_level, resumed_at, resumed_by, "
        "iif(?2, resumed_reason, NULL) AS resumed_reason, "
        "assigned_by, created, ended FROM homework WHERE student_id = ?1 ORDER BY id",
    [HOMEWORK_DONE] = "SELECT id, homework_id, done_at, account_id, comment, passed, passed_of, pain_area, "
                      "pain_level FROM homework_done WHERE homework_id IN "
                      "(SELECT id FROM homework WHERE student_id = ?1) ORDER BY id",
    [INBOX] = "SELECT i.id, i.kind, i.done_id, i.urgent, i.created, (SELECT group_concat(account_id) FROM inbox_seen "
              "WHERE inbox_id = i.id) AS seen_by FROM inbox AS i WHERE i.student_id = ?1 ORDER BY i.urgent, i.id",
    [NOTE] = "SELECT id, author, text, readers, created FROM note WHERE student_id = ?1 AND (?2 OR readers & ?3) ORDER "
             "BY id",
    [AUDIT] = "SELECT id, at, account_id, action, object_kind, object_id, detail AS detail_json FROM audit "
              "WHERE student_id = ?1 AND ?2 ORDER BY id",
    [IDEMPOTENCY] = "SELECT principal, key, route, status, created, response AS response_json FROM idempotency "
                    "WHERE student_id = ?1 AND ?2 ORDER BY created",
    [ACCOUNT_LINK] = "SELECT l.account_id, l.made_by, l.created, l.expires FROM account AS a CROSS JOIN account_link "
                     "AS l ON l.account_id = a.id WHERE a.student_id = ?1",
    [CALENDAR] = "SELECT account_id, student_id, created FROM calendar WHERE student_id = ?1 ORDER BY account_id",
};
const struct store_statements store_export_statements = {"export", sql, STATEMENTS};

static const char *const tables[STATEMENTS] = {
    [STUDENT] = "student",
    [CONSENT] = "consent",
    [ACCOUNT] = "account",
    [SESSION] = "session",
    [SECOND_FACTOR] = "second_factor",
    [GUARDIAN] = "guardian",
    [TEAM] = "team",
    [LESSON] = "lesson",
    [SWING] = "swing",
    [REPORT] = "report",
    [LOOK] = "look",
    [STILL] = "still",
    [FIX] = "fix",
    [FIX_EVENT] = "fix_event",
    [HOMEWORK] = "homework",
    [HOMEWORK_DONE] = "homework_done",
    [INBOX] = "inbox",
    [NOTE] = "note",
    [AUDIT] = "audit",
    [IDEMPOTENCY] = "idempotency",
    [ACCOUNT_LINK] = "account_link",
    [CALENDAR] = "calendar",
};

const char *store_export_table(int statement)
{
    return tables[statement];
}

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
static enum store_status export_table(struct store_db *db, int table, const char *student_id, bool with_private,
                                      unsigned readers, store_export_fn row, void *context)
{
    struct query query;
    bool any = false;
    query_open(&query, db, STATEMENTS_EXPORT, table);
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
        status = row(context, tables[table], fields, (size_t)count);
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
    for (int table = 0; table < STATEMENTS; table++) {
        const enum store_status status = export_table(db, table, student_id, with_private, readers, row, context);
        if (status != STORE_OK && (status != STORE_NOT_FOUND || table == STUDENT)) {
            return status;
        }
    }
    return STORE_OK;
}
