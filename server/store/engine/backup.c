/* A copy of a file in use: taken inside one read transaction, so writers go on; checked and flushed before it gets its
 * name. */
#include <errno.h>
#include <fcntl.h>
#include <libgen.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/cipher.h"
#include "store/engine/check.h"
#include "store/engine/parts.h"
#include "store/engine/seal.h"

static enum store_status copy_pages(struct store_db *from, const char *to, char *error, size_t error_size)
{
    sqlite3 *copy = NULL;
    /* An older file, not sealed yet, is copied as it is. */
    const bool sealed = store_db_sealed(from);
    int code = sqlite3_open_v2(to, &copy, SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX, sealed ? SEAL_VFS : NULL);
    if (code == SQLITE_OK) {
        sqlite3_backup *backup = sqlite3_backup_init(copy, "main", from->handle, "main");
        code = sqlite3_errcode(copy);
        if (backup) {
            /* All in one step: one moment's state, and nothing a writer does can restart it. */
            (void)sqlite3_backup_step(backup, -1);
            code = sqlite3_backup_finish(backup);
        }
    }
    /* One file alone, not one with a log beside it. */
    if (code == SQLITE_OK) {
        code = sqlite3_exec(copy, "PRAGMA journal_mode = DELETE", NULL, NULL, NULL);
    }
    if (code == SQLITE_OK && sealed) {
        code = sqlite3_exec(copy, store_statements[LEDGER_MARK_COPY].sql, NULL, NULL, NULL);
    }
    if (code != SQLITE_OK) {
        (void)snprintf(error, error_size, "The copy failed: %s.",
                       sqlite3_errcode(from->handle) == SQLITE_OK ? store_fault(copy) : store_fault(from->handle));
    }
    sqlite3_close(copy);
    return store_status_of(code);
}

enum store_status store_prove(const char *path, char *error, size_t error_size)
{
    int64_t damage = 0;
    int64_t references = 0;
    struct store_db *db = store_db_open(path, STORE_OPEN_READER, 0, error, error_size);
    if (!db) {
        return STORE_CORRUPT;
    }
    enum store_status status =
        store_db_number(db, "SELECT count(*) FROM pragma_integrity_check(1) WHERE integrity_check <> 'ok'", &damage);
    if (status == STORE_OK) {
        status = store_db_number(db, "SELECT count(*) FROM pragma_foreign_key_check", &references);
    }
    store_db_close(db);
    if (status == STORE_OK && damage + references > 0) {
        status = STORE_CORRUPT;
    }
    if (status != STORE_OK) {
        (void)snprintf(error, error_size, "The copy is not sound: the file itself may be damaged.");
    }
    return status;
}

static bool flush(const char *path, int flags)
{
    const int file = open(path, flags | O_CLOEXEC);
    const bool flushed = file >= 0 && fsync(file) == 0;
    if (file >= 0) {
        close(file);
    }
    return flushed;
}

bool store_put_in_place(const char *part, const char *file, char *error, size_t error_size)
{
    char folder[4096];
    (void)snprintf(folder, sizeof folder, "%s", file);
    if (!flush(part, O_RDWR) || rename(part, file) != 0 || !flush(dirname(folder), O_RDONLY | O_DIRECTORY)) {
        (void)snprintf(error, error_size, "%s can't be put in place: %s.", file, strerror(errno));
        return false;
    }
    return true;
}

static bool same_file(const char *a, const char *b)
{
    struct stat first;
    struct stat second;
    return stat(a, &first) == 0 && stat(b, &second) == 0 && first.st_dev == second.st_dev &&
           first.st_ino == second.st_ino;
}

/* A device, a pipe or a link of that name is not ours to replace. */
static bool may_replace(const char *file, char *error, size_t error_size)
{
    struct stat status;
    if (lstat(file, &status) != 0) {
        if (errno != ENOENT) {
            (void)snprintf(error, error_size, "%s can't be looked at: %s.", file, strerror(errno));
        }
        return errno == ENOENT;
    }
    if (!S_ISREG(status.st_mode)) {
        (void)snprintf(error, error_size, "%s is no ordinary file and is left as it is.", file);
    }
    return S_ISREG(status.st_mode);
}

