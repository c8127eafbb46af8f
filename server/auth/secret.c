/* See secret.h. */
#include "auth/secret.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static bool fail(char *error, size_t error_size, const char *path, const char *what)
{
    (void)snprintf(error, error_size, "the key %s %s", path, what);
    return false;
}

/* The folder's entry too: nothing may rest on a key that a power cut takes away. */
static bool flush_folder(const char *directory)
{
    const int folder = open(directory, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    const bool good = folder >= 0 && fsync(folder) == 0;
    if (folder >= 0) {
        (void)close(folder);
    }
    return good;
}

/* Under another name first, so that the file is whole or not there. */
static bool make(const char *directory, const char *path, uint8_t out[SECRET_BYTES], char *error, size_t error_size)
{
    char part[PATH_MAX + 8];
    (void)snprintf(part, sizeof part, "%s.new", path);
    (void)unlink(part);
    const int file = open(part, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0600);
    randombytes_buf(out, SECRET_BYTES);
    bool good = file >= 0 && write(file, out, SECRET_BYTES) == SECRET_BYTES && fsync(file) == 0;
    int why = errno;
    if (file >= 0) {
        good = close(file) == 0 && good;
    }
    if (good && (rename(part, path) != 0 || !flush_folder(directory))) {
        why = errno;
        good = false;
    }
    if (!good) {
        (void)unlink(part);
        return fail(error, error_size, path, strerror(why));
    }
    return true;
}

bool secret_open(const char *directory, uint8_t out[SECRET_BYTES], char *error, size_t error_size)
{
    char path[PATH_MAX];
    uint8_t bytes[SECRET_BYTES + 1];
    struct stat status;
    if (sodium_init() < 0 || (size_t)snprintf(path, sizeof path, "%s/%s", directory, SECRET_FILE) >= sizeof path) {
        return fail(error, error_size, directory, "can't be used");
    }
    const int file = open(path, O_RDONLY | O_CLOEXEC | O_NOFOLLOW);
    if (file < 0) {
        return errno == ENOENT ? make(directory, path, out, error, error_size)
                               : fail(error, error_size, path, strerror(errno));
    }
    const ssize_t size = read(file, bytes, sizeof bytes);
    bool mine = fstat(file, &status) == 0 && S_ISREG(status.st_mode) &&
                ((status.st_mode & 077) == 0 || fchmod(file, 0600) == 0);
    (void)close(file);
    if (size != SECRET_BYTES || !mine) {
        sodium_memzero(bytes, sizeof bytes);
        return fail(error, error_size, path,
                    mine ? "is not one of ours: move it away, and a new one is made" : "can't be kept from others");
    }
    memcpy(out, bytes, SECRET_BYTES);
    sodium_memzero(bytes, sizeof bytes);
    return true;
}

void secret_derive(const uint8_t secret[SECRET_BYTES], const char purpose[8], uint8_t out[SECRET_BYTES])
{
    _Static_assert(SECRET_BYTES == crypto_kdf_KEYBYTES && crypto_kdf_CONTEXTBYTES == 8, "libsodium's sizes");
    (void)crypto_kdf_derive_from_key(out, SECRET_BYTES, 1, purpose, secret);
}
