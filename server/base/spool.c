/* See spool.h. */
#include "base/spool.h"

#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/statvfs.h>
#include <unistd.h>

#define LARGE ((uint64_t)1 << 20)      /* what it takes ms to give back to the disk */
#define LOOK_EVERY ((uint64_t)4 << 20) /* bytes written between two looks at what is free */

struct spool {
    int fd;
    uint64_t size, spare, looked;
};

struct spool *spool_new(const char *directory, uint64_t spare)
{
    char path[4096];
    struct spool *spool = calloc(1, sizeof *spool);
    const int length = snprintf(path, sizeof path, "%s/spool-XXXXXX", directory);
    if (spool == NULL || length < 0 || (size_t)length >= sizeof path) {
        free(spool);
        return NULL;
    }
    spool->spare = spare;
    spool->fd = mkstemp(path);
    if (spool->fd < 0) {
        const int why = errno;
        free(spool);
        errno = why;
        return NULL;
    }
    (void)unlink(path);
    (void)fcntl(spool->fd, F_SETFD, FD_CLOEXEC);
    return spool;
}

static void *give_back(void *argument)
{
    struct spool *spool = argument;
    close(spool->fd);
    free(spool);
    return NULL;
}

/* Whoever has read it last has others waiting. */
void spool_free(struct spool *spool)
{
    pthread_t thread;
    if (spool == NULL) {
        return;
    }
    if (spool->size >= LARGE && pthread_create(&thread, NULL, give_back, spool) == 0) {
        (void)pthread_detach(thread);
        return;
    }
    (void)give_back(spool);
}

static bool room(struct spool *spool)
{
    struct statvfs disk;
    if (spool->looked != 0 && spool->size - spool->looked < LOOK_EVERY) {
        return true;
    }
    spool->looked = spool->size == 0 ? 1 : spool->size;
    return fstatvfs(spool->fd, &disk) == 0 && (uint64_t)disk.f_bavail * disk.f_frsize > spool->spare + LOOK_EVERY;
}

bool spool_write(struct spool *spool, const void *bytes, size_t size)
{
    const char *at = bytes;
    while (size > 0) {
        const size_t piece = size < LOOK_EVERY ? size : (size_t)LOOK_EVERY;
        if (!room(spool)) {
            return false;
        }
        const ssize_t wrote = write(spool->fd, at, piece);
        if (wrote <= 0) {
            if (wrote < 0 && errno == EINTR) {
                continue;
            }
            return false;
        }
        at += wrote;
        size -= (size_t)wrote;
        spool->size += (uint64_t)wrote;
    }
    return true;
}

uint64_t spool_size(const struct spool *spool)
{
    return spool->size;
}

size_t spool_read(const struct spool *spool, uint64_t at, void *out, size_t size)
{
    ssize_t got;
    do {
        got = pread(spool->fd, out, size, (off_t)at);
    } while (got < 0 && errno == EINTR);
    return got < 0 ? 0 : (size_t)got;
}
