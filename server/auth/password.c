/* Hashing passwords at once. */
#include <sodium.h>
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

bool password_verify(const char *hash, const char *password)
{
    size_t length = strnlen(password, PASSWORD_LENGTH_MAX + 1);
    return length <= PASSWORD_LENGTH_MAX && strnlen(hash, PASSWORD_HASH_TEXT) < PASSWORD_HASH_TEXT &&
           sodium_init() >= 0 && crypto_pwhash_str_verify(hash, password, length) == 0;
}

bool password_needs_rehash(const struct password_cost *cost, const char *hash)
{
    struct password_cost chosen = cost_of(cost);
    return strnlen(hash, PASSWORD_HASH_TEXT) == PASSWORD_HASH_TEXT ||
           crypto_pwhash_str_needs_rehash(hash, chosen.passes, chosen.memory_bytes) != 0;
}
