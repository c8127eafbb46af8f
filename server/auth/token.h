/* Secrets handed to clients: 256 random bits as text. Only their SHA-256 is ever stored. */
#ifndef LEADSIDE_AUTH_TOKEN_H
#define LEADSIDE_AUTH_TOKEN_H

#include <stdbool.h>
#include <stdint.h>

#define TOKEN_BYTES 32
#define TOKEN_TEXT 44 /* 43 characters of unpadded base64url and the final NUL */
#define TOKEN_HASH 32 /* bytes of a SHA-256 */

/* A new secret and the hash to store. */
void token_new(char text[TOKEN_TEXT], uint8_t hash[TOKEN_HASH]);

/* The hash of a token's text; false when text is NULL or not the canonical form token_new writes. */
bool token_hash(const char *text, uint8_t hash[TOKEN_HASH]) __attribute__((warn_unused_result));

#endif
