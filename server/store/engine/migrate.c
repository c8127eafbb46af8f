/* Brings a file up to this program's version: migrations/NNNN_name.sql in order, each in its own transaction together
 * with the version mark, so a file is never between two versions. Opens none of another program or of a newer one. */
#include <stdio.h>
#include <stdlib.h>

#include "store/engine/parts.h"
#include "store/engine/seal.h"

/* The number a name starts with; 0 when it has none. */
static int64_t number_of(const char *name)
{
    return strtoll(name, NULL, 10);
}

int64_t store_migrate_latest(const struct embedded_file *files, size_t count)
{
    int64_t latest = 0;
    for (size_t i = 0; i < count; i++) {
        const int64_t number = number_of(files[i].name);
        latest = number > latest ? number : latest;
    }
    return latest;
}

static enum store_status apply(struct store_db *db, const struct embedded_file *file, int64_t number)
{
    char mark[96];
    (void)snprintf(mark, sizeof mark, "PRAGMA user_version = %lld; PRAGMA application_id = %d;", (long long)number,
                   STORE_APPLICATION_ID);
    enum store_status status = store_db_execute(db, (const char *)file->data);
    if (status == STORE_OK) {
        status = store_db_execute(db, mark);
    }
    int64_t violations = 0;
    if (status == STORE_OK) {
        status = store_db_number(db, "SELECT count(*) FROM pragma_foreign_key_check", &violations);
    }
    return status == STORE_OK && violations > 0 ? STORE_INVALID : status;
}

static enum store_status step(struct store_db *db, const struct embedded_file *file, char *error, size_t error_size)
{
    const int64_t number = number_of(file->name);
    int64_t version = 0;
    enum store_status status = store_db_execute(db, "BEGIN IMMEDIATE");
    if (status != STORE_OK) {
        (void)snprintf(error, error_size, "The file is held by another program: %s.", sqlite3_errmsg(db->handle));
        return status;
    }
    /* Looked at inside the transaction: another process may just have done it. */
    status = store_db_number(db, "PRAGMA user_version", &version);
    if (status == STORE_OK && version < number) {
        status = apply(db, file, number);
    }
    if (status == STORE_OK) {
        status = store_db_execute(db, "COMMIT");
    }
    if (status != STORE_OK) {
        (void)snprintf(error, error_size, "Migration %s failed and was undone: %s.", file->name,
                       sqlite3_errmsg(db->handle));
        if (!sqlite3_get_autocommit(db->handle)) {
            (void)store_db_execute(db, "ROLLBACK");
        }
    }
    return status;
}

enum store_status store_migrate(struct store_db *db, const struct embedded_file *files, size_t count, char *error,
                                size_t error_size)
{
    /* Off while tables may be rebuilt; every step checks all references before it commits. */
    enum store_status status = store_db_execute(db, "PRAGMA foreign_keys = OFF");
    int64_t last = 0;
    for (size_t i = 0; i < count && status == STORE_OK; i++) {
        const int64_t number = number_of(files[i].name);
        if (number <= last) {
            (void)snprintf(error, error_size, "Migration %s is out of order.", files[i].name);
            return STORE_ERROR;
        }
        last = number;
        status = step(db, &files[i], error, error_size);
    }
    if (status == STORE_OK) {
        status = store_db_execute(db, "PRAGMA foreign_keys = ON");
    }
    return status;
}

/* Looks at the file's marks before anything is changed: is it ours (or empty), and not newer than this program? */
static enum store_status recognise(struct store_db *db, char *error, size_t error_size)
{
    int64_t application = 0;
    int64_t version = 0;
    int64_t objects = 0;
    enum store_status status = store_db_number(db, "PRAGMA application_id", &application);
    if (status == STORE_OK) {
        status = store_db_number(db, "PRAGMA user_version", &version);
    }
    if (status == STORE_OK) {
        status = store_db_number(db, "SELECT count(*) FROM sqlite_schema", &objects);
    }
    if (status != STORE_OK) {
        (void)snprintf(error, error_size, "The file can't be read as a club's file: %s.", store_fault(db->handle));
        return status;
    }
    if (application == 0 && version == 0 && objects == 0) {
        return STORE_OK;
    }
    if (application != STORE_APPLICATION_ID) {
        (void)snprintf(error, error_size, "The file belongs to another program.");
        return STORE_INVALID;
    }
    const int64_t latest = store_migrate_latest(embedded_migrations, embedded_migrations_count);
    if (version > latest) {
        (void)snprintf(error, error_size, "The file is newer (version %lld) than this program (version %lld).",
                       (long long)version, (long long)latest);
        return STORE_INVALID;
    }
    if (version >= SEAL_SINCE && !store_db_sealed(db)) {
        (void)snprintf(error, error_size, "The file's first page is damaged.");
        return STORE_CORRUPT;
    }
    return STORE_OK;
}

struct store_db *store_db_open(const char *path, enum store_open_mode mode, int busy_timeout_ms, char *error,
                               size_t error_size)
{
    struct store_db *db = store_db_connect(path, mode, busy_timeout_ms, error, error_size);
    if (db &&
        (recognise(db, error, error_size) != STORE_OK || store_db_prepare(db, mode, error, error_size) != STORE_OK)) {
        store_db_close(db);
        return NULL;
    }
    return db;
}