/* Copies what db holds to part, which must not be there, and proves it. */
static enum store_status copy_to(struct store_db *db, const char *part, char *error, size_t error_size)
{
    const int made = open(part, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (made < 0) {
        (void)snprintf(error, error_size, "%s can't be written: %s.", part, strerror(errno));
        return STORE_ERROR;
    }
    close(made);
    const enum store_status status = copy_pages(db, part, error, error_size);
    return status == STORE_OK ? store_prove(part, error, error_size) : status;
}

static enum store_status encrypt(const char *plain, const char *part, const uint8_t *key, char *error,
                                 size_t error_size)
{
    const int from = open(plain, O_RDONLY | O_CLOEXEC);
    const int to = open(part, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    enum cipher_status status = from < 0 ? CIPHER_READ : to < 0 ? CIPHER_WRITE : cipher_write(from, to, key);
    /* Read again from its beginning: a copy that can't be taken back is none. */
    if (status == CIPHER_OK) {
        status = lseek(to, 0, SEEK_SET) == 0 ? cipher_read(to, -1, key) : CIPHER_READ;
    }
    if (status != CIPHER_OK) {
        (void)snprintf(error, error_size, "The copy can't be encrypted: %s %s.", part, cipher_fault(status));
    }
    if (from >= 0) {
        close(from);
    }
    if (to >= 0) {
        close(to);
    }
    return status == CIPHER_OK ? STORE_OK : STORE_ERROR;
}

/* By way of a plain copy beside the club's file, as well kept as that is: nothing readable ever lies where the copy
 * goes. One at a time; what one that was ended in the middle left is taken away by the next. */
static enum store_status copy_encrypted(struct store_db *db, const char *plain, const char *part, const uint8_t *key,
                                        char *error, size_t error_size)
{
    char log[4096 + 8];
    (void)snprintf(log, sizeof log, "%s-journal", plain);
    (void)unlink(plain);
    (void)unlink(log);
    enum store_status status = copy_to(db, plain, error, error_size);
    if (status == STORE_OK) {
        status = encrypt(plain, part, key, error, error_size);
    }
    (void)unlink(plain);
    return status;
}

/* Holds the directory against another backup; it is held otherwise by the server. */
static enum store_status copy_alone(struct store_db *db, const char *directory, const char *part, const uint8_t *key,
                                    char *error, size_t error_size)
{
    char plain[4096];
    const int length = snprintf(plain, sizeof plain, "%s/%s.copying", directory, STORE_FILE);
    const int folder = open(directory, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    enum store_status status = STORE_BUSY;
    if (length < 0 || (size_t)length >= sizeof plain || folder < 0 || flock(folder, LOCK_EX | LOCK_NB) != 0) {
        (void)snprintf(error, error_size, "%s: another encrypted copy is being made.", directory);
    } else {
        status = copy_encrypted(db, plain, part, key, error, error_size);
    }
    if (folder >= 0) {
        close(folder);
    }
    return status;
}

enum store_status store_backup(const char *directory, const char *file, const uint8_t *key, char *error,
                               size_t error_size)
{
    char path[4096];
    char part[4096];
    const int length = snprintf(path, sizeof path, "%s/%s", directory, STORE_FILE);
    const int part_length = snprintf(part, sizeof part, "%s.part-%ld", file, (long)getpid());
    if (length < 0 || (size_t)length >= sizeof path || part_length < 0 || (size_t)part_length >= sizeof part) {
        (void)snprintf(error, error_size, "A name is too long.");
        return STORE_INVALID;
    }
    if (same_file(path, file)) {
        (void)snprintf(error, error_size, "The copy would replace the club's file itself.");
        return STORE_INVALID;
    }
    if (!may_replace(file, error, error_size)) {
        return STORE_INVALID;
    }
    struct store_db *db = store_db_open(path, STORE_OPEN_READER, 5000, error, error_size);
    if (!db) {
        return STORE_ERROR;
    }
    enum store_status status =
        key == NULL ? copy_to(db, part, error, error_size) : copy_alone(db, directory, part, key, error, error_size);
    store_db_close(db);
    if (status == STORE_OK && !store_put_in_place(part, file, error, error_size)) {
        status = STORE_ERROR;
    }
    if (status != STORE_OK) {
        (void)unlink(part);
    }
    return status;
}
