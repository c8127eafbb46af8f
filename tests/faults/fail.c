/* Loaded before the C library: lets one chosen call fail. What is to fail stands in the file FAULTS_CONTROL, which the
 * test maps as well (faults.py), so that a running process is armed for one request. Counted and failed are calls on
 * regular files, and allocations of whoever makes them; sockets and pipes are left alone. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/uio.h>
#include <unistd.h>
#include <unwind.h>

enum { WRITES = 1, SYNCS = 2, SIZES = 4, OPENS = 8, READS = 16, MEMORY = 32 };
enum { FRAMES = 24, MODULE = 48 };

static struct control {
    _Atomic int64_t kinds;  /* bits of the above; 0 = nothing fails */
    _Atomic int64_t code;   /* errno; 0 = half of what was to be written is written */
    _Atomic int64_t left;   /* the call that fails: 1 is the next */
    _Atomic int64_t on;     /* 1: every later one as well */
    _Atomic int64_t seen;   /* calls of these kinds since it was armed */
    _Atomic int64_t failed; /* of those, how many were made to fail */
    _Atomic int64_t frames; /* where the first one was, for who looks into it */
    struct {
        int64_t offset;
        char module[MODULE];
    } where[FRAMES];
} none, *control = &none;

void *__libc_malloc(size_t size);
void *__libc_calloc(size_t count, size_t size);
void *__libc_realloc(void *old, size_t size);
void *__libc_memalign(size_t align, size_t size);
/* AddressSanitizer's, where the program has it as a library. */
#define WEAK __attribute__((weak))
void *__interceptor_malloc(size_t size) WEAK;
void *__interceptor_calloc(size_t count, size_t size) WEAK;
void *__interceptor_realloc(void *old, size_t size) WEAK;
void *__interceptor_memalign(size_t align, size_t size) WEAK;

__attribute__((constructor)) static void map_control(void)
{
    const char *path = getenv("FAULTS_CONTROL");
    const int file = path == NULL ? -1 : (int)syscall(SYS_openat, AT_FDCWD, path, O_RDWR | O_CLOEXEC);
    if (file < 0) {
        return;
    }
    void *shared = (void *)syscall(SYS_mmap, NULL, sizeof *control, PROT_READ | PROT_WRITE, MAP_SHARED, file, 0L);
    (void)syscall(SYS_close, file);
    if (shared != MAP_FAILED) {
        control = shared;
    }
}

static _Unwind_Reason_Code note_frame(struct _Unwind_Context *context, void *unused)
{
    (void)unused;
    const uintptr_t at = _Unwind_GetIP(context);
    const int64_t i = control->frames;
    Dl_info info;
    if (i >= FRAMES || dladdr((const void *)at, &info) == 0 || info.dli_fname == NULL) {
        return _URC_END_OF_STACK;
    }
    const char *slash = strrchr(info.dli_fname, '/');
    strncpy(control->where[i].module, slash == NULL ? info.dli_fname : slash + 1, MODULE - 1);
    control->where[i].offset = (int64_t)(at - (uintptr_t)info.dli_fbase);
    control->frames = i + 1;
    return _URC_NO_REASON;
}

/* Shall this call fail? Then errno is set (0: it is to be short). */
static int fails(int64_t kind)
{
    if ((atomic_load_explicit(&control->kinds, memory_order_acquire) & kind) == 0) {
        return 0;
    }
    atomic_fetch_add(&control->seen, 1);
    const int64_t left = atomic_fetch_sub(&control->left, 1);
    if (left > 1 || (left < 1 && control->on == 0)) {
        return 0;
    }
    if (atomic_fetch_add(&control->failed, 1) == 0) {
        (void)_Unwind_Backtrace(note_frame, NULL);
    }
    errno = (int)control->code;
    return 1;
}

static int is_file(int fd)
{
    struct stat status;
    const int before = errno;
    const int file = syscall(SYS_fstat, fd, &status) == 0 && S_ISREG(status.st_mode);
    errno = before;
    return file;
}

/* ---- memory ---- */

void *malloc(size_t size)
{
    if (fails(MEMORY)) {
        return NULL;
    }
    return __interceptor_malloc ? __interceptor_malloc(size) : __libc_malloc(size);
}

void *calloc(size_t count, size_t size)
{
    if (fails(MEMORY)) {
        return NULL;
    }
    return __interceptor_calloc ? __interceptor_calloc(count, size) : __libc_calloc(count, size);
}

void *realloc(void *old, size_t size)
{
    if (size > 0 && fails(MEMORY)) {
        return NULL;
    }
    return __interceptor_realloc ? __interceptor_realloc(old, size) : __libc_realloc(old, size);
}

void *reallocarray(void *old, size_t count, size_t size)
{
    if (size > 0 && count > SIZE_MAX / size) {
        errno = ENOMEM;
        return NULL;
    }
    return realloc(old, count * size);
}

void *memalign(size_t align, size_t size)
{
    if (fails(MEMORY)) {
        return NULL;
    }
    return __interceptor_memalign ? __interceptor_memalign(align, size) : __libc_memalign(align, size);
}

