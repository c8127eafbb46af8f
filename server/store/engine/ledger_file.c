/* The file beside the club's: read whole at a start, added to before a commit. */
#include "store/engine/ledger_file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#define LEDGER_BYTES_MAX (256 << 20)

/* Bytes of the file; -1 when it can't be told. */
static int64_t size_of(const struct ledger *ledger)
{
    struct stat status;
    return fstat(ledger->file, &status) == 0 ? (int64_t)status.st_size : -1;
}

/* A crash may have cut the newest line short: what it told of was never answered. */
static bool take_off_torn_line(const struct ledger *ledger)
{
    int64_t size = size_of(ledger);
    const int64_t whole = size;
    char last = '\n';
    while (size > 0 && pread(ledger->file, &last, 1, (off_t)(size - 1)) == 1 && last != '\n') {
        size--;
    }
    return size >= 0 && (size == whole || ftruncate(ledger->file, (off_t)size) == 0);
}

static bool open_file(struct ledger *ledger, const char *directory, bool must_exist, char *error, size_t error_size)
{
    char path[4096];
    const int length = snprintf(path, sizeof path, "%s/" LEDGER_FILE, directory);
    if (length < 0 || (size_t)length >= sizeof path) {
        (void)snprintf(error, error_size, "The directory's name is too long.");
        return false;
    }
    const int flags = O_APPEND | O_CLOEXEC | O_NOFOLLOW | (must_exist ? O_RDONLY : O_RDWR | O_CREAT);
    ledger->file = open(path, flags, 0600);
    if (ledger->file < 0 && must_exist && errno == ENOENT) {
        return false;
    }
    struct stat status;
    if (ledger->file < 0 || fstat(ledger->file, &status) != 0) {
        (void)snprintf(error, error_size, "%s can't be opened: %s.", path, strerror(errno));
        return false;
    }
    if (must_exist) {
        return true;
    }
    if (!S_ISREG(status.st_mode) || ((status.st_mode & 077) != 0 && fchmod(ledger->file, 0600) != 0)) {
        (void)snprintf(error, error_size, "%s must be a file of its owner alone.", path);
        return false;
    }
    (void)flock(ledger->file, LOCK_EX);
    const bool whole = take_off_torn_line(ledger);
    (void)flock(ledger->file, LOCK_UN);
    if (!whole) {
        (void)snprintf(error, error_size, "%s can't be mended: %s.", path, strerror(errno));
    }
    return whole;
}

struct ledger *ledger_open(const char *directory, bool must_exist, char *error, size_t error_size)
{
    struct ledger *ledger = calloc(1, sizeof *ledger);
    if (!ledger) {
        (void)snprintf(error, error_size, "Not enough memory to open the ledger.");
        return NULL;
    }
    ledger->file = -1;
    if (!open_file(ledger, directory, must_exist, error, error_size)) {
        ledger_close(ledger);
        return NULL;
    }
    return ledger;
}

void ledger_close(struct ledger *ledger)
{
    if (!ledger) {
        return;
    }
    if (ledger->file >= 0) {
        close(ledger->file);
    }
    free(ledger->waiting);
    free(ledger);
}

static bool read_line(char *text, struct ledger_line *line)
{
    char *save = NULL;
    const char *kind = strtok_r(text, " ", &save);
    const char *id = strtok_r(NULL, " ", &save);
    const char *at = strtok_r(NULL, " ", &save);
    if (!kind || strlen(kind) >= sizeof line->kind || !id || !uuid_valid(id) || !at) {
        return false;
    }
    char *end = NULL;
    line->at = strtoll(at, &end, 10);
    memcpy(line->kind, kind, strlen(kind) + 1);
    memcpy(line->id, id, UUID_TEXT);
    return *end == '\0';
}

