/* Group commit: the writer takes whatever waits, runs it in one transaction with a savepoint for each job, commits, and
 * only then tells the callers. Batches form by themselves while a commit is on its way to the disk; nobody waits for a
 * timer. */
#include "store/engine/writer.h"

#include <errno.h>
#include <signal.h>
#include <stdlib.h>
#include <time.h>

#include "store/engine/query.h"
#include "store/engine/running.h"

static enum store_status control(struct store_db *db, enum statement index)
{
    struct query query;
    query_open(&query, db, index);
    return query_run(&query);
}

/* What ends a transaction is made ready before it begins: it must need no memory. One that could not be ended all the
 * same is undone here, or none could ever begin again. */
static enum store_status begin(struct store_db *db, enum statement index)
{
    static const enum statement ends[] = {WRITER_COMMIT, WRITER_ROLLBACK, WRITER_UNDO, WRITER_RELEASE};
    enum store_status status = STORE_OK;
    for (size_t i = 0; i < sizeof ends / sizeof *ends && status == STORE_OK; i++) {
        struct query query;
        query_open(&query, db, ends[i]);
        status = query.status;
        query_close(&query);
    }
    if (status == STORE_OK && !sqlite3_get_autocommit(db->handle)) {
        status = control(db, WRITER_ROLLBACK);
    }
    return status == STORE_OK ? control(db, index) : status;
}

enum store_status store_read_begin(struct store_db *db)
{
    const enum store_status status = db->reading == 0 ? begin(db, WRITER_BEGIN_READ) : STORE_OK;
    db->reading += status == STORE_OK;
    return status;
}

void store_read_end(struct store_db *db)
{
    db->reading--;
    if (db->reading == 0 && !sqlite3_get_autocommit(db->handle)) {
        (void)control(db, WRITER_COMMIT);
    }
}

/* Runs one job inside its savepoint. False when the whole transaction was lost (SQLite undoes everything when the disk
 * is full or memory short), true otherwise, whatever the job's own status. */
static bool run_job(struct store_db *db, struct writer_job *job)
{
    const sqlite3_int64 before = sqlite3_total_changes64(db->handle);
    const size_t lines = db->ledger ? db->ledger->waiting_size : 0;
    const unsigned shortages = arena_shortages();
    db->audited = false;
    db->last = STORE_OK;
    job->status = control(db, WRITER_SAVE);
    if (job->status == STORE_OK) {
        job->status = job->run(db, job->argument);
    }
    if (arena_shortages() != shortages) {
        job->status = STORE_NO_MEMORY; /* what it wrote may lack something, what it complains of may be there */
    }
    if (job->status == STORE_OK && !db->audited && sqlite3_total_changes64(db->handle) != before) {
        job->status = STORE_UNAUDITED;
    }
    if (sqlite3_get_autocommit(db->handle)) {
        if (job->status == STORE_OK) {
            job->status = db->last != STORE_OK ? db->last : STORE_ERROR;
        }
        return false;
    }
    if (job->status == STORE_OK) {
        job->status = control(db, WRITER_RELEASE);
        return job->status == STORE_OK;
    }
    if (db->ledger) {
        db->ledger->waiting_size = lines;
    }
    return control(db, WRITER_UNDO) == STORE_OK && control(db, WRITER_RELEASE) == STORE_OK;
}

static void fail_all(struct writer_job *jobs, size_t count, enum store_status status)
{
    for (size_t i = 0; i < count; i++) {
        if (jobs[i].status == STORE_OK) {
            jobs[i].status = status;
        }
    }
}

static void count_commit(struct store *store, enum store_status status, size_t jobs, int64_t nanoseconds)
{
    const double seconds = (double)nanoseconds * 1e-9;
    size_t bucket = 0;
    while (bucket < STORE_BATCH_BUCKETS - 1 && jobs > ((size_t)1 << bucket)) {
        bucket++;
    }
    pthread_mutex_lock(&store->mutex);
    struct store_metrics *metrics = &store->metrics;
    metrics->last = status;
    if (status == STORE_OK) {
        metrics->commits++;
        metrics->batch[bucket]++;
        metrics->batch_max = jobs > metrics->batch_max ? jobs : metrics->batch_max;
        metrics->commit_seconds += seconds;
        metrics->commit_seconds_max = seconds > metrics->commit_seconds_max ? seconds : metrics->commit_seconds_max;
    } else {
        metrics->commits_failed++;
    }
    pthread_mutex_unlock(&store->mutex);
}

/* The lines of the ledger come first: an erasure that is in the file and not in the ledger could come back with a
 * backup. */
static enum store_status commit(struct store_db *db)
{
    const bool lines = db->ledger && db->ledger->waiting_size > 0;
    enum store_status status = lines ? ledger_write(db->ledger) : STORE_OK;
    if (status != STORE_OK) {
        return status;
    }
    status = control(db, WRITER_COMMIT);
    if (lines) {
        (status == STORE_OK ? ledger_kept : ledger_take_back)(db->ledger);
    }
    return status;
}

