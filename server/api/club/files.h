/* Every file that is served as it is: the pages and the description of the interface, built in, and the general pose
 * library that the bay page may load (deploy/fetch-pose). Of that only a fixed list of names is ever looked for, and
 * they are read once, at the start, so that nothing on the disk is reachable by a path in a request. */
#ifndef LEADSIDE_API_CLUB_FILES_H
#define LEADSIDE_API_CLUB_FILES_H

#include <stdbool.h>
#include <stddef.h>

#define FILES_POSE_MAX ((size_t)16 << 20) /* bytes; the largest of the list has 6.5 million */
#define FILES_PATH 80
#define FILES_HASH 33

struct served_file {
    char path[FILES_PATH];
    char hash[FILES_HASH]; /* of the bytes; its ETag */
    const char *type;      /* static */
    const char *keep;      /* Cache-Control; static */
    const void *data, *packed;
    size_t size, packed_size;
    void *owned; /* what was read from the disk; NULL of what is built in */
};

struct served_files {
    size_t count;
    struct served_file list[];
};

/* pose: the library's folder; NULL = without it. NULL with a sentence in error when one of its files is missing, too
 * large or can't be read. */
struct served_files *files_new(const char *pose, char *error, size_t error_size) __attribute__((warn_unused_result));
/* NULL is fine. */
void files_free(struct served_files *files);

#endif
