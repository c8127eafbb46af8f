/* Proof that a file is sound: its pages, its schema, its references, and what must always hold between its rows. */
#include "store/engine/check.h"

#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "store/engine/internal.h"
#include "store/people/ledger_replay.h"

enum {
    PAGES,
    REFERENCES,
    SCHEMA,
    SAME_SCHEMA,
    NO_REPORT,
    LESSON_OTHER,
    HOMEWORK_OTHER,
    BASELINE_OTHER,
    LOST_ANSWER,
    NO_CONSENT,
    NO_HISTORY,
    NO_AUDIT_ACCOUNT,
    NO_AUDIT_STUDENT,
    NO_AUDIT_FIX,
    UPLOADER,
    READING,
    MAP,
    DOCUMENTS,
    STILLS,
    STATEMENTS
};
#define WHOLE "/* whole: a check looks at everything */ "
#define UNAUDITED(table)                                                                                               \
    WHOLE "SELECT t.id FROM " table                                                                                    \
          " AS t WHERE NOT EXISTS (SELECT 1 FROM audit AS a WHERE a.object_id = t.id) LIMIT 20"

static const char *const sql[STATEMENTS] = {
    [PAGES] = WHOLE "SELECT integrity_check FROM pragma_integrity_check(20) WHERE integrity_check <> 'ok'",
    [REFERENCES] = WHOLE "SELECT DISTINCT \"table\" || ' to ' || parent FROM pragma_foreign_key_check LIMIT 20",
    [SCHEMA] = WHOLE "SELECT name, sql FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY name",
    [SAME_SCHEMA] = WHOLE "SELECT 1 FROM sqlite_schema WHERE name = ?1 AND sql = ?2",
    [NO_REPORT] =
        WHOLE "SELECT s.id FROM swing AS s WHERE NOT EXISTS (SELECT 1 FROM report AS r WHERE r.swing_id = s.id) "
              "LIMIT 20",
    [LESSON_OTHER] = WHOLE "SELECT s.id FROM swing AS s CROSS JOIN lesson AS l ON l.id = s.lesson_id "
                           "WHERE l.student_id <> s.student_id LIMIT 20",
    [HOMEWORK_OTHER] = WHOLE "SELECT h.id FROM homework AS h CROSS JOIN fix AS f ON f.id = h.fix_id "
                             "WHERE f.student_id <> h.student_id LIMIT 20",
    [BASELINE_OTHER] = WHOLE "SELECT f.id FROM fix AS f LEFT JOIN swing AS s ON s.id = f.baseline_swing "
                             "LEFT JOIN lesson AS l ON l.id = f.baseline_lesson WHERE s.student_id <> f.student_id "
                             "OR l.student_id <> f.student_id LIMIT 20",
    [LOST_ANSWER] = WHOLE "WITH held (kind, id) AS ("
                          "SELECT 'swing', id FROM swing UNION ALL SELECT 'student', id FROM student UNION ALL "
                          "SELECT 'lesson', id FROM lesson UNION ALL SELECT 'fix', id FROM fix UNION ALL "
                          "SELECT 'drill', id FROM drill UNION ALL SELECT 'account', id FROM account UNION ALL "
                          "SELECT 'homework', id FROM homework UNION ALL "
                          "SELECT 'homework_done', id FROM homework_done UNION ALL "
                          "SELECT 'note', id FROM note UNION ALL SELECT 'device', id FROM device) "
                          "SELECT i.key FROM idempotency AS i WHERE i.object_id IS NOT NULL "
                          "AND i.object_kind IN ('swing', 'student', 'lesson', 'fix', 'drill', 'account', "
                          "'homework', 'homework_done', 'note', 'device') AND NOT EXISTS "
                          "(SELECT 1 FROM held AS o WHERE o.kind = i.object_kind AND o.id = i.object_id) LIMIT 20",
    [NO_CONSENT] = WHOLE "SELECT s.id FROM student AS s WHERE " SQL_JUNIOR " AND NOT EXISTS "
                         "(SELECT 1 FROM consent WHERE student_id = s.id AND scope = 'store_pictures') AND EXISTS "
                         "(SELECT 1 FROM swing AS w WHERE w.student_id = s.id) LIMIT 20",
    [NO_HISTORY] =
        WHOLE "SELECT f.id FROM fix AS f WHERE NOT EXISTS (SELECT 1 FROM fix_event AS e WHERE e.fix_id = f.id "
              "AND e.status = f.status) LIMIT 20",
    [NO_AUDIT_ACCOUNT] = UNAUDITED("account"),
    [NO_AUDIT_STUDENT] = UNAUDITED("student"),
    [NO_AUDIT_FIX] = UNAUDITED("fix"),
    [UPLOADER] =
        WHOLE "SELECT s.id FROM swing AS s WHERE NOT EXISTS (SELECT 1 FROM account AS a WHERE a.id = s.uploaded_by) "
              "AND NOT EXISTS (SELECT 1 FROM ended AS e WHERE e.kind = 'account' AND e.object_id = s.uploaded_by) "
              "LIMIT 20",
    [READING] = WHOLE "SELECT id FROM swing WHERE reading IS NOT NULL AND (NOT json_valid(reading) "
                      "OR json_extract(reading, '$.schema') IS NOT 'leadside.reading/1') LIMIT 20",
    [MAP] = WHOLE "SELECT number FROM marker_map WHERE NOT json_valid(json) "
                  "OR json_extract(json, '$.schema') IS NOT 'leadside.markers/1' LIMIT 20",
    [DOCUMENTS] = WHOLE "SELECT id, document_hash, document FROM swing",
    [STILLS] = WHOLE "SELECT id, picture_hash, picture FROM still",
};
const struct store_statements store_check_statements = {"check", sql, STATEMENTS};