static void forget_lines(struct store_db *db)
{
    db->ended = false;
    if (db->ledger) {
        db->ledger->waiting_size = 0;
    }
}

/* What a failed commit has left in the log can be whole, when all that failed was to wait for the disk: the next start
 * would take it up, though its callers were told that nothing was changed. The next transaction is written over it, so
 * one follows at once. */
static void bury(struct store_db *db)
{
    if (begin(db, WRITER_BEGIN_WRITE) == STORE_OK &&
        (store_running_save(db) != STORE_OK || control(db, WRITER_COMMIT) != STORE_OK) &&
        !sqlite3_get_autocommit(db->handle)) {
        (void)control(db, WRITER_ROLLBACK);
    }
}

/* One transaction over as many of the jobs as it holds; returns how many were settled (at least one). */
static size_t run_group(struct store *store, struct writer_job *jobs, size_t count)
{
    struct store_db *db = store->db;
    enum store_status status = begin(db, WRITER_BEGIN_WRITE);
    if (status != STORE_OK) {
        for (size_t i = 0; i < count; i++) {
            jobs[i].status = status;
        }
        count_commit(store, status, count, 0);
        return count;
    }
    for (size_t i = 0; i < count; i++) {
        if (!run_job(db, &jobs[i])) {
            /* What ran before it is gone as well; what has not run yet starts afresh. */
            status = jobs[i].status != STORE_OK ? jobs[i].status : STORE_ERROR;
            fail_all(jobs, i, status);
            forget_lines(db);
            if (!sqlite3_get_autocommit(db->handle)) {
                (void)control(db, WRITER_ROLLBACK);
            }
            count_commit(store, status, i + 1, 0);
            return i + 1;
        }
    }
    const int64_t start = clock_monotonic_ns();
    status = commit(db);
    const int64_t taken = clock_monotonic_ns() - start;
    if (status != STORE_OK) {
        fail_all(jobs, count, status);
        forget_lines(db);
        if (!sqlite3_get_autocommit(db->handle)) {
            (void)control(db, WRITER_ROLLBACK);
        }
        bury(db);
    }
    count_commit(store, status, count, taken);
    return count;
}

static void settle(struct store *store, struct writer_job *jobs, size_t count)
{
    size_t failed = 0;
    for (size_t i = 0; i < count; i++) {
        failed += jobs[i].status != STORE_OK;
    }
    pthread_mutex_lock(&store->mutex);
    store->metrics.jobs += count;
    store->metrics.jobs_failed += failed;
    pthread_mutex_unlock(&store->mutex);
    for (size_t i = 0; i < count; i++) {
        if (jobs[i].done) {
            jobs[i].done(jobs[i].status, jobs[i].argument);
        }
    }
}

/* Folds the log back into the file; a reader in the middle of something is waited for so long at most. */
static bool fold_log(struct store *store, int wait_ms)
{
    sqlite3 *handle = store->db->handle;
    (void)sqlite3_busy_timeout(handle, wait_ms);
    const int code = sqlite3_wal_checkpoint_v2(handle, NULL, SQLITE_CHECKPOINT_TRUNCATE, NULL, NULL);
    (void)sqlite3_busy_timeout(handle, store->busy_timeout_ms);
    if (code == SQLITE_OK) {
        pthread_mutex_lock(&store->mutex);
        store->metrics.checkpoints++;
        pthread_mutex_unlock(&store->mutex);
        if (store->scrub) {
            (void)sqlite3_db_release_memory(handle);
            store->scrub = false;
        }
    }
    return code == SQLITE_OK;
}

/* After an erasure nothing of it may be left: not in the log, which is emptied, nor as an old copy inside a page (the
 * file's pages are scrubbed as they are written; those in the writer's memory are dropped). Until it succeeds it is
 * tried after each group. */
static void scrub(struct store *store)
{
    enum { READERS_MS = 100 };
    store->scrub = store->scrub || store->db->ended;
    store->db->ended = false;
    if (store->scrub) {
        (void)fold_log(store, READERS_MS);
    }
}

/* Waits for work, with the mutex held. False when the quiet time has passed. */
static bool wait_for_work(struct store *store, bool dirty)
{
    if (!dirty) {
        pthread_cond_wait(&store->work, &store->mutex);
        return true;
    }
    struct timespec until;
    clock_gettime(CLOCK_MONOTONIC, &until);
    until.tv_sec += store->idle_ms / 1000;
    until.tv_nsec += (long)(store->idle_ms % 1000) * 1000000L;
    if (until.tv_nsec >= 1000000000L) {
        until.tv_sec++;
        until.tv_nsec -= 1000000000L;
    }
    return pthread_cond_timedwait(&store->work, &store->mutex, &until) != ETIMEDOUT;
}

