/* Loaded into the server before the C library: a disk with habits of its own.
 *   DISK_SLOW "LEAST MOST"  each flush takes so many milliseconds longer, at random
 *   DISK_DROP               a flush does nothing and says that it did
 *   DISK_STOP FILE          once there is FILE, with a number in it: in so many flushes' time some pages of the file
 * are written and others not, and the program stops (SIGSTOP) */
#define _GNU_SOURCE
#include <fcntl.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <time.h>
#include <unistd.h>

static atomic_ulong flushes, state;

/* Is this the flush? */
static int the_one(const char *path)
{
    unsigned long wanted = 0;
    FILE *file = path == NULL ? NULL : fopen(path, "re");
    if (file != NULL) {
        if (fscanf(file, "%lu", &wanted) != 1) {
            wanted = 0;
        }
        fclose(file);
    }
    return wanted > 0 && atomic_fetch_add(&flushes, 1) + 1 == wanted;
}

static unsigned long draw(void)
{
    unsigned long x = atomic_fetch_add(&state, 0x9e3779b97f4a7c15UL) + (unsigned long)getpid();
    x = (x ^ (x >> 30)) * 0xbf58476d1ce4e5b9UL;
    x = (x ^ (x >> 27)) * 0x94d049bb133111ebUL;
    return x ^ (x >> 31);
}

static void write_some(int file)
{
    const off_t page = 4096;
    struct stat status;
    if (fstat(file, &status) != 0 || !S_ISREG(status.st_mode)) {
        return;
    }
    for (off_t at = 0; at < status.st_size; at += page) {
        if (draw() % 2 == 0) {
            (void)sync_file_range(file, at, page,
                                  SYNC_FILE_RANGE_WAIT_BEFORE | SYNC_FILE_RANGE_WRITE | SYNC_FILE_RANGE_WAIT_AFTER);
        }
    }
}

static int flush(int file, long call)
{
    const char *slow = getenv("DISK_SLOW");
    if (the_one(getenv("DISK_STOP"))) {
        write_some(file);
        (void)kill(getpid(), SIGSTOP);
    }
    if (getenv("DISK_DROP") != NULL) {
        return 0;
    }
    if (slow != NULL) {
        char *rest = NULL;
        const unsigned long least = strtoul(slow, &rest, 10);
        const unsigned long most = strtoul(rest, NULL, 10);
        const unsigned long ms = least + (most > least ? draw() % (most - least) : 0);
        const struct timespec wait = {.tv_sec = (time_t)(ms / 1000), .tv_nsec = (long)(ms % 1000) * 1000000L};
        (void)nanosleep(&wait, NULL);
    }
    return (int)syscall(call, file);
}

int fsync(int file)
{
    return flush(file, SYS_fsync);
}

int fdatasync(int file)
{
    return flush(file, SYS_fdatasync);
}
