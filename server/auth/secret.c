/* See secret.h. */
#include "auth/secret.h"

#include <limits.h>
#include <sodium.h>
#include <stdio.h>
#include <sys/stat.h>

#include "base/key_file.h"

static bool fail(char *error, size_t error_size, const char *path, const char *what)
{
    (void)snprintf(error, error_size, "the key %s %s", path, what);
    return false;
}

bool secret_open(const char *directory, uint8_t out[SECRET_BYTES], char *error, size_t error_size)
{
    _Static_assert(SECRET_BYTES == KEY_BYTES, "one size");
    char path[PATH_MAX];
    if (sodium_init() < 0 || (size_t)snprintf(path, sizeof path, "%s/%s", directory, SECRET_FILE) >= sizeof path) {
        return fail(error, error_size, directory, "can't be used");
    }
    enum key_file_status status = key_file_read(path, out);
    if (status == KEY_MISSING) {
        status = key_file_make(path, out);
    } else if (status == KEY_READABLE) {
        if (chmod(path, S_IRUSR | S_IWUSR) != 0) {
            return fail(error, error_size, path, "can't be kept from others");
        }
        status = key_file_read(path, out);
    }
    return status == KEY_FINE || fail(error, error_size, path,
                                      status == KEY_NONE ? "is not one of ours: move it away, and a new one is made"
                                                         : key_file_fault(status));
}

void secret_derive(const uint8_t secret[SECRET_BYTES], const char purpose[8], uint8_t out[SECRET_BYTES])
{
    _Static_assert(SECRET_BYTES == crypto_kdf_KEYBYTES && crypto_kdf_CONTEXTBYTES == 8, "libsodium's sizes");
    (void)crypto_kdf_derive_from_key(out, SECRET_BYTES, 1, purpose, secret);
}