void *aligned_alloc(size_t align, size_t size)
{
    return memalign(align, size);
}

int posix_memalign(void **out, size_t align, size_t size)
{
    void *made = memalign(align, size);
    if (made == NULL) {
        return ENOMEM;
    }
    *out = made;
    return 0;
}

char *strndup(const char *text, size_t most)
{
    const size_t length = strnlen(text, most);
    char *copy = malloc(length + 1);
    if (copy != NULL) {
        memcpy(copy, text, length);
        copy[length] = '\0';
    }
    return copy;
}

char *strdup(const char *text)
{
    return strndup(text, SIZE_MAX - 1);
}

void *mmap64(void *at, size_t size, int protection, int flags, int fd, off_t offset)
{
    if ((flags & MAP_ANONYMOUS) != 0 && fails(MEMORY)) {
        return MAP_FAILED;
    }
    return (void *)syscall(SYS_mmap, at, size, protection, flags, fd, offset);
}

void *mmap(void *at, size_t size, int protection, int flags, int fd, off_t offset)
{
    return mmap64(at, size, protection, flags, fd, offset);
}

/* ---- files ---- */

/* The size that shall be written: less for a short write; 0 when it fails. */
static size_t written(int fd, size_t size)
{
    if (size == 0 || !is_file(fd) || !fails(WRITES)) {
        return size;
    }
    return errno == 0 ? size / 2 : 0;
}

ssize_t write(int fd, const void *bytes, size_t size)
{
    const size_t part = written(fd, size);
    return part == 0 && size > 0 ? -1 : syscall(SYS_write, fd, bytes, part);
}

ssize_t pwrite64(int fd, const void *bytes, size_t size, off_t at)
{
    const size_t part = written(fd, size);
    return part == 0 && size > 0 ? -1 : syscall(SYS_pwrite64, fd, bytes, part, at);
}

ssize_t pwrite(int fd, const void *bytes, size_t size, off_t at)
{
    return pwrite64(fd, bytes, size, at);
}

ssize_t writev(int fd, const struct iovec *parts, int count)
{
    if (is_file(fd) && fails(WRITES)) {
        return errno != 0 ? -1 : syscall(SYS_write, fd, parts[0].iov_base, parts[0].iov_len / 2 + 1);
    }
    return syscall(SYS_writev, fd, parts, count);
}

ssize_t pread64(int fd, void *bytes, size_t size, off_t at)
{
    return is_file(fd) && fails(READS) ? -1 : syscall(SYS_pread64, fd, bytes, size, at);
}

ssize_t pread(int fd, void *bytes, size_t size, off_t at)
{
    return pread64(fd, bytes, size, at);
}

ssize_t read(int fd, void *bytes, size_t size)
{
    return is_file(fd) && fails(READS) ? -1 : syscall(SYS_read, fd, bytes, size);
}

int fsync(int fd)
{
    return fails(SYNCS) ? -1 : (int)syscall(SYS_fsync, fd);
}

int fdatasync(int fd)
{
    return fails(SYNCS) ? -1 : (int)syscall(SYS_fdatasync, fd);
}

int ftruncate64(int fd, off_t size)
{
    return fails(SIZES) ? -1 : (int)syscall(SYS_ftruncate, fd, size);
}

int ftruncate(int fd, off_t size)
{
    return ftruncate64(fd, size);
}

int posix_fallocate64(int fd, off_t at, off_t size)
{
    if (fails(SIZES)) {
        return errno;
    }
    const int before = errno;
    const int failed = syscall(SYS_fallocate, fd, 0, at, size) == 0 ? 0 : errno;
    errno = before;
    return failed;
}

int posix_fallocate(int fd, off_t at, off_t size)
{
    return posix_fallocate64(fd, at, size);
}

int fallocate(int fd, int mode, off_t at, off_t size)
{
    return fails(SIZES) ? -1 : (int)syscall(SYS_fallocate, fd, mode, at, size);
}

static int open_file(int folder, const char *path, int flags, mode_t mode)
{
    if ((flags & (O_ACCMODE | O_CREAT)) != 0 && fails(OPENS)) {
        return -1;
    }
    return (int)syscall(SYS_openat, folder, path, flags, mode);
}

#define OPEN(name, folder)                                                                                             \
    {                                                                                                                  \
        va_list more;                                                                                                  \
        va_start(more, flags);                                                                                         \
        const mode_t mode = (flags & (O_CREAT | O_TMPFILE)) != 0 ? va_arg(more, mode_t) : 0;                           \
        va_end(more);                                                                                                  \
        return open_file(folder, path, flags, mode);                                                                   \
    }

int open(const char *path, int flags, ...) OPEN(open, AT_FDCWD) int open64(const char *path, int flags, ...)
    OPEN(open64, AT_FDCWD) int openat(int folder, const char *path, int flags, ...)
        OPEN(openat, folder) int openat64(int folder, const char *path, int flags, ...) OPEN(openat64, folder)