bool ledger_read(struct ledger *ledger, struct arena *arena, struct ledger_line **lines, size_t *count, char *error,
                 size_t error_size)
{
    const int64_t size = size_of(ledger);
    *count = 0;
    char *text = size >= 0 && size < LEDGER_BYTES_MAX ? arena_alloc(arena, (size_t)size + 1) : NULL;
    int64_t got = 0;
    for (ssize_t more = 1; text && got < size && more > 0; got += more > 0 ? more : 0) {
        more = pread(ledger->file, text + got, (size_t)(size - got), (off_t)got);
    }
    if (!text || got != size) {
        (void)snprintf(error, error_size, "The ledger of erasures can't be read.");
        return false;
    }
    text[size] = '\0';
    size_t rows = 0;
    for (int64_t i = 0; i < size; i++) {
        rows += text[i] == '\n';
    }
    *lines = arena_alloc(arena, (rows + 1) * sizeof **lines);
    if (!*lines) {
        (void)snprintf(error, error_size, "Not enough memory to read the ledger of erasures.");
        return false;
    }
    for (char *start = text; *count < rows; (*count)++) {
        char *end = memchr(start, '\n', (size_t)(text + size - start));
        *end = '\0';
        const bool whole = strlen(start) == (size_t)(end - start); /* a NUL is no end */
        if (!whole || !read_line(start, &(*lines)[*count])) {
            (void)snprintf(error, error_size,
                           "Line %zu of the ledger \"" LEDGER_FILE
                           "\" can't be read: put it right, or take that line out.",
                           *count + 1);
            return false;
        }
        start = end + 1;
    }
    return true;
}

enum store_status ledger_wait(struct ledger *ledger, const char *kind, const char *id, int64_t at)
{
    if (ledger->waiting_room - ledger->waiting_size < LEDGER_LINE) {
        const size_t room = ledger->waiting_room * 2 + (size_t)LEDGER_LINE * 16;
        char *more = realloc(ledger->waiting, room);
        if (!more) {
            return STORE_NO_MEMORY;
        }
        ledger->waiting = more;
        ledger->waiting_room = room;
    }
    const int length =
        snprintf(ledger->waiting + ledger->waiting_size, LEDGER_LINE, "%s %s %lld\n", kind, id, (long long)at);
    if (length < 0 || length >= LEDGER_LINE) {
        return STORE_INVALID;
    }
    ledger->waiting_size += (size_t)length;
    return STORE_OK;
}

/* 0, or why not all that waits could be written. */
static int append(const struct ledger *ledger)
{
    int fault = 0;
    for (size_t done = 0; !fault && done < ledger->waiting_size;) {
        const ssize_t more = write(ledger->file, ledger->waiting + done, ledger->waiting_size - done);
        if (more > 0) {
            done += (size_t)more;
        } else if (more == 0 || errno != EINTR) {
            fault = more == 0 ? ENOSPC : errno;
        }
    }
    return fault;
}

enum store_status ledger_write(struct ledger *ledger)
{
    (void)flock(ledger->file, LOCK_EX);
    ledger->size_before = size_of(ledger);
    int fault = ledger->size_before < 0 ? EIO : append(ledger);
    if (!fault && fsync(ledger->file) != 0) {
        fault = errno;
    }
    if (fault) {
        ledger_take_back(ledger);
    }
    (void)flock(ledger->file, LOCK_UN);
    ledger->waiting_size = 0;
    return !fault ? STORE_OK : fault == ENOSPC || fault == EDQUOT ? STORE_FULL : STORE_ERROR;
}

void ledger_take_back(struct ledger *ledger)
{
    if (ledger->size_before >= 0 && ftruncate(ledger->file, (off_t)ledger->size_before) == 0) {
        (void)fsync(ledger->file);
    }
}

void ledger_kept(struct ledger *ledger)
{
    char id[UUID_TEXT];
    uuid7_new(id);
    ledger->waiting_size = 0;
    if (ledger_wait(ledger, LEDGER_KEPT, id, clock_now_ms()) == STORE_OK) {
        (void)flock(ledger->file, LOCK_EX);
        ledger->size_before = size_of(ledger);
        if (append(ledger) != 0) {
            ledger_take_back(ledger);
        }
        (void)flock(ledger->file, LOCK_UN);
    }
    ledger->waiting_size = 0;
}