/* With the mutex held: moves up to batch_limit jobs out of the queue. */
static size_t take_batch(struct store *store)
{
    size_t count = 0;
    while (count < store->batch_limit && store->waiting > 0) {
        store->batch[count++] = store->queue[store->head];
        store->head = (store->head + 1) % store->queue_limit;
        store->waiting--;
    }
    return count;
}

static void *write_loop(void *argument)
{
    struct store *store = argument;
    bool dirty = true;
    pthread_mutex_lock(&store->mutex);
    for (;;) {
        if (store->waiting == 0) {
            if (store->closing) {
                break;
            }
            if (!wait_for_work(store, dirty)) {
                pthread_mutex_unlock(&store->mutex);
                dirty = !fold_log(store, 0);
                pthread_mutex_lock(&store->mutex);
            }
            continue;
        }
        const size_t count = take_batch(store);
        pthread_cond_broadcast(&store->room);
        pthread_mutex_unlock(&store->mutex);
        for (size_t settled = 0; settled < count;) {
            const size_t group = run_group(store, store->batch + settled, count - settled);
            scrub(store);
            settle(store, store->batch + settled, group);
            settled += group;
        }
        dirty = true;
        pthread_mutex_lock(&store->mutex);
    }
    store->metrics.writer_alive = false;
    pthread_mutex_unlock(&store->mutex);
    return NULL;
}

bool writer_start(struct store *store)
{
    /* Signals are the main thread's. */
    sigset_t all;
    sigset_t old;
    sigfillset(&all);
    pthread_sigmask(SIG_SETMASK, &all, &old);
    store->metrics.writer_alive = true;
    store->started = pthread_create(&store->thread, NULL, write_loop, store) == 0;
    pthread_sigmask(SIG_SETMASK, &old, NULL);
    return store->started;
}

void writer_stop(struct store *store)
{
    if (!store->started) {
        return;
    }
    pthread_mutex_lock(&store->mutex);
    store->closing = true;
    pthread_cond_broadcast(&store->work);
    pthread_cond_broadcast(&store->room);
    pthread_mutex_unlock(&store->mutex);
    pthread_join(store->thread, NULL);
    store->started = false;
}

static enum store_status enqueue(struct store *store, const struct writer_job *job, bool wait)
{
    enum store_status status = STORE_OK;
    pthread_mutex_lock(&store->mutex);
    while (wait && !store->closing && store->waiting == store->queue_limit) {
        pthread_cond_wait(&store->room, &store->mutex);
    }
    if (store->closing) {
        status = STORE_CLOSED;
    } else if (store->waiting == store->queue_limit) {
        status = STORE_BUSY;
    }
    if (status == STORE_OK) {
        store->queue[(store->head + store->waiting) % store->queue_limit] = *job;
        store->waiting++;
        pthread_cond_signal(&store->work);
    } else {
        store->metrics.refused++;
    }
    pthread_mutex_unlock(&store->mutex);
    return status;
}

enum store_status store_submit(struct store *store, store_job_fn job, store_done_fn done, void *argument)
{
    const struct writer_job entry = {.run = job, .done = done, .argument = argument, .status = STORE_OK};
    return enqueue(store, &entry, false);
}

struct waiter {
    store_job_fn job;
    void *argument;
    pthread_mutex_t mutex;
    pthread_cond_t finished;
    bool done;
    enum store_status status;
};

static enum store_status run_waited(struct store_db *db, void *argument)
{
    const struct waiter *waiter = argument;
    return waiter->job(db, waiter->argument);
}

static void finish_waited(enum store_status status, void *argument)
{
    struct waiter *waiter = argument;
    pthread_mutex_lock(&waiter->mutex);
    waiter->status = status;
    waiter->done = true;
    /* Signalled inside: the waiter may free itself as soon as the mutex is free. */
    pthread_cond_signal(&waiter->finished);
    pthread_mutex_unlock(&waiter->mutex);
}

enum store_status store_run(struct store *store, store_job_fn job, void *argument)
{
    struct waiter waiter = {.job = job, .argument = argument};
    pthread_mutex_init(&waiter.mutex, NULL);
    pthread_cond_init(&waiter.finished, NULL);
    const struct writer_job entry = {.run = run_waited, .done = finish_waited, .argument = &waiter};
    enum store_status status = enqueue(store, &entry, true);
    if (status == STORE_OK) {
        pthread_mutex_lock(&waiter.mutex);
        while (!waiter.done) {
            pthread_cond_wait(&waiter.finished, &waiter.mutex);
        }
        status = waiter.status;
        pthread_mutex_unlock(&waiter.mutex);
    }
    pthread_cond_destroy(&waiter.finished);
    pthread_mutex_destroy(&waiter.mutex);
    return status;
}
