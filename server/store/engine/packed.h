/* Texts kept packed: a zlib stream (RFC 1950) begun with one of the dictionaries of packed_with/, a sample of the
 * format each; the stream itself says which. Its checksum finds what the seal of a page can't. Private to the room. */
#ifndef LEADSIDE_STORE_ENGINE_PACKED_H
#define LEADSIDE_STORE_ENGINE_PACKED_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"

/* Bytes. What is larger is kept as it came: it is sent out of the file in pieces, which a packed text can't be. */
#define PACKED_MAX ((size_t)256 << 10)

/* Where it stands among the files' names. A dictionary that a file was written with stays for ever; a better one is
 * added: 2 was for reports that held sentences, and is only read. */
enum packed_with { PACKED_WITH_SWING = 0, PACKED_WITH_REPORT = 2 };

/* What both ways need; for one thread at a time. */
struct packer;
struct packer *packer_new(void);
void packer_free(struct packer *packer);

/* In the arena; NULL when it is not worth it, too large, or memory is short: then it is kept as it is. */
const char *packed_make(struct packer *packer, enum packed_with with, const char *text, size_t size,
                        struct arena *arena, size_t *packed_size);
/* False: memory is too short for packed_open, which would say the same of that as of damage. */
bool packed_ready(struct packer *packer) __attribute__((warn_unused_result));
/* Exactly `size` bytes (PACKED_MAX at most) into out; false when it is not what was packed. */
bool packed_open(struct packer *packer, const void *packed, size_t packed_size, char *out, size_t size)
    __attribute__((warn_unused_result));

#endif
