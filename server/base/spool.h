/* A file without a name: something too large for memory, made once and then read in pieces. Gone when it is freed or
 * the process ends. */
#ifndef LEADSIDE_BASE_SPOOL_H
#define LEADSIDE_BASE_SPOOL_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct spool;

/* On the file system of that directory, of which it always leaves `spare` bytes free. NULL when it can't be made. */
struct spool *spool_new(const char *directory, uint64_t spare) __attribute__((warn_unused_result));
void spool_free(struct spool *spool); /* NULL is fine */

/* Appends. False when the disk is full, or would be but for what is spared. */
bool spool_write(struct spool *spool, const void *bytes, size_t size) __attribute__((warn_unused_result));
uint64_t spool_size(const struct spool *spool);
/* Up to size bytes from `at` on; 0 when there are none. From any one thread at a time. */
size_t spool_read(const struct spool *spool, uint64_t at, void *out, size_t size);

#endif
