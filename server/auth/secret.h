/* The server's own secret: 32 random bytes in the file "leadside.key" beside the database, readable by the server's
 * user alone. It is never in the database and never in a backup, so that neither of them can be used to try guesses
 * against what was hashed with it, nor give up what was sealed with it. When it is lost a new one is made: known
 * devices are strangers until they have signed in again, repeated requests are told by their Idempotency-Key alone, and
 * second factors can only be got past with a recovery code until they are set up anew. */
#ifndef LEADSIDE_AUTH_SECRET_H
#define LEADSIDE_AUTH_SECRET_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define SECRET_BYTES 32
#define SECRET_FILE "leadside.key"

/* Reads it, or makes it where there is none; takes everybody else's right to read it away. False with a sentence in
 * error. */
bool secret_open(const char *directory, uint8_t out[SECRET_BYTES], char *error, size_t error_size)
    __attribute__((warn_unused_result));

/* A key of its own for each use; purpose has 8 characters. */
void secret_derive(const uint8_t secret[SECRET_BYTES], const char purpose[8], uint8_t out[SECRET_BYTES]);

#endif
