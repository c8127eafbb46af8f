/* See key_file.h. */
#include "auth/key_file.h"

#include <errno.h>
#include <fcntl.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define TEXT (2 * KEY_BYTES + 1)

_Static_assert(KEY_BYTES == crypto_kdf_KEYBYTES, "libsodium derives from a key of this size");

static bool fail(char *error, size_t error_size, const char *path, const char *why)
{
    (void)snprintf(error, error_size, "the server's key %s %s", path, why);
    return false;
}

static bool read_key(int file, const char *path, uint8_t key[KEY_BYTES], char *error, size_t error_size)
{
    char text[TEXT];
    struct stat about;
    size_t size = 0;
    if (fstat(file, &about) != 0 || !S_ISREG(about.st_mode)) {
        return fail(error, error_size, path, "is not a plain file");
    }
    if ((about.st_mode & (S_IRWXG | S_IRWXO)) != 0) {
        return fail(error, error_size, path, "may be read by others: chmod 600 it");
    }
    bool whole = about.st_size == TEXT && read(file, text, TEXT) == TEXT && text[TEXT - 1] == '\n' &&
                 sodium_hex2bin(key, KEY_BYTES, text, TEXT - 1, NULL, &size, NULL) == 0 && size == KEY_BYTES;
    sodium_memzero(text, sizeof text);
    return whole || fail(error, error_size, path, "is damaged: it must be 64 hexadecimal digits");
}

/* The folder's entry is flushed too: a sealed secret must not outlive its key. */
static bool write_key(int file, const char *directory, const char *path, const uint8_t key[KEY_BYTES], char *error,
                      size_t error_size)
{
    char text[TEXT];
    sodium_bin2hex(text, sizeof text, key, KEY_BYTES);
    text[TEXT - 1] = '\n';
    bool written = write(file, text, TEXT) == TEXT && fsync(file) == 0;
    sodium_memzero(text, sizeof text);
    int folder = open(directory, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    written = written && folder >= 0 && fsync(folder) == 0;
    if (folder >= 0) {
        close(folder);
    }
    if (!written) {
        (void)unlink(path);
    }
    return written || fail(error, error_size, path, "can't be written");
}

bool key_file_load(const char *directory, uint8_t key[KEY_BYTES], char *error, size_t error_size)
{
    char path[4096];
    int length = snprintf(path, sizeof path, "%s/%s", directory, KEY_FILE);
    if (length < 0 || (size_t)length >= sizeof path || sodium_init() < 0) {
        return fail(error, error_size, KEY_FILE, "can't be reached");
    }
    int file = open(path, O_RDONLY | O_CLOEXEC | O_NOFOLLOW);
    if (file >= 0) {
        bool read = read_key(file, path, key, error, error_size);
        close(file);
        return read;
    }
    if (errno != ENOENT) {
        return fail(error, error_size, path, strerror(errno));
    }
    file = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (file < 0) {
        return fail(error, error_size, path, strerror(errno));
    }
    randombytes_buf(key, KEY_BYTES);
    bool written = write_key(file, directory, path, key, error, error_size);
    close(file);
    return written;
}

void key_file_derive(const uint8_t key[KEY_BYTES], const char purpose[8], uint8_t out[KEY_BYTES])
{
    (void)crypto_kdf_derive_from_key(out, KEY_BYTES, 1, purpose, key);
}
