/* Files of the tree that are built into the program (see server/embed.cmake). */
#ifndef LEADSIDE_BASE_EMBED_H
#define LEADSIDE_BASE_EMBED_H

#include <stddef.h>

struct embedded_file {
    const char *name;          /* path below the embedded folder */
    const char *hash;          /* of data, 32 hex digits */
    const unsigned char *data; /* followed by a NUL that size does not count */
    size_t size;
    const unsigned char *packed; /* data in gzip; NULL where that is no shorter */
    size_t packed_size;
};

extern const struct embedded_file embedded_migrations[];
extern const size_t embedded_migrations_count;
extern const struct embedded_file embedded_packed_with[];
extern const size_t embedded_packed_with_count;
extern const struct embedded_file embedded_pages[];
extern const size_t embedded_pages_count;
extern const struct embedded_file embedded_built[]; /* pages that only building makes */
extern const size_t embedded_built_count;
extern const struct embedded_file embedded_words[];
extern const size_t embedded_words_count;
extern const struct embedded_file embedded_standard[];
extern const size_t embedded_standard_count;
extern const struct embedded_file embedded_openapi[];
extern const size_t embedded_openapi_count;
extern const struct embedded_file embedded_passwords[];
extern const size_t embedded_passwords_count;

#endif
