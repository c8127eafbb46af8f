/* Proof that a file is sound: its pages, its schema, its references, and what must always hold between its rows. */
#include "store/engine/check.h"

#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "store/engine/ledger_file.h"
#include "store/engine/parts.h"
#include "store/engine/query.h"

/* Each row of the statement is one finding: what stands before and after its first column. */
static const struct {
    enum statement statement;
    const char *before, *after;
} rules[] = {
    {CHECK_PAGES, "The file is damaged: ", "."},
    {CHECK_REFERENCES, "A reference leads nowhere: ", "."},
    {CHECK_NO_REPORT, "Swing ", " has no report."},
    {CHECK_LESSON_OTHER, "Swing ", " is in a lesson of another student."},
    {CHECK_HOMEWORK_OTHER, "Homework ", " belongs to a fix of another student."},
    {CHECK_BASELINE_OTHER, "Fix ", " is compared with a swing or lesson of another student."},
    {CHECK_LOST_ANSWER, "The kept answer for key ", " names a row that does not exist."},
    {CHECK_NO_CONSENT, "Junior ", " has swings but no recorded consent."},
    {CHECK_NO_HISTORY, "Fix ", " has no history of its state."},
    {CHECK_NO_AUDIT, "", " has no audit row."},
    {CHECK_TALLY, "What is counted of coach ", " is not what is there."},
    {CHECK_STANDARD_TALLY, "What is counted of standard ", " is not how many swings it has judged."},
    {CHECK_READING, "What stands beside the marker file of swing ", " can't be read."},
    {CHECK_MAP, "Marker map ", " can't be read."},
    {CHECK_REPORTS, "Report ", " is not what was kept."},
    {CHECK_LOST_REVISION, "Swing ", " has lost a former document."},
    {CHECK_UPLOADER, "Swing ", " was sent by an account that does not exist."},
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
        query_open(&query, db, rules[i].statement);
        while ((status = query_row(&query)) == STORE_OK) {
            find(findings, rules[i].before, (const char *)sqlite3_column_text(query.statement, 0), rules[i].after);
        }
        check_failed(db, findings, status);
        query_close(&query);
    }
}

/* Is everything that is kept byte for byte (id, hash, bytes) what it was when it came? */
static void check_bytes(struct store_db *db, struct findings *findings, enum statement statement, const char *before)
{
    struct query query;
    enum store_status status;
    int told = 0;
    query_open(&query, db, statement);
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
    query_open(&expected, fresh, CHECK_SCHEMA);
    while ((status = query_row(&expected)) == STORE_OK) {
        const char *name = (const char *)sqlite3_column_text(expected.statement, 0);
        struct query same;
        query_open(&same, db, CHECK_SAME_SCHEMA);
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
    check_bytes(db, &findings, CHECK_DOCUMENTS, "The document of swing ");
    check_bytes(db, &findings, CHECK_REVISIONS, "A former document of swing ");
    check_bytes(db, &findings, CHECK_STILLS, "The picture of still ");
    check_ledger(db, directory, &findings);
    store_read_end(db);
    store_db_close(db);
    return findings.count;
}
