/* See known.h. */
#include "auth/known.h"

#include <sodium.h>
#include <stdio.h>
#include <string.h>

#define CHANCE 16
#define TIME 8
#define PROOF crypto_generichash_BYTES
#define SIZE (CHANCE + TIME + PROOF)

static const int variant = sodium_base64_VARIANT_URLSAFE_NO_PADDING;

/* Over the account and what goes before the proof. */
static void prove(const uint8_t key[SECRET_BYTES], const char account_id[UUID_TEXT], const uint8_t bytes[CHANCE + TIME],
                  uint8_t out[PROOF])
{
    _Static_assert(KNOWN_TEXT == sodium_base64_ENCODED_LEN(SIZE, sodium_base64_VARIANT_URLSAFE_NO_PADDING), "it fits");
    crypto_generichash_state state;
    crypto_generichash_init(&state, key, SECRET_BYTES, PROOF);
    crypto_generichash_update(&state, (const unsigned char *)account_id, UUID_TEXT);
    crypto_generichash_update(&state, bytes, CHANCE + TIME);
    crypto_generichash_final(&state, out, PROOF);
}

void known_make(const uint8_t key[SECRET_BYTES], const char account_id[UUID_TEXT], int64_t now, char out[KNOWN_TEXT])
{
    uint8_t bytes[SIZE];
    uint64_t until = (uint64_t)(now + KNOWN_MS);
    randombytes_buf(bytes, CHANCE);
    for (int i = TIME - 1; i >= 0; i--) {
        bytes[CHANCE + i] = (uint8_t)until;
        until >>= 8;
    }
    prove(key, account_id, bytes, bytes + CHANCE + TIME);
    sodium_bin2base64(out, KNOWN_TEXT, bytes, sizeof bytes, variant);
}

bool known_check(const uint8_t key[SECRET_BYTES], const char *text, const char account_id[UUID_TEXT], int64_t now)
{
    uint8_t bytes[SIZE];
    uint8_t proof[PROOF];
    size_t size = 0;
    if (text == NULL || strnlen(text, KNOWN_TEXT) != KNOWN_TEXT - 1 ||
        sodium_base642bin(bytes, sizeof bytes, text, KNOWN_TEXT - 1, NULL, &size, NULL, variant) != 0 || size != SIZE) {
        return false;
    }
    uint64_t until = 0;
    for (int i = 0; i < TIME; i++) {
        until = until << 8 | bytes[CHANCE + i];
    }
    prove(key, account_id, bytes, proof);
    return sodium_memcmp(proof, bytes + CHANCE + TIME, PROOF) == 0 && now >= 0 && (uint64_t)now < until;
}

void known_cookie_name(const char account_id[UUID_TEXT], bool secure, char out[KNOWN_NAME_TEXT])
{
    (void)snprintf(out, KNOWN_NAME_TEXT, "%sleadside_known_%s", secure ? "__Secure-" : "",
                   account_id + UUID_TEXT - 1 - 12);
}

void known_cookie_format(const char account_id[UUID_TEXT], const char text[KNOWN_TEXT], bool secure,
                         char out[KNOWN_COOKIE_TEXT])
{
    char name[KNOWN_NAME_TEXT];
    known_cookie_name(account_id, secure, name);
    (void)snprintf(out, KNOWN_COOKIE_TEXT, "%s=%s; Path=/v1/sign-in; Max-Age=%lld; HttpOnly; SameSite=Strict%s", name,
                   text, (long long)(KNOWN_MS / 1000), secure ? "; Secure" : "");
}
