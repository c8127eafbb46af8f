/* See second_factor.h. */
#include "auth/second_factor.h"

#include <liboath/oath.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "auth/sign_in_name.h"

#define STEP_SECONDS (SECOND_FACTOR_STEP_MS / 1000)
#define RECOVERY_LETTERS 16

_Static_assert(SECOND_FACTOR_SEALED == crypto_aead_xchacha20poly1305_ietf_NPUBBYTES + SECOND_FACTOR_SECRET +
                                           crypto_aead_xchacha20poly1305_ietf_ABYTES,
               "nonce, secret, tag");
_Static_assert(SECRET_BYTES == crypto_aead_xchacha20poly1305_ietf_KEYBYTES, "one key seals");
_Static_assert(RECOVERY_CODE_TEXT == PASSWORD_INVENTED_TEXT, "a recovery code is made as a password is");

void second_factor_new(uint8_t secret[SECOND_FACTOR_SECRET])
{
    randombytes_buf(secret, SECOND_FACTOR_SECRET);
}

void second_factor_seal(const uint8_t key[SECRET_BYTES], const char *account_id,
                        const uint8_t secret[SECOND_FACTOR_SECRET], uint8_t sealed[SECOND_FACTOR_SEALED])
{
    uint8_t *rest = sealed + crypto_aead_xchacha20poly1305_ietf_NPUBBYTES;
    randombytes_buf(sealed, crypto_aead_xchacha20poly1305_ietf_NPUBBYTES);
    (void)crypto_aead_xchacha20poly1305_ietf_encrypt(rest, NULL, secret, SECOND_FACTOR_SECRET,
                                                     (const unsigned char *)account_id, strlen(account_id), NULL,
                                                     sealed, key);
}

bool second_factor_open(const uint8_t key[SECRET_BYTES], const char *account_id,
                        const uint8_t sealed[SECOND_FACTOR_SEALED], uint8_t secret[SECOND_FACTOR_SECRET])
{
    const size_t nonce = crypto_aead_xchacha20poly1305_ietf_NPUBBYTES;
    return crypto_aead_xchacha20poly1305_ietf_decrypt(secret, NULL, NULL, sealed + nonce, SECOND_FACTOR_SEALED - nonce,
                                                      (const unsigned char *)account_id, strlen(account_id), sealed,
                                                      key) == 0;
}

bool second_factor_text(const uint8_t secret[SECOND_FACTOR_SECRET], char out[SECOND_FACTOR_TEXT])
{
    char *text = NULL;
    size_t length = 0;
    if (oath_base32_encode((const char *)secret, SECOND_FACTOR_SECRET, &text, &length) != OATH_OK) {
        return false;
    }
    bool fits = length == SECOND_FACTOR_TEXT - 1;
    if (fits) {
        memcpy(out, text, length);
        out[length] = '\0';
    }
    sodium_memzero(text, length);
    free(text);
    return fits;
}

/* Appends text with everything but letters, digits, "-", "." and "_" percent-encoded. */
static bool encode(const char *text, char *out, size_t size, size_t *used)
{
    static const char plain[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-._";
    for (const char *at = text; *at != '\0'; at++) {
        bool as_it_is = strchr(plain, *at) != NULL;
        size_t need = as_it_is ? 1 : 3;
        if (*used + need >= size) {
            return false;
        }
        (void)snprintf(out + *used, size - *used, as_it_is ? "%c" : "%%%02X", (unsigned char)*at);
        *used += need;
    }
    return true;
}

static bool append(const char *text, char *out, size_t size, size_t *used)
{
    size_t length = strlen(text);
    if (*used + length >= size) {
        return false;
    }
    memcpy(out + *used, text, length + 1);
    *used += length;
    return true;
}

bool second_factor_uri(const char *issuer, const char *name, const char *secret_text, char *out, size_t size)
{
    size_t used = 0;
    return append("otpauth://totp/", out, size, &used) && encode(issuer, out, size, &used) &&
           append(":", out, size, &used) && encode(name, out, size, &used) && append("?secret=", out, size, &used) &&
           append(secret_text, out, size, &used) && append("&issuer=", out, size, &used) &&
           encode(issuer, out, size, &used) && append("&algorithm=SHA1&digits=6&period=30", out, size, &used);
}

/* Six digits without the spaces. */
static bool digits_of(const char *code, char out[SECOND_FACTOR_DIGITS + 1])
{
    int count = 0;
    for (const char *at = code; *at != '\0'; at++) {
        if (*at == ' ') {
            continue;
        }
        if (*at < '0' || *at > '9' || count == SECOND_FACTOR_DIGITS) {
            return false;
        }
        out[count++] = *at;
    }
    out[count] = '\0';
    return count == SECOND_FACTOR_DIGITS;
}

bool second_factor_is_digits(const char *code)
{
    char digits[SECOND_FACTOR_DIGITS + 1];
    return digits_of(code, digits);
}

int64_t second_factor_step(const uint8_t secret[SECOND_FACTOR_SECRET], const char *code, int64_t now_ms, int64_t after)
{
    char digits[SECOND_FACTOR_DIGITS + 1];
    char right[SECOND_FACTOR_DIGITS + 1];
    const int64_t present = now_ms / SECOND_FACTOR_STEP_MS;
    int64_t found = -1;
    if (!digits_of(code, digits)) {
        return -1;
    }
    for (int64_t step = present - 1; step <= present + 1; step++) {
        if (step >= 0 && step > after &&
            oath_totp_generate((const char *)secret, SECOND_FACTOR_SECRET, (time_t)(step * STEP_SECONDS), STEP_SECONDS,
                               0, SECOND_FACTOR_DIGITS, right) == OATH_OK &&
            sodium_memcmp(right, digits, SECOND_FACTOR_DIGITS) == 0) {
            found = step;
        }
    }
    sodium_memzero(right, sizeof right);
    return found;
}

void recovery_code_new(char out[RECOVERY_CODE_TEXT])
{
    password_invent_text(out);
}

bool recovery_code_hash(const char *account_id, const char *code, uint8_t out[RECOVERY_HASH])
{
    char letters[RECOVERY_LETTERS];
    size_t count = 0;
    crypto_hash_sha256_state state;
    for (const char *at = code; *at != '\0'; at++) {
        char c = (char)(*at >= 'A' && *at <= 'Z' ? *at + ('a' - 'A') : *at);
        if (c == '-' || c == ' ') {
            continue;
        }
        if (!((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9')) || count == RECOVERY_LETTERS) {
            return false;
        }
        letters[count++] = c;
    }
    if (count != RECOVERY_LETTERS) {
        return false;
    }
    crypto_hash_sha256_init(&state);
    crypto_hash_sha256_update(&state, (const unsigned char *)account_id, strlen(account_id));
    crypto_hash_sha256_update(&state, (const unsigned char *)letters, sizeof letters);
    crypto_hash_sha256_final(&state, out);
    return true;
}
