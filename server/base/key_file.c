/* See key_file.h. */
#include "base/key_file.h"

#include <errno.h>
#include <fcntl.h>
#include <libgen.h>
#include <limits.h>
#include <sodium.h>
#include <stdbool.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* The folder's entry too: nothing may rest on a key that a power cut takes away. */
static bool flush_folder(const char *path)
{
    char name[PATH_MAX];
    (void)snprintf(name, sizeof name, "%s", path);
    const int folder = open(dirname(name), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    const bool good = folder >= 0 && fsync(folder) == 0;
    if (folder >= 0) {
        (void)close(folder);
    }
    return good;
}

static bool write_key(const char *part, const uint8_t key[KEY_BYTES])
{
    const int file = open(part, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0600);
    const bool good = file >= 0 && write(file, key, KEY_BYTES) == KEY_BYTES && fsync(file) == 0;
    const int why = errno;
    const bool closed = file >= 0 && close(file) == 0;
    if (!good) {
        errno = why;
    }
    return good && closed;
}

enum key_file_status key_file_make(const char *path, uint8_t out[KEY_BYTES])
{
    char part[PATH_MAX];
    struct stat status;
    if ((size_t)snprintf(part, sizeof part, "%s.new", path) >= sizeof part) {
        errno = ENAMETOOLONG;
        return KEY_ERROR;
    }
    if (lstat(path, &status) == 0) {
        return KEY_TAKEN;
    }
    /* Under another name first, so that the file is whole or not there. */
    (void)unlink(part);
    randombytes_buf(out, KEY_BYTES);
    if (write_key(part, out) && rename(part, path) == 0 && flush_folder(path)) {
        return KEY_FINE;
    }
    const int why = errno;
    (void)unlink(part);
    sodium_memzero(out, KEY_BYTES);
    errno = why;
    return KEY_ERROR;
}

enum key_file_status key_file_read(const char *path, uint8_t out[KEY_BYTES])
{
    uint8_t bytes[KEY_BYTES + 1];
    struct stat about;
    const int file = open(path, O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK);
    if (file < 0) {
        return errno == ENOENT ? KEY_MISSING : errno == ELOOP ? KEY_NONE : KEY_ERROR;
    }
    enum key_file_status status = KEY_NONE;
    if (fstat(file, &about) == 0 && S_ISREG(about.st_mode) && read(file, bytes, sizeof bytes) == KEY_BYTES) {
        status = (about.st_mode & (S_IRWXG | S_IRWXO)) == 0 ? KEY_FINE : KEY_READABLE;
    }
    (void)close(file);
    if (status == KEY_FINE) {
        memcpy(out, bytes, KEY_BYTES);
    }
    sodium_memzero(bytes, sizeof bytes);
    return status;
}

const char *key_file_fault(enum key_file_status status)
{
    static const char *const faults[KEY_STATUS_COUNT] = {
        [KEY_FINE] = "is fine",
        [KEY_MISSING] = "is not there",
        [KEY_TAKEN] = "is there already and is left as it is",
        [KEY_READABLE] =
            "can be read by others: take that away (chmod 600), and make a new one if they may have done so",
        [KEY_NONE] = "is not a key: an ordinary file of 32 bytes"};
    return status == KEY_ERROR ? strerror(errno) : faults[status];
}
