/* Hashing passwords at once. */
#include <errno.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>

#include "auth/password.h"

#define DEFAULT_MEMORY ((size_t)19 << 20)
#define DEFAULT_PASSES 2U

static struct password_cost cost_of(const struct password_cost *cost)
{
    struct password_cost out = {DEFAULT_MEMORY, DEFAULT_PASSES};
    if (cost != NULL && cost->memory_bytes != 0) {
        out.memory_bytes = cost->memory_bytes;
    }
    if (cost != NULL && cost->passes != 0) {
        out.passes = cost->passes;
    }
    return out;
}

bool password_hash(const struct password_cost *cost, const char *password, char out[PASSWORD_HASH_TEXT])
{
    _Static_assert(PASSWORD_HASH_TEXT == crypto_pwhash_STRBYTES, "libsodium's text form fits exactly");
    struct password_cost chosen = cost_of(cost);
    size_t length = strnlen(password, PASSWORD_LENGTH_MAX + 1);
    return length <= PASSWORD_LENGTH_MAX && sodium_init() >= 0 &&
           crypto_pwhash_str_alg(out, password, length, chosen.passes, chosen.memory_bytes,
                                 crypto_pwhash_ALG_ARGON2ID13) == 0;
}

#define SALT_TEXT 22 /* 16 bytes in base64 */
#define SUM_TEXT 43  /* 32 bytes */

struct parts {
    unsigned kib, passes;
    unsigned char salt[crypto_pwhash_SALTBYTES], sum[32];
};

/* crypto_pwhash_str's own text: "$argon2id$v=19$m=19456,t=2,p=1$salt$sum". */
static bool parts_read(const char *hash, struct parts *out)
{
    char salt[SALT_TEXT + 1];
    char sum[SUM_TEXT + 1];
    int length = 0;
    size_t salt_size = 0;
    size_t sum_size = 0;
    const int variant = sodium_base64_VARIANT_ORIGINAL_NO_PADDING;
    return sscanf(hash, "$argon2id$v=19$m=%9u,t=%9u,p=1$%22[A-Za-z0-9+/]$%43[A-Za-z0-9+/]%n", &out->kib, &out->passes,
                  salt, sum, &length) == 4 &&
           hash[length] == '\0' &&
           sodium_base642bin(out->salt, sizeof out->salt, salt, strlen(salt), NULL, &salt_size, NULL, variant) == 0 &&
           sodium_base642bin(out->sum, sizeof out->sum, sum, strlen(sum), NULL, &sum_size, NULL, variant) == 0 &&
           salt_size == sizeof out->salt && sum_size == sizeof out->sum;
}

/* Not by crypto_pwhash_str_verify: when that gets no memory it says the same as for a wrong password (errno EINVAL
 * in 1.0.18).
 */
bool password_verify(const char *hash, const char *password)
{
    struct parts parts;
    unsigned char sum[sizeof parts.sum];
    size_t length = strnlen(password, PASSWORD_LENGTH_MAX + 1);
    if (length > PASSWORD_LENGTH_MAX || sodium_init() < 0 || strnlen(hash, PASSWORD_HASH_TEXT) == PASSWORD_HASH_TEXT) {
        errno = EINVAL;
        return false;
    }
    if (!parts_read(hash, &parts)) { /* made elsewhere, with another length of salt; or no hash at all */
        errno = EINVAL;
        return crypto_pwhash_str_verify(hash, password, length) == 0;
    }
    if (crypto_pwhash(sum, sizeof sum, password, length, parts.salt, parts.passes, (size_t)parts.kib << 10,
                      crypto_pwhash_ALG_ARGON2ID13) != 0) {
        return false;
    }
    const bool right = sodium_memcmp(sum, parts.sum, sizeof sum) == 0;
    sodium_memzero(sum, sizeof sum);
    errno = EINVAL;
    return right;
}

bool password_needs_rehash(const struct password_cost *cost, const char *hash)
{
    struct password_cost chosen = cost_of(cost);
    return strnlen(hash, PASSWORD_HASH_TEXT) == PASSWORD_HASH_TEXT ||
           crypto_pwhash_str_needs_rehash(hash, chosen.passes, chosen.memory_bytes) != 0;
}
