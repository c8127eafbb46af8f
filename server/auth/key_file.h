/* The server's own key: 32 random bytes in a file beside the club's, which no backup holds. What it seals in the
 * club's file can't be read from a copy of that file alone. Each use takes a key of its own from it. */
#ifndef LEADSIDE_AUTH_KEY_FILE_H
#define LEADSIDE_AUTH_KEY_FILE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define KEY_FILE "leadside.key"
#define KEY_BYTES 32

/* Reads directory/leadside.key, or makes it (mode 0600, flushed) when it is missing. False with a sentence in error,
 * also when others than its owner may read or write it. The text of the file is 64 hexadecimal digits and a line end.
 */
bool key_file_load(const char *directory, uint8_t key[KEY_BYTES], char *error, size_t error_size)
    __attribute__((warn_unused_result));

/* The key of one use: purpose is 8 characters (crypto_kdf's context). */
void key_file_derive(const uint8_t key[KEY_BYTES], const char purpose[8], uint8_t out[KEY_BYTES]);

#endif
