/* A layer between SQLite and the operating system's files (https://sqlite.org/vfs.html): it seals each page of the
 * club's file on its way to the disk and looks at the seal of each on its way back. The log needs no seals: its frames
 * have sums of their own, which SQLite looks at only after a crash; here they are looked at on every read. */
#include <pthread.h>
#include <sqlite3.h>
#include <stdatomic.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include "store/engine/seal.h"

#define LOG_HEADER 32
#define FRAME_HEADER 24
#define NO_FRAME INT64_MAX
#define TOLD_MAX 20 /* lines about damage, in the life of the process */

/* SQLite gives the memory: szOsFile bytes, the real file behind this. */
struct sealed_file {
    sqlite3_file base;
    sqlite3_file *real;
    struct sealed_file *main; /* of a log: the file it belongs to; of the file: itself */
    const char *name;
    bool sealed;          /* of a file: its pages carry seals */
    size_t page_size;     /* of a file; 0 = not known yet */
    unsigned char *spare; /* one page, or one frame */
    size_t spare_size;
    int64_t header_at;            /* of a log: where the newest frame's header was written */
    bool order_known, big_endian; /* of a log: the order of the bytes in its sums, which is that of its machine */
    int64_t overwritten; /* of a log: frames from here on may await their sum (a page written again before a commit) */
};

static sqlite3_vfs *real_vfs;
static sqlite3_vfs sealing_vfs;
static atomic_uint_fast64_t damage;

uint64_t seal_damage_count(void)
{
    return atomic_load(&damage);
}

static int damaged(const struct sealed_file *file, const char *what, int64_t number)
{
    if (atomic_fetch_add(&damage, 1) < TOLD_MAX) {
        (void)fprintf(stderr, "leadside: %s: %s %lld is damaged: it is not what was written\n", file->name, what,
                      (long long)number);
    }
    return SQLITE_IOERR_DATA;
}

static int real_read(struct sealed_file *file, void *out, int amount, int64_t at)
{
    return file->real->pMethods->xRead(file->real, out, amount, at);
}

static unsigned char *spare_page(struct sealed_file *file, size_t size)
{
    if (file->spare_size < size) {
        unsigned char *more = sqlite3_realloc64(file->spare, size);
        if (!more) {
            return NULL;
        }
        file->spare = more;
        file->spare_size = size;
    }
    return file->spare;
}

/* ---- the file ---- */

/* What the header says, whenever one passes. Once sealed, always sealed: a damaged header must not lift the guard. */
static void note_header(struct sealed_file *file, const unsigned char *header)
{
    const size_t size = seal_page_size(header);
    if (size != 0) {
        file->page_size = size;
        file->sealed = file->sealed || seal_in_header(header);
    }
}

static int whole_page(struct sealed_file *file, unsigned char *page, int64_t number)
{
    const size_t size = file->page_size;
    const int code = real_read(file, page, (int)size, (number - 1) * (int64_t)size);
    if (code == SQLITE_IOERR_SHORT_READ) {
        return damaged(file, "page", number);
    }
    if (code == SQLITE_OK && !seal_holds(page, size, (uint32_t)number)) {
        return damaged(file, "page", number);
    }
    return code;
}

static int read_file(struct sealed_file *file, void *out, int amount, int64_t at)
{
    const int64_t size = (int64_t)file->page_size;
    if (at + amount <= SEAL_READ_ALL || !file->sealed || size == 0) {
        /* A glance at the header: the page comes whole before anything in it is believed. */
        const int code = real_read(file, out, amount, at);
        if (code == SQLITE_OK && at == 0 && amount >= SEAL_READ_ALL) {
            note_header(file, out);
        }
        return code;
    }
    const int64_t number = at / size + 1;
    if (at % size == 0 && amount == size) {
        return whole_page(file, out, number);
    }
    if (at % size + amount > size) {
        return damaged(file, "page", number); /* another page's size: the header is not what was written */
    }
    unsigned char *page = spare_page(file, (size_t)size);
    const int code = page ? whole_page(file, page, number) : SQLITE_IOERR_NOMEM;
    if (code == SQLITE_OK) {
        memcpy(out, page + at % size, (size_t)amount);
    }
    return code;
}

