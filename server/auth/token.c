/* Tokens: made from the system's randomness, known afterwards only by their hash. */
#include <sodium.h>
#include <string.h>

#include "auth/token.h"

static const int variant = sodium_base64_VARIANT_URLSAFE_NO_PADDING;

void token_new(char text[TOKEN_TEXT], uint8_t hash[TOKEN_HASH])
{
    uint8_t bytes[TOKEN_BYTES];
    randombytes_buf(bytes, sizeof bytes);
    sodium_bin2base64(text, TOKEN_TEXT, bytes, sizeof bytes, variant);
    crypto_hash_sha256(hash, (const unsigned char *)text, TOKEN_TEXT - 1);
    sodium_memzero(bytes, sizeof bytes);
}

bool token_hash(const char *text, uint8_t hash[TOKEN_HASH])
{
    static const char letters[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
    uint8_t bytes[TOKEN_BYTES];
    size_t size = 0;
    /* libsodium 1.0.18 takes any byte above 127 for a letter */
    if (text == NULL || strnlen(text, TOKEN_TEXT) != TOKEN_TEXT - 1 || strspn(text, letters) != TOKEN_TEXT - 1) {
        return false;
    }
    /* libsodium refuses stray bits at the end, so each token has one text only. */
    bool sound = sodium_base642bin(bytes, sizeof bytes, text, TOKEN_TEXT - 1, NULL, &size, NULL, variant) == 0 &&
                 size == TOKEN_BYTES;
    sodium_memzero(bytes, sizeof bytes);
    if (sound) {
        crypto_hash_sha256(hash, (const unsigned char *)text, TOKEN_TEXT - 1);
    }
    return sound;
}
