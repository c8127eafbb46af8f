/* Older files get their seals: the whole file is written anew beside itself (which also leaves every old copy of a row
 * behind), proved, and takes the old one's name in one step. A crash at any moment leaves one or the other. */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/statvfs.h>
#include <unistd.h>

#include "store/engine/parts.h"
#include "store/engine/seal.h"

#define SPARE_BYTES (16 << 20) /* room left on the disk beside the new file */

bool store_seal_needed(const char *path)
{
    enum { USER_VERSION = 60 };
    unsigned char header[SEAL_READ_ALL];
    const int file = open(path, O_RDONLY | O_CLOEXEC);
    const ssize_t count = file >= 0 ? read(file, header, sizeof header) : -1;
    if (file >= 0) {
        close(file);
    }
    if (count != (ssize_t)sizeof header || seal_page_size(header) == 0 || seal_in_header(header)) {
        return false;
    }
    /* From SEAL_SINCE on a header without seals is a damaged one: opening the file says so. */
    const unsigned char *at = header + USER_VERSION;
    return at[0] == 0 && at[1] == 0 && at[2] == 0 && at[3] < SEAL_SINCE;
}

/* Nobody else may have the file open from here on: what they wrote would be lost with the old file. */
static enum store_status hold_alone(struct store_db *db, char *error, size_t error_size)
{
    int64_t alone = 0;
    enum store_status status = store_db_execute(db, "PRAGMA query_only = OFF; PRAGMA journal_mode = DELETE;");
    if (status == STORE_OK) {
        status = store_db_number(db, "SELECT journal_mode = 'delete' FROM pragma_journal_mode", &alone);
    }
    if (status == STORE_OK && alone) {
        status = store_db_execute(db, "PRAGMA locking_mode = EXCLUSIVE; BEGIN EXCLUSIVE; COMMIT;");
    }
    if (status != STORE_OK || !alone) {
        (void)snprintf(error, error_size,
                       "The file can't be brought to this version while another program has it open: %s.",
                       store_fault(db->handle));
        return status == STORE_OK ? STORE_BUSY : status;
    }
    return STORE_OK;
}

static enum store_status enough_room(const char *path, const struct stat *old, char *error, size_t error_size)
{
    struct statvfs disk;
    if (statvfs(path, &disk) != 0) {
        (void)snprintf(error, error_size, "%s can't be looked at: %s.", path, strerror(errno));
        return STORE_ERROR;
    }
    const uint64_t free_bytes = (uint64_t)disk.f_bavail * disk.f_frsize;
    const uint64_t wanted = (uint64_t)old->st_size + SPARE_BYTES;
    if (free_bytes < wanted) {
        (void)snprintf(
            error, error_size,
            "The file must be written anew once and the disk has no room for it: %llu MiB are needed, %llu MiB "
            "are free. Nothing was changed.",
            (unsigned long long)(wanted >> 20), (unsigned long long)(free_bytes >> 20));
        return STORE_FULL;
    }
    return STORE_OK;
}

/* The new file belongs to whom the old one did, whoever runs this. */
static enum store_status make_part(const char *part, const struct stat *old, char *error, size_t error_size)
{
    (void)unlink(part); /* what a crash left */
    const int file = open(part, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    const bool same_owner = file >= 0 && ((old->st_uid == geteuid() && old->st_gid == getegid()) ||
                                          fchown(file, old->st_uid, old->st_gid) == 0);
    const bool made = same_owner && fchmod(file, old->st_mode & 0777) == 0;
    if (!made) {
        (void)snprintf(error, error_size, "%s can't be made: %s.", part, strerror(errno));
    }
    if (file >= 0) {
        close(file);
    }
    return made ? STORE_OK : STORE_ERROR;
}

static enum store_status copy_anew(struct store_db *db, const char *part, char *error, size_t error_size)
{
    sqlite3_stmt *statement = NULL;
    int reserved = SEAL_BYTES;
    int code = sqlite3_file_control(db->handle, "main", SQLITE_FCNTL_RESERVE_BYTES, &reserved);
    if (code == SQLITE_OK) {
        code = sqlite3_prepare_v2(db->handle, "VACUUM INTO ?1", -1, &statement, NULL);
    }
    if (code == SQLITE_OK) {
        code = sqlite3_bind_text(statement, 1, part, -1, SQLITE_STATIC);
    }
    if (code == SQLITE_OK) {
        code = sqlite3_step(statement);
    }
    if (code != SQLITE_DONE) {
        (void)snprintf(error, error_size, "The file can't be written anew: %s. Nothing was changed.",
                       store_fault(db->handle));
    }
    sqlite3_finalize(statement);
    return code == SQLITE_DONE ? STORE_OK : store_status_of(code);
}

static enum store_status write_anew(struct store_db *db, const char *path, const char *part, char *error,
                                    size_t error_size)
{
    struct stat old;
    enum store_status status = hold_alone(db, error, error_size);
    if (status == STORE_OK && stat(path, &old) != 0) {
        (void)snprintf(error, error_size, "%s can't be looked at: %s.", path, strerror(errno));
        status = STORE_ERROR;
    }
    if (status == STORE_OK) {
        status = enough_room(path, &old, error, error_size);
    }
    if (status == STORE_OK) {
        status = make_part(part, &old, error, error_size);
    }
    if (status == STORE_OK) {
        status = copy_anew(db, part, error, error_size);
    }
    if (status == STORE_OK) {
        status = store_prove(part, error, error_size);
    }
    if (status == STORE_OK && !store_put_in_place(part, path, error, error_size)) {
        status = STORE_ERROR;
    }
    return status;
}

enum store_status store_seal_file(const char *path, int busy_timeout_ms, char *error, size_t error_size)
{
    char part[4096];
    const int length = snprintf(part, sizeof part, "%s.sealing", path);
    if (length < 0 || (size_t)length >= sizeof part) {
        (void)snprintf(error, error_size, "A name is too long.");
        return STORE_INVALID;
    }
    struct store_db *db = store_db_open(path, STORE_OPEN_READER, busy_timeout_ms, error, error_size);
    if (!db) {
        return STORE_ERROR;
    }
    const enum store_status status = write_anew(db, path, part, error, error_size);
    store_db_close(db);
    if (status != STORE_OK) {
        (void)unlink(part);
    }
    return status;
}