static int write_file(struct sealed_file *file, const void *bytes, int amount, int64_t at)
{
    if (at == 0 && amount >= SEAL_READ_ALL) {
        note_header(file, bytes);
    }
    if (file->sealed && file->page_size == 0) {
        file->page_size = (size_t)amount;
    }
    if (!file->sealed || amount != (int)file->page_size || at % amount != 0) {
        return file->real->pMethods->xWrite(file->real, bytes, amount, at);
    }
    unsigned char *page = spare_page(file, file->page_size);
    if (!page) {
        return SQLITE_IOERR_NOMEM;
    }
    const uint32_t number = (uint32_t)(at / amount + 1);
    memcpy(page, bytes, (size_t)amount);
    seal_scrub(page, file->page_size, number);
    seal_put(page, file->page_size, number);
    return file->real->pMethods->xWrite(file->real, page, amount, at);
}

/* ---- the log ---- */

static int64_t frame_size(const struct sealed_file *log)
{
    return FRAME_HEADER + (int64_t)log->main->page_size;
}

/* Does a frame's header, or its page, lie at this place? */
static bool at_frame(const struct sealed_file *log, int64_t at, int64_t offset)
{
    return at >= LOG_HEADER + offset && (at - LOG_HEADER - offset) % frame_size(log) == 0;
}

/* The sum of a frame goes on from the one before it, or from the log's own header. frame: its header and its page. */
static int frame_holds(struct sealed_file *log, const unsigned char *frame, int64_t index)
{
    unsigned char head[LOG_HEADER] = {0};
    unsigned char before[8];
    int code = SQLITE_OK;
    if (index == 0 || !log->order_known) {
        code = real_read(log, head, LOG_HEADER, 0);
        log->order_known = code == SQLITE_OK;
        log->big_endian = (head[3] & 1) != 0;
    }
    memcpy(before, head + 24, sizeof before);
    if (code == SQLITE_OK && index > 0) {
        code = real_read(log, before, sizeof before, LOG_HEADER + (index - 1) * frame_size(log) + 16);
    }
    if (code != SQLITE_OK) {
        return code == SQLITE_IOERR_SHORT_READ ? damaged(log, "frame", index + 1) : code;
    }
    uint32_t sum[2];
    for (size_t i = 0; i < 2; i++) {
        const unsigned char *b = before + 4 * i;
        sum[i] = (uint32_t)b[0] << 24 | (uint32_t)b[1] << 16 | (uint32_t)b[2] << 8 | b[3];
    }
    seal_log_sum(log->big_endian, frame, 8, sum);
    seal_log_sum(log->big_endian, frame + FRAME_HEADER, log->main->page_size, sum);
    for (size_t i = 0; i < 8; i++) {
        if (frame[16 + i] != (unsigned char)(sum[i / 4] >> (24 - 8 * (i % 4)))) {
            return damaged(log, "frame", index + 1);
        }
    }
    return SQLITE_OK;
}

static int read_log(struct sealed_file *log, void *out, int amount, int64_t at)
{
    const bool page = log->main->sealed && amount == (int)log->main->page_size && at_frame(log, at, FRAME_HEADER);
    if (!page || at > log->overwritten) {
        return real_read(log, out, amount, at);
    }
    const int64_t index = (at - LOG_HEADER) / frame_size(log);
    unsigned char *frame = spare_page(log, (size_t)frame_size(log));
    if (!frame) {
        return SQLITE_IOERR_NOMEM;
    }
    int code = real_read(log, frame, FRAME_HEADER + amount, at - FRAME_HEADER);
    if (code == SQLITE_OK) {
        code = frame_holds(log, frame, index);
        memcpy(out, frame + FRAME_HEADER, (size_t)amount);
    }
    return code == SQLITE_IOERR_SHORT_READ ? damaged(log, "frame", index + 1) : code;
}

/* Keeps rules of which frames SQLite has written a second time: their sums follow when it commits. */
static int write_log(struct sealed_file *log, const void *bytes, int amount, int64_t at)
{
    if (at == 0) {
        log->header_at = -1;
        log->order_known = false;
        log->overwritten = NO_FRAME;
    } else if (amount == FRAME_HEADER && at_frame(log, at, 0)) {
        log->header_at = at;
        log->overwritten = at == log->overwritten ? NO_FRAME : log->overwritten;
    } else if (amount == (int)log->main->page_size && at_frame(log, at, FRAME_HEADER) &&
               log->header_at != at - FRAME_HEADER && at - FRAME_HEADER < log->overwritten) {
        log->overwritten = at - FRAME_HEADER;
    }
    return log->real->pMethods->xWrite(log->real, bytes, amount, at);
}

