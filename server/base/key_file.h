/* A key: 32 random bytes in a file of their own, which its owner alone may read. */
#ifndef LEADSIDE_BASE_KEY_FILE_H
#define LEADSIDE_BASE_KEY_FILE_H

#include <stdint.h>

#define KEY_BYTES 32

enum key_file_status {
    KEY_FINE,
    KEY_MISSING,
    KEY_TAKEN,    /* there is a file of that name already */
    KEY_READABLE, /* others on the machine may read it */
    KEY_NONE,     /* no ordinary file of 32 bytes */
    KEY_ERROR,    /* errno says why */
    KEY_STATUS_COUNT
};

/* Makes the file, mode 0600, whole or not at all; a file of that name is never replaced. sodium_init must have been
 * called. */
enum key_file_status key_file_make(const char *path, uint8_t out[KEY_BYTES]) __attribute__((warn_unused_result));
/* A link is not followed. out is written with KEY_FINE alone. */
enum key_file_status key_file_read(const char *path, uint8_t out[KEY_BYTES]) __attribute__((warn_unused_result));
/* What is the matter, to stand behind the file's name: "is there already". */
const char *key_file_fault(enum key_file_status status);

#endif
