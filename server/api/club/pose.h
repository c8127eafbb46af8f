/* The files of the general pose library that the bay page may load (deploy/fetch-pose). Only a fixed list of names is
 * ever looked for; they are read once, at the start, so that nothing on the disk is reachable by a path in a request.
 */
#ifndef LEADSIDE_API_CLUB_POSE_H
#define LEADSIDE_API_CLUB_POSE_H

#include <stdbool.h>
#include <stddef.h>

#define POSE_FILE_MAX ((size_t)16 << 20) /* bytes; the largest of the list has 6.5 million */
#define POSE_ETAG 35                     /* 32 hex digits in quotes, NUL */

struct pose_file {
    const char *path; /* "/pose/pose.js"; static */
    const char *type; /* static */
    void *data;       /* owned; NULL when empty */
    size_t size;
    char etag[POSE_ETAG];
};

/* The whole library, or NULL with a sentence in error when a file is missing, too large or can't be read. */
struct pose_file *pose_files_read(const char *directory, char *error, size_t error_size)
    __attribute__((warn_unused_result));
size_t pose_files_count(void);
/* NULL is fine. */
void pose_files_free(struct pose_file *files);

#endif