/* ---- a file's methods ---- */

static struct sealed_file *own(sqlite3_file *file)
{
    return (struct sealed_file *)file;
}

static int file_close(sqlite3_file *file)
{
    sqlite3_free(own(file)->spare);
    return own(file)->real->pMethods->xClose(own(file)->real);
}

static int file_read(sqlite3_file *file, void *out, int amount, sqlite3_int64 at)
{
    return own(file)->main == own(file) ? read_file(own(file), out, amount, at) : read_log(own(file), out, amount, at);
}

static int file_write(sqlite3_file *file, const void *bytes, int amount, sqlite3_int64 at)
{
    return own(file)->main == own(file) ? write_file(own(file), bytes, amount, at)
                                        : write_log(own(file), bytes, amount, at);
}

static int file_truncate(sqlite3_file *file, sqlite3_int64 size)
{
    struct sealed_file *sealed = own(file);
    if (size == 0) {
        sealed->sealed = true; /* empty: whatever comes is ours */
        sealed->page_size = sealed->main == sealed ? 0 : sealed->page_size;
        sealed->overwritten = NO_FRAME;
    }
    return sealed->real->pMethods->xTruncate(sealed->real, size);
}

static int file_sync(sqlite3_file *file, int flags)
{
    return own(file)->real->pMethods->xSync(own(file)->real, flags);
}

static int file_size(sqlite3_file *file, sqlite3_int64 *size)
{
    return own(file)->real->pMethods->xFileSize(own(file)->real, size);
}

static int file_lock(sqlite3_file *file, int lock)
{
    return own(file)->real->pMethods->xLock(own(file)->real, lock);
}

static int file_unlock(sqlite3_file *file, int lock)
{
    return own(file)->real->pMethods->xUnlock(own(file)->real, lock);
}

static int file_check_lock(sqlite3_file *file, int *out)
{
    return own(file)->real->pMethods->xCheckReservedLock(own(file)->real, out);
}

static int file_control(sqlite3_file *file, int operation, void *argument)
{
    return own(file)->real->pMethods->xFileControl(own(file)->real, operation, argument);
}

static int file_sector(sqlite3_file *file)
{
    return own(file)->real->pMethods->xSectorSize(own(file)->real);
}

static int file_device(sqlite3_file *file)
{
    return own(file)->real->pMethods->xDeviceCharacteristics(own(file)->real);
}

static int file_shared_map(sqlite3_file *file, int region, int size, int extend, void volatile **out)
{
    return own(file)->real->pMethods->xShmMap(own(file)->real, region, size, extend, out);
}

static int file_shared_lock(sqlite3_file *file, int offset, int count, int flags)
{
    return own(file)->real->pMethods->xShmLock(own(file)->real, offset, count, flags);
}

static void file_shared_barrier(sqlite3_file *file)
{
    own(file)->real->pMethods->xShmBarrier(own(file)->real);
}

static int file_shared_unmap(sqlite3_file *file, int remove)
{
    return own(file)->real->pMethods->xShmUnmap(own(file)->real, remove);
}

/* Version 2: no page is ever mapped into memory, where nobody would look at its seal. */
static const sqlite3_io_methods methods = {
    .iVersion = 2,
    .xClose = file_close,
    .xRead = file_read,
    .xWrite = file_write,
    .xTruncate = file_truncate,
    .xSync = file_sync,
    .xFileSize = file_size,
    .xLock = file_lock,
    .xUnlock = file_unlock,
    .xCheckReservedLock = file_check_lock,
    .xFileControl = file_control,
    .xSectorSize = file_sector,
    .xDeviceCharacteristics = file_device,
    .xShmMap = file_shared_map,
    .xShmLock = file_shared_lock,
    .xShmBarrier = file_shared_barrier,
    .xShmUnmap = file_shared_unmap,
};

/* ---- the layer's methods ---- */