/* Each row of the statement is one finding: what stands before and after its first column. */
static const struct {
    int statement;
    const char *before, *after;
} rules[] = {
    {PAGES, "The file is damaged: ", "."},
    {REFERENCES, "A reference leads nowhere: ", "."},
    {NO_REPORT, "Swing ", " has no report."},
    {LESSON_OTHER, "Swing ", " is in a lesson of another student."},
    {HOMEWORK_OTHER, "Homework ", " belongs to a fix of another student."},
    {BASELINE_OTHER, "Fix ", " is compared with a swing or lesson of another student."},
    {LOST_ANSWER, "The kept answer for key ", " names a row that does not exist."},
    {NO_CONSENT, "Junior ", " has swings but no recorded consent."},
    {NO_HISTORY, "Fix ", " has no history of its state."},
    {NO_AUDIT_ACCOUNT, "Account ", " has no audit row."},
    {NO_AUDIT_STUDENT, "Student ", " has no audit row."},
    {NO_AUDIT_FIX, "Fix ", " has no audit row."},
    {READING, "What stands beside the marker file of swing ", " can't be read."},
    {MAP, "Marker map ", " can't be read."},
    {UPLOADER, "Swing ", " was sent by an account that does not exist."},
};

struct findings {
    store_finding_fn tell;
    void *context;
    int count;
};

static void find(struct findings *findings, const char *before, const char *what, const char *after)
{
    char sentence[512];
    (void)snprintf(sentence, sizeof sentence, "%s%s%s", before, what ? what : "?", after);
    findings->count++;
    if (findings->tell) {
        findings->tell(findings->context, sentence);
    }
}

static void check_failed(struct store_db *db, struct findings *findings, enum store_status status)
{
    if (status == STORE_CORRUPT) {
        find(findings, "The file is damaged: ", store_fault(db->handle), ".");
    } else if (status != STORE_NOT_FOUND) {
        find(findings, "A check could not be made: ", store_fault(db->handle), ".");
    }
}

static void check_rules(struct store_db *db, struct findings *findings)
{
    for (size_t i = 0; i < sizeof rules / sizeof rules[0]; i++) {
        struct query query;
        enum store_status status;
        query_open(&query, db, STATEMENTS_CHECK, rules[i].statement);
        while ((status = query_row(&query)) == STORE_OK) {
            find(findings, rules[i].before, (const char *)sqlite3_column_text(query.statement, 0), rules[i].after);
        }
        check_failed(db, findings, status);
        query_close(&query);
    }
}

