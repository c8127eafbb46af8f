/* A device that has signed in to an account before: a cookie that says so, readable by the server alone, kept nowhere.
 * It opens nothing; it only lets its holder try a password while strangers have made the name wait (OWASP, "Slow down
 * online guessing attacks with device cookies"). */
#ifndef LEADSIDE_AUTH_KNOWN_H
#define LEADSIDE_AUTH_KNOWN_H

#include <stdbool.h>
#include <stdint.h>

#include "auth/secret.h"
#include "base/ids.h"
#include "base/times.h"

#define KNOWN_TEXT 76 /* 16 bytes of chance, 8 of time, 32 of proof in base64url, and the final NUL */
#define KNOWN_MS ((int64_t)180 * 24 * 3600 * 1000)
#define KNOWN_NAME_TEXT 64
#define KNOWN_COOKIE_TEXT 256

/* A new one for this account, good for KNOWN_MS. */
void known_make(const uint8_t key[SECRET_BYTES], const char account_id[UUID_TEXT], int64_t now, char out[KNOWN_TEXT]);
/* Was this made with this key for this account, and is its time not over? text may be NULL. */
bool known_check(const uint8_t key[SECRET_BYTES], const char *text, const char account_id[UUID_TEXT], int64_t now)
    __attribute__((warn_unused_result));

/* One cookie for each account, so that a family's computer knows them all. It is sent with sign-ins only. */
void known_cookie_name(const char account_id[UUID_TEXT], bool secure, char out[KNOWN_NAME_TEXT]);
/* The Set-Cookie value. */
void known_cookie_format(const char account_id[UUID_TEXT], const char text[KNOWN_TEXT], bool secure,
                         char out[KNOWN_COOKIE_TEXT]);

#endif