/* Empty, or sealed already? The first look at a file. */
static int look_at(struct sealed_file *file)
{
    unsigned char header[SEAL_READ_ALL];
    sqlite3_int64 size = 0;
    int code = file->real->pMethods->xFileSize(file->real, &size);
    file->sealed = size == 0;
    if (code == SQLITE_OK && size >= SEAL_READ_ALL) {
        code = real_read(file, header, SEAL_READ_ALL, 0);
        if (code == SQLITE_OK) {
            note_header(file, header);
        }
    }
    return code;
}

static int vfs_open(sqlite3_vfs *vfs, const char *name, sqlite3_file *out, int flags, int *out_flags)
{
    (void)vfs;
    if (!name || !(flags & (SQLITE_OPEN_MAIN_DB | SQLITE_OPEN_WAL))) {
        return real_vfs->xOpen(real_vfs, name, out, flags, out_flags);
    }
    struct sealed_file *file = own(out);
    *file = (struct sealed_file){.name = name, .main = file, .header_at = -1, .overwritten = NO_FRAME};
    file->real = (sqlite3_file *)(file + 1);
    if (flags & SQLITE_OPEN_WAL) {
        file->main = own(sqlite3_database_file_object(name));
    }
    int code = real_vfs->xOpen(real_vfs, name, file->real, flags, out_flags);
    if (code == SQLITE_OK && file->main == file) {
        code = look_at(file);
        if (code != SQLITE_OK) {
            (void)file->real->pMethods->xClose(file->real);
        }
    }
    file->base.pMethods = code == SQLITE_OK ? &methods : NULL;
    return code;
}

static int vfs_delete(sqlite3_vfs *vfs, const char *name, int sync)
{
    (void)vfs;
    return real_vfs->xDelete(real_vfs, name, sync);
}

static int vfs_access(sqlite3_vfs *vfs, const char *name, int flags, int *out)
{
    (void)vfs;
    return real_vfs->xAccess(real_vfs, name, flags, out);
}

static int vfs_full_name(sqlite3_vfs *vfs, const char *name, int size, char *out)
{
    (void)vfs;
    return real_vfs->xFullPathname(real_vfs, name, size, out);
}

static int vfs_random(sqlite3_vfs *vfs, int size, char *out)
{
    (void)vfs;
    return real_vfs->xRandomness(real_vfs, size, out);
}

static int vfs_sleep(sqlite3_vfs *vfs, int microseconds)
{
    (void)vfs;
    return real_vfs->xSleep(real_vfs, microseconds);
}

static int vfs_time(sqlite3_vfs *vfs, double *out)
{
    (void)vfs;
    return real_vfs->xCurrentTime(real_vfs, out);
}

static int vfs_time_ms(sqlite3_vfs *vfs, sqlite3_int64 *out)
{
    (void)vfs;
    return real_vfs->xCurrentTimeInt64(real_vfs, out);
}

static int vfs_last_error(sqlite3_vfs *vfs, int size, char *out)
{
    (void)vfs;
    return real_vfs->xGetLastError(real_vfs, size, out);
}

static void register_once(void)
{
    real_vfs = sqlite3_vfs_find(NULL);
    if (!real_vfs || real_vfs->iVersion < 2) {
        return;
    }
    /* Extensions are never loaded, hence no xDlOpen. */
    sealing_vfs = (sqlite3_vfs){
        .iVersion = 2,
        .szOsFile = (int)sizeof(struct sealed_file) + real_vfs->szOsFile,
        .mxPathname = real_vfs->mxPathname,
        .zName = SEAL_VFS,
        .xOpen = vfs_open,
        .xDelete = vfs_delete,
        .xAccess = vfs_access,
        .xFullPathname = vfs_full_name,
        .xRandomness = vfs_random,
        .xSleep = vfs_sleep,
        .xCurrentTime = vfs_time,
        .xGetLastError = vfs_last_error,
        .xCurrentTimeInt64 = vfs_time_ms,
    };
    (void)sqlite3_vfs_register(&sealing_vfs, 0);
}

bool seal_vfs_register(void)
{
    static pthread_once_t once = PTHREAD_ONCE_INIT;
    (void)pthread_once(&once, register_once);
    return sqlite3_vfs_find(SEAL_VFS) != NULL;
}