/* Is everything that is kept byte for byte (id, hash, bytes) what it was when it came? */
static void check_bytes(struct store_db *db, struct findings *findings, int statement, const char *before)
{
    struct query query;
    enum store_status status;
    int told = 0;
    query_open(&query, db, STATEMENTS_CHECK, statement);
    while ((status = query_row(&query)) == STORE_OK && told < 20) {
        uint8_t kept[STORE_HASH];
        uint8_t now[crypto_hash_sha256_BYTES];
        query_get_hash(&query, 1, kept);
        const void *document = sqlite3_column_blob(query.statement, 2);
        const int size = sqlite3_column_bytes(query.statement, 2);
        (void)crypto_hash_sha256(now, document ? document : (const void *)"", (unsigned long long)size);
        if (query.status != STORE_OK || memcmp(kept, now, sizeof kept) != 0) {
            query.status = STORE_OK;
            find(findings, before, (const char *)sqlite3_column_text(query.statement, 0), " is not what was received.");
            told++;
        }
    }
    check_failed(db, findings, status == STORE_OK ? STORE_NOT_FOUND : status);
    query_close(&query);
}

/* Compares the schema with a fresh one. What others added to the file is left alone. */
static void check_schema(struct store_db *db, struct findings *findings)
{
    char error[256];
    struct store_db *fresh = store_db_open(":memory:", STORE_OPEN_WRITER, 0, error, sizeof error);
    if (!fresh ||
        store_migrate(fresh, embedded_migrations, embedded_migrations_count, error, sizeof error) != STORE_OK) {
        find(findings, "The schema could not be compared: ", error, "");
        store_db_close(fresh);
        return;
    }
    struct query expected;
    enum store_status status;
    query_open(&expected, fresh, STATEMENTS_CHECK, SCHEMA);
    while ((status = query_row(&expected)) == STORE_OK) {
        const char *name = (const char *)sqlite3_column_text(expected.statement, 0);
        struct query same;
        query_open(&same, db, STATEMENTS_CHECK, SAME_SCHEMA);
        query_text(&same, 1, name);
        query_text(&same, 2, (const char *)sqlite3_column_text(expected.statement, 1));
        if (query_row(&same) != STORE_OK) {
            find(findings, "The table or index ", name, " is missing or altered.");
        }
        query_close(&same);
    }
    check_failed(fresh, findings, status);
    query_close(&expected);
    store_db_close(fresh);
}

static void find_returned(void *context, const char *kind, const char *id)
{
    char before[64];
    (void)snprintf(before, sizeof before, "A restore brought back what was ended, %s ", kind);
    find(context, before, id, ": starting the server ends it again.");
}

/* Does the ledger beside the file know of an erasure that the file doesn't? */
static void check_ledger(struct store_db *db, const char *directory, struct findings *findings)
{
    char error[256] = "";
    struct ledger *ledger = ledger_open(directory, true, error, sizeof error);
    if (ledger && store_ledger_compare(db, ledger, find_returned, findings, error, sizeof error) != STORE_OK &&
        error[0] == '\0') {
        (void)snprintf(error, sizeof error, "The ledger of erasures could not be compared: %s.",
                       store_fault(db->handle));
    }
    if (error[0] != '\0') {
        find(findings, "", error, "");
    }
    ledger_close(ledger);
}

/* Is it a file of this program's version, and can it be read at all? */
static bool readable(struct store_db *db, char *error, size_t error_size)
{
    const int64_t latest = store_migrate_latest(embedded_migrations, embedded_migrations_count);
    int64_t version = 0;
    if (store_read_begin(db) != STORE_OK || store_db_number(db, "PRAGMA user_version", &version) != STORE_OK) {
        (void)snprintf(error, error_size, "The file can't be read: %s.", store_fault(db->handle));
        return false;
    }
    if (version != latest) {
        (void)snprintf(error, error_size,
                       "The file is older (version %lld) than this program (version %lld): start the server once.",
                       (long long)version, (long long)latest);
    }
    return version == latest;
}

int store_check(const char *directory, store_finding_fn finding, void *context, char *error, size_t error_size)
{
    struct findings findings = {.tell = finding, .context = context};
    char path[4096];
    const int length = snprintf(path, sizeof path, "%s/%s", directory, STORE_FILE);
    if (length < 0 || (size_t)length >= sizeof path) {
        (void)snprintf(error, error_size, "The directory's name is too long.");
        return -1;
    }
    struct store_db *db = store_db_open(path, STORE_OPEN_READER, 5000, error, error_size);
    if (!db) {
        return -1;
    }
    if (!readable(db, error, error_size)) {
        store_db_close(db);
        return -1;
    }
    check_schema(db, &findings);
    check_rules(db, &findings);
    check_bytes(db, &findings, DOCUMENTS, "The document of swing ");
    check_bytes(db, &findings, STILLS, "The picture of still ");
    check_ledger(db, directory, &findings);
    store_read_end(db);
    store_db_close(db);
    return findings.count;
}
