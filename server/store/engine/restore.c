/* A copy taken back: proved first, then put in the club's place. What goes in and out of a copy is in backup.c. */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/cipher.h"
#include "store/engine/check.h"
#include "store/engine/ledger_file.h"
#include "store/engine/parts.h"

static enum store_status fail(enum store_status status, char *error, size_t error_size, const char *name,
                              const char *what)
{
    (void)snprintf(error, error_size, "%s %s.", name, what);
    return status;
}

/* An open copy; -1 with a sentence. Says whether it is encrypted, and that this fits the key that is there or not. */
static int open_copy(const char *file, const uint8_t *key, bool *encrypted, char *error, size_t error_size)
{
    struct stat status;
    const int copy = open(file, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    if (copy < 0 || fstat(copy, &status) != 0) {
        (void)fail(STORE_ERROR, error, error_size, file, strerror(errno));
    } else if (!S_ISREG(status.st_mode)) {
        (void)fail(STORE_ERROR, error, error_size, file, "is no ordinary file");
    } else if (*encrypted = cipher_is(copy), *encrypted != (key != NULL)) {
        (void)fail(STORE_ERROR, error, error_size, file,
                   *encrypted ? "is encrypted: say which key it was made with (--key)"
                              : "is not encrypted: it needs no key");
    } else {
        return copy;
    }
    if (copy >= 0) {
        (void)close(copy);
    }
    return -1;
}

static enum store_status decrypt(int copy, int to, const char *file, const uint8_t *key, char *error, size_t error_size)
{
    const enum cipher_status status = cipher_read(copy, to, key);
    if (status != CIPHER_OK) {
        return fail(status == CIPHER_WRITE && errno == ENOSPC ? STORE_FULL : STORE_CORRUPT, error, error_size, file,
                    cipher_fault(status));
    }
    return STORE_OK;
}

static enum store_status copy_plain(int copy, int to, const char *file, char *error, size_t error_size)
{
    uint8_t bytes[65536];
    ssize_t got;
    while ((got = read(copy, bytes, sizeof bytes)) > 0) {
        for (ssize_t done = 0; done < got;) {
            const ssize_t put = write(to, bytes + done, (size_t)(got - done));
            if (put <= 0) {
                return fail(errno == ENOSPC ? STORE_FULL : STORE_ERROR, error, error_size, "The club's folder",
                            strerror(errno));
            }
            done += put;
        }
    }
    return got == 0 ? STORE_OK : fail(STORE_ERROR, error, error_size, file, strerror(errno));
}

enum store_status store_prove_copy(const char *file, const uint8_t *key, char *error, size_t error_size)
{
    bool encrypted = false;
    const int copy = open_copy(file, key, &encrypted, error, error_size);
    if (copy < 0) {
        return STORE_ERROR;
    }
    enum store_status status = STORE_OK;
    if (encrypted) {
        status = decrypt(copy, -1, file, key, error, error_size);
    }
    (void)close(copy);
    return encrypted ? status : store_prove(file, error, error_size);
}

/* Put there by root, it is its folder's owner's all the same: the server runs as that. */
static bool give_to_owner(int file, const char *directory)
{
    struct stat folder;
    return geteuid() != 0 || (stat(directory, &folder) == 0 && fchown(file, folder.st_uid, folder.st_gid) == 0);
}

/* The copy as the club's file will be, beside it: nothing is replaced by what was not proved. */
static enum store_status make_part(const char *directory, const char *part, const char *file, const uint8_t *key,
                                   char *error, size_t error_size)
{
    bool encrypted = false;
    const int copy = open_copy(file, key, &encrypted, error, error_size);
    if (copy < 0) {
        return STORE_ERROR;
    }
    (void)unlink(part);
    const int to = open(part, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    enum store_status status = STORE_OK;
    if (to < 0 || !give_to_owner(to, directory)) {
        status = fail(STORE_ERROR, error, error_size, part, strerror(errno));
    } else {
        status =
            encrypted ? decrypt(copy, to, file, key, error, error_size) : copy_plain(copy, to, file, error, error_size);
    }
    if (to >= 0 && close(to) != 0 && status == STORE_OK) {
        status = fail(STORE_ERROR, error, error_size, part, strerror(errno));
    }
    (void)close(copy);
    return status == STORE_OK ? store_prove(part, error, error_size) : status;
}

/* With its log folded in the old file is whole by itself: where the power goes before the new one has its place,
 * nothing of it is lost. One that can't be opened any more stays as it is. */
static void fold_old(const char *path)
{
    char why[256];
    struct store_db *old = access(path, F_OK) == 0 ? store_db_open(path, STORE_OPEN_WRITER, 0, why, sizeof why) : NULL;
    if (old) {
        (void)store_db_execute(old, "PRAGMA wal_checkpoint(TRUNCATE)");
        store_db_close(old);
    }
}

/* The old file's log goes first: beside the new one it would be taken for the new one's. So would the journal that
 * SQLite leaves where a former copy, not yet opened by a server, could not be made the club's file by fold_old. */
static enum store_status put_back(const char *part, const char *path, char *error, size_t error_size)
{
    static const char *const beside[] = {"-wal", "-shm", "-journal"};
    fold_old(path);
    for (size_t i = 0; i < sizeof beside / sizeof *beside; i++) {
        char name[4096 + 8];
        (void)snprintf(name, sizeof name, "%s%s", path, beside[i]);
        if (unlink(name) != 0 && errno != ENOENT) {
            return fail(STORE_ERROR, error, error_size, name, strerror(errno));
        }
    }
    return store_put_in_place(part, path, error, error_size) ? STORE_OK : STORE_ERROR;
}

bool store_has_ledger(const char *directory)
{
    char path[4096];
    const int length = snprintf(path, sizeof path, "%s/" LEDGER_FILE, directory);
    return length > 0 && (size_t)length < sizeof path && access(path, F_OK) == 0;
}

enum store_status store_restore(const char *directory, const char *file, const uint8_t *key, bool replace, char *error,
                                size_t error_size)
{
    char path[4096];
    char part[4096];
    const int length = snprintf(path, sizeof path, "%s/%s", directory, STORE_FILE);
    const int part_length = snprintf(part, sizeof part, "%s/%s.restoring", directory, STORE_FILE);
    if (length < 0 || (size_t)length >= sizeof path || part_length < 0 || (size_t)part_length >= sizeof part) {
        return fail(STORE_INVALID, error, error_size, directory, "is too long a name");
    }
    if (mkdir(directory, 0700) != 0 && errno != EEXIST) {
        return fail(STORE_ERROR, error, error_size, directory, strerror(errno));
    }
    const int lock = store_hold_directory(directory, error, error_size);
    if (lock < 0) {
        return STORE_BUSY;
    }
    enum store_status status = STORE_OK;
    if (!give_to_owner(lock, directory)) {
        status = fail(STORE_ERROR, error, error_size, directory, strerror(errno));
    } else if (!replace && access(path, F_OK) == 0) {
        status = fail(STORE_CONFLICT, error, error_size, path, "is there: say --replace if it is to go");
    }
    if (status == STORE_OK) {
        status = make_part(directory, part, file, key, error, error_size);
        if (status == STORE_OK) {
            status = put_back(part, path, error, error_size);
        }
        if (status != STORE_OK) {
            (void)unlink(part);
        }
    }
    (void)close(lock);
    return status;
}
