/* A second factor: codes that change with time (TOTP, RFC 6238: HMAC-SHA-1, 6 digits, 30 s, as authenticator apps
 * expect) by liboath, and recovery codes that stand in for them. Pure but for randomness; the store remembers. */
#ifndef LEADSIDE_AUTH_SECOND_FACTOR_H
#define LEADSIDE_AUTH_SECOND_FACTOR_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "auth/secret.h"

#define SECOND_FACTOR_SECRET 20                               /* bytes: RFC 4226, R6 recommends 160 bits */
#define SECOND_FACTOR_SEALED (24 + SECOND_FACTOR_SECRET + 16) /* nonce, secret, tag */
#define SECOND_FACTOR_TEXT 33                                 /* base32 and the final NUL */
#define SECOND_FACTOR_STEP_MS 30000
#define SECOND_FACTOR_DIGITS 6

#define RECOVERY_CODES 10
#define RECOVERY_CODE_TEXT 20 /* "k7mw-x2hd-..." and the final NUL */
#define RECOVERY_HASH 32

/* A new secret: its bytes, and sealed for an account (XChaCha20-Poly1305, the account's id bound to it). */
void second_factor_new(uint8_t secret[SECOND_FACTOR_SECRET]);
void second_factor_seal(const uint8_t key[SECRET_BYTES], const char *account_id,
                        const uint8_t secret[SECOND_FACTOR_SECRET], uint8_t sealed[SECOND_FACTOR_SEALED]);
/* False when it was sealed with another key, for another account, or is damaged. */
bool second_factor_open(const uint8_t key[SECRET_BYTES], const char *account_id,
                        const uint8_t sealed[SECOND_FACTOR_SEALED], uint8_t secret[SECOND_FACTOR_SECRET])
    __attribute__((warn_unused_result));

/* The secret as people type it into an app. */
bool second_factor_text(const uint8_t secret[SECOND_FACTOR_SECRET], char out[SECOND_FACTOR_TEXT])
    __attribute__((warn_unused_result));
/* otpauth://totp/ISSUER:NAME?... as apps read it from a picture; false when it does not fit. */
bool second_factor_uri(const char *issuer, const char *name, const char *secret_text, char *out, size_t size)
    __attribute__((warn_unused_result));

/* Is this six digits (spaces don't count)? Then it is no recovery code. */
bool second_factor_is_digits(const char *code);
/* The step whose code this is, out of the present one and its two neighbours; only one after `after` counts. -1 when
 * none fits. now_ms: UTC. */
int64_t second_factor_step(const uint8_t secret[SECOND_FACTOR_SECRET], const char *code, int64_t now_ms, int64_t after)
    __attribute__((warn_unused_result));

/* 79 random bits, which nobody can try out: so a fast hash is enough to keep. */
void recovery_code_new(char out[RECOVERY_CODE_TEXT]);
/* The hash to keep: SHA-256 of the account's id and the code's letters and digits, small. False when it can't be a
 * code (no 16 letters and digits). */
bool recovery_code_hash(const char *account_id, const char *code, uint8_t out[RECOVERY_HASH])
    __attribute__((warn_unused_result));

#endif
