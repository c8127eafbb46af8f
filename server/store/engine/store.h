/* The club's one file: opening it, reading it from any thread, writing it through one writer thread.
 *
 * Reads: each thread has its own query-only connection (store_reader). Writes: a job is queued; the writer runs many
 * jobs in one transaction, a savepoint each, and tells every caller only after the commit is on disk. */
#ifndef LEADSIDE_STORE_ENGINE_STORE_H
#define LEADSIDE_STORE_ENGINE_STORE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/arena.h"
#include "base/ids.h"
#include "base/times.h"

#define STORE_CHECKED __attribute__((warn_unused_result))
#define STORE_HASH 32 /* bytes of a SHA-256 */
#define STORE_SLUG 65 /* "top-check-in-a-mirror" or a UUID, with the final NUL */
#define STORE_PAGE_MAX 200

enum store_status {
    STORE_OK,
    STORE_NOT_FOUND, /* no such row, or a row names one that does not exist */
    STORE_CONFLICT,  /* unique: the name, the key or the place is taken */
    STORE_STALE,     /* the row's version has moved on (HTTP 412) */
    STORE_INVALID,   /* a value the schema refuses: the caller should have checked */
    STORE_UNAUDITED, /* a job changed rows and called neither store_audit_add nor store_audit_waive: rolled back */
    STORE_FULL,      /* the disk is full: try again later (503) */
    STORE_BUSY,      /* the queue is full or the file is held: try again (503) */
    STORE_CLOSED,    /* closing: no more writes are taken (503) */
    STORE_CORRUPT,
    STORE_NO_MEMORY,
    STORE_ERROR,
    STORE_STATUS_COUNT
};

const char *store_status_name(enum store_status status); /* "ok", "not found", ... */

struct store;
struct store_restored; /* store/engine/ledger.h */
struct store_db;       /* one connection, used by one thread at a time */

/* Zero means the default, so {.directory = dir} is enough. */
struct store_config {
    const char *directory; /* holds leadside.db; made (0700) when missing */
    size_t queue_limit;    /* waiting jobs before STORE_BUSY; 1024 */
    size_t batch_limit;    /* jobs in one commit at most; 256 */
    bool commit_each;      /* one commit for every job (to compare against) */
    bool must_exist;       /* refuse rather than create a new file */
    bool shared;           /* for short commands beside a running server: no exclusive hold on the directory */
    int busy_timeout_ms;   /* 5000 */
    int idle_ms;           /* quiet time before the log is folded back into the file; 2000 */
};

/* For a program of many threads, once and before its first store_open: SQLite no longer counts its memory, which it
 * does under one lock for all, and keeps what a savepoint may undo in memory for longer. Too late, it goes on as it
 * was. */
void store_prepare_threads(void);

/* What opening it made of the ledger of what was ended (store/engine/ledger.h). */
const struct store_restored *store_restored(const struct store *store);
/* Could others on the machine read the file before this opened it? Opening makes it its owner's alone. */
bool store_was_readable(const struct store *store);

/* Takes no more jobs, finishes every queued one (each gets its done call) and stops the writer. Reads go on. */
void store_drain(struct store *store);
/* store_drain, then closes every connection. Every other thread must have stopped using the store. NULL is fine. */
void store_close(struct store *store);

/* This thread's read connection, opened on its first call; NULL when that fails. Lives until the thread or store ends.
 */
struct store_db *store_reader(struct store *store) STORE_CHECKED;
/* One read transaction: everything between sees one moment. Reads outside it work too, each for itself. May be begun
 * again inside: the outermost counts. */
enum store_status store_read_begin(struct store_db *db) STORE_CHECKED;
void store_read_end(struct store_db *db);

/* A write job, run by the writer inside a savepoint. Anything but STORE_OK undoes this job alone. It must be quick, and
 * may only touch db and argument. Runs at most once. */
typedef enum store_status (*store_job_fn)(struct store_db *db, void *argument);
/* The outcome, after the commit is on disk (or has failed). Called by the writer thread: must not block. */
typedef void (*store_done_fn)(enum store_status status, void *argument);

/* Queues a job. STORE_OK: done will be called exactly once. STORE_BUSY, STORE_CLOSED: it never will. */
enum store_status store_submit(struct store *store, store_job_fn job, store_done_fn done, void *argument) STORE_CHECKED;
/* Queues a job, waits for room and for its outcome. Not from a job or a done call. */
enum store_status store_run(struct store *store, store_job_fn job, void *argument) STORE_CHECKED;

#define STORE_BATCH_BUCKETS 9 /* commits of 1, 2, 3-4, 5-8, ... 65-128, more jobs */

struct store_metrics {
    size_t queue_depth, queue_limit;
    uint64_t jobs;        /* finished, whatever the outcome */
    uint64_t jobs_failed; /* not STORE_OK */
    uint64_t refused;     /* STORE_BUSY or STORE_CLOSED on submitting */
    uint64_t commits, commits_failed;
    uint64_t batch_max, batch[STORE_BATCH_BUCKETS];
    double commit_seconds, commit_seconds_max; /* in COMMIT alone: sum, greatest */
    uint64_t checkpoints;                      /* when idle */
    int64_t wal_bytes, file_bytes;
    uint64_t damaged_pages; /* read since the program began */
    int64_t free_bytes;     /* of the disk, for us; INT64_MAX when not known */
    enum store_status last; /* of the last commit */
    bool writer_alive;
};
void store_measure(struct store *store, struct store_metrics *out);

/* One page of a list, ordered by id (so by time of making), and what the list is narrowed to: each list heeds those
 * that its function names. */
struct store_page {
    const char *after;     /* the last id of the page before; NULL or "" for the first page */
    int limit;             /* 1...STORE_PAGE_MAX; 0 = 50 */
    const char *name;      /* a part of the name, capital or not; NULL = whatever */
    int archived;          /* or disabled: 1 those alone, -1 the others alone, 0 both */
    int64_t updated_since; /* changed then or later; 0 = whenever */
    int64_t from, to;      /* then or later; before that; 0 = whenever */
};

/* Conventions of every file beside this one:
 * - functions take a store_db: a reader's for reading, a job's for writing;
 * - ids are UUIDv7 text made by the caller (uuid7_new) before inserting; "" = none; times are UTC milliseconds, 0 =
 * none;
 * - text comes back in the arena given; NULL = none; on the way in text is borrowed until the call returns;
 * - inserts set version to 1 in the file; updates match the version in the struct, and raise it there on STORE_OK;
 * - lists set more when another page follows;
 * - STORE_NOT_FOUND is an ordinary outcome of every find. */

#endif
