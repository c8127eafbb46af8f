/* Brings a file up to this program's version: migrations/NNNN_name.sql in order, each in its own transaction together
 * with the version mark, so a file is never between two versions. */
#include <stdio.h>
#include <stdlib.h>

#include "store/engine/internal.h"

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
