/* A file encrypted as a stream, in pieces: what is taken off its end, changed, moved or added is noticed.
 *
 * The file: the line "leadside backup 1\n" · 16 bytes that tell one key from another without giving it away · 24 bytes,
 * libsodium's header of the stream · pieces of 64 KiB (the last is shorter), each with 17 bytes more
 * (crypto_secretstream_xchacha20poly1305). All that stands before the pieces is covered by the first one's tag; the
 * last is marked as the last. */
#ifndef LEADSIDE_BASE_CIPHER_H
#define LEADSIDE_BASE_CIPHER_H

#include <stdbool.h>

#include "base/key_file.h"

enum cipher_status {
    CIPHER_OK,
    CIPHER_FOREIGN, /* does not begin as such a file does */
    CIPHER_NEWER,   /* of a later form */
    CIPHER_KEY,     /* made with another key */
    CIPHER_DAMAGED,
    CIPHER_END,   /* its end is missing, changed or added to */
    CIPHER_READ,  /* can't be read: errno says why */
    CIPHER_WRITE, /* can't be written: errno says why */
    CIPHER_STATUS_COUNT
};

/* Encrypts what is left to read of one open file into another. */
enum cipher_status cipher_write(int from, int to, const uint8_t key[KEY_BYTES]) __attribute__((warn_unused_result));
/* The other way; to = -1 only proves that it could be. What was written before a fault was found must not be used. */
enum cipher_status cipher_read(int from, int to, const uint8_t key[KEY_BYTES]) __attribute__((warn_unused_result));
/* Does the open file begin as an encrypted one does? It is read from its beginning, and stands there again. */
bool cipher_is(int file);
/* What is the matter, to stand behind the file's name. */
const char *cipher_fault(enum cipher_status status);

#endif
