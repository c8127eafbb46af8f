/* Opening and closing the club's file, one read connection for each thread, and the figures for /metrics. */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <sys/statvfs.h>
#include <unistd.h>

#include "store/engine/parts.h"
#include "store/engine/seal.h"
#include "store/engine/writer.h"

static char *join(const char *directory, const char *name)
{
    const size_t size = strlen(directory) + strlen(name) + 2;
    char *path = malloc(size);
    if (path) {
        (void)snprintf(path, size, "%s/%s", directory, name);
    }
    return path;
}

int store_hold_directory(const char *directory, char *error, size_t error_size)
{
    char *path = join(directory, STORE_LOCK);
    if (!path) {
        (void)snprintf(error, error_size, "Not enough memory to open the store.");
        return -1;
    }
    const int lock = open(path, O_RDWR | O_CREAT | O_CLOEXEC, 0600);
    free(path);
    if (lock < 0) {
        (void)snprintf(error, error_size, "%s can't be written: %s.", directory, strerror(errno));
        return -1;
    }
    if (flock(lock, LOCK_EX | LOCK_NB) != 0) {
        (void)snprintf(error, error_size, "Another server is using %s.", directory);
        close(lock);
        return -1;
    }
    return lock;
}

static bool hold(struct store *store, const char *directory, char *error, size_t error_size)
{
    store->lock = store_hold_directory(directory, error, error_size);
    return store->lock >= 0;
}

/* False when a file that others may read or write can't be made its owner's alone. By its path: closing a descriptor of
 * the file would end the locks that SQLite holds on it in this process. */
static bool make_private(const struct store *store, const char *suffix, bool *was_readable)
{
    char path[4096];
    struct stat status;
    const int length = snprintf(path, sizeof path, "%s%s", store->path, suffix);
    if (length <= 0 || (size_t)length >= sizeof path || stat(path, &status) != 0 ||
        (status.st_mode & (S_IRWXG | S_IRWXO)) == 0) {
        return true;
    }
    *was_readable = true;
    return chmod(path, status.st_mode & S_IRWXU) == 0;
}

/* Creates the file with its final permissions: SQLite gives its log the same ones. */
static bool make_file(struct store *store, bool must_exist, char *error, size_t error_size)
{
    const int flags = O_RDWR | O_CLOEXEC | (must_exist ? 0 : O_CREAT);
    const int file = open(store->path, flags, 0600);
    if (file < 0) {
        (void)snprintf(error, error_size, "%s: %s.", store->path,
                       errno == ENOENT ? "there is no club here yet" : strerror(errno));
        return false;
    }
    close(file);
    if (!make_private(store, "", &store->was_readable) || !make_private(store, "-wal", &store->was_readable) ||
        !make_private(store, "-shm", &store->was_readable)) {
        (void)snprintf(error, error_size, "%s can be read by others, and its permissions can't be changed: %s.",
                       store->path, strerror(errno));
        return false;
    }
    return true;
}

static bool prepare(struct store *store, const struct store_config *config, const struct store_endings *endings,
                    char *error, size_t error_size)
{
    if (!config->must_exist && mkdir(config->directory, 0700) != 0 && errno != EEXIST) {
        (void)snprintf(error, error_size, "%s can't be made: %s.", config->directory, strerror(errno));
        return false;
    }
    if (!config->shared && access(config->directory, F_OK) == 0 && !hold(store, config->directory, error, error_size)) {
        return false;
    }
    if (!make_file(store, config->must_exist, error, error_size)) {
        return false;
    }
    if (store_seal_needed(store->path)) {
        if ((config->shared && !hold(store, config->directory, error, error_size)) ||
            store_seal_file(store->path, store->busy_timeout_ms, error, error_size) != STORE_OK) {
            return false;
        }
    }
    store->db = store_db_open(store->path, STORE_OPEN_WRITER, store->busy_timeout_ms, error, error_size);
    if (!store->db ||
        store_migrate(store->db, embedded_migrations, embedded_migrations_count, error, error_size) != STORE_OK) {
        return false;
    }
    store->ledger = ledger_open(config->directory, false, error, error_size);
    if (!store->ledger || (!config->shared && !store_ledger_start(store->db, store->ledger, endings, &store->restored,
                                                                  error, error_size))) {
        return false;
    }
    store->db->ledger = store->ledger;
    store->scrub = true; /* a crash may have come between an erasure and its scrubbing */
    return true;
}

static void release_reader(void *argument)
{
    struct store_db *db = argument;
    struct store *store = db->store;
    pthread_mutex_lock(&store->mutex);
    if (db->previous) {
        db->previous->next = db->next;
    } else {
        store->readers = db->next;
    }
    if (db->next) {
        db->next->previous = db->previous;
    }
    pthread_mutex_unlock(&store->mutex);
    store_db_close(db);
}

static bool make_parts(struct store *store, const struct store_config *config)
{
    store->lock = -1;
    store->queue_limit = config->queue_limit ? config->queue_limit : 1024;
    store->batch_limit = config->batch_limit ? config->batch_limit : 256;
    if (config->commit_each) {
        store->batch_limit = 1;
    }
    store->busy_timeout_ms = config->busy_timeout_ms ? config->busy_timeout_ms : 5000;
    store->idle_ms = config->idle_ms ? config->idle_ms : 2000;
    pthread_condattr_t monotonic;
    pthread_condattr_init(&monotonic);
    pthread_condattr_setclock(&monotonic, CLOCK_MONOTONIC);
    pthread_mutex_init(&store->mutex, NULL);
    pthread_cond_init(&store->work, &monotonic);
    pthread_cond_init(&store->room, NULL);
    pthread_condattr_destroy(&monotonic);
    store->has_key = pthread_key_create(&store->reader_key, release_reader) == 0;
    store->path = join(config->directory, STORE_FILE);
    store->queue = calloc(store->queue_limit, sizeof *store->queue);
    store->batch = calloc(store->batch_limit, sizeof *store->batch);
    store->metrics.queue_limit = store->queue_limit;
    return store->has_key && store->path && store->queue && store->batch;
}

struct store *store_start(const struct store_config *config, const struct store_endings *endings, char *error,
                          size_t error_size)
{
    struct store *store = calloc(1, sizeof *store);
    if (!store) {
        (void)snprintf(error, error_size, "Not enough memory to open the store.");
        return NULL;
    }
    if (!make_parts(store, config)) {
        (void)snprintf(error, error_size, "Not enough memory to open the store.");
        store_close(store);
        return NULL;
    }
    if (!prepare(store, config, endings, error, error_size)) {
        store_close(store);
        return NULL;
    }
    if (!writer_start(store)) {
        (void)snprintf(error, error_size, "The writer's thread can't be started.");
        store_close(store);
        return NULL;
    }
    return store;
}

const struct store_restored *store_restored(const struct store *store)
{
    return &store->restored;
}

bool store_was_readable(const struct store *store)
{
    return store->was_readable;
}

void store_drain(struct store *store)
{
    writer_stop(store);
}

void store_close(struct store *store)
{
    if (!store) {
        return;
    }
    writer_stop(store);
    if (store->has_key) {
        pthread_key_delete(store->reader_key);
    }
    while (store->readers) {
        struct store_db *next = store->readers->next;
        store_db_close(store->readers);
        store->readers = next;
    }
    store_db_close(store->db);
    ledger_close(store->ledger);
    if (store->lock >= 0) {
        close(store->lock);
    }
    pthread_cond_destroy(&store->room);
    pthread_cond_destroy(&store->work);
    pthread_mutex_destroy(&store->mutex);
    free(store->queue);
    free(store->batch);
    free(store->path);
    free(store);
}

struct store_db *store_reader(struct store *store)
{
    struct store_db *db = pthread_getspecific(store->reader_key);
    if (db) {
        return db;
    }
    char error[256];
    db = store_db_open(store->path, STORE_OPEN_READER, store->busy_timeout_ms, error, sizeof error);
    if (!db) {
        return NULL;
    }
    db->store = store;
    if (pthread_setspecific(store->reader_key, db) != 0) {
        store_db_close(db);
        return NULL;
    }
    pthread_mutex_lock(&store->mutex);
    db->next = store->readers;
    if (db->next) {
        db->next->previous = db;
    }
    store->readers = db;
    pthread_mutex_unlock(&store->mutex);
    return db;
}

static int64_t size_of(const char *path)
{
    struct stat status;
    return stat(path, &status) == 0 ? (int64_t)status.st_size : 0;
}

static int64_t free_at(const char *path)
{
    struct statvfs status;
    return statvfs(path, &status) == 0 ? (int64_t)status.f_bavail * (int64_t)status.f_frsize : INT64_MAX;
}

void store_measure(struct store *store, struct store_metrics *out)
{
    pthread_mutex_lock(&store->mutex);
    *out = store->metrics;
    out->queue_depth = store->waiting;
    pthread_mutex_unlock(&store->mutex);
    out->damaged_pages = seal_damage_count();
    out->file_bytes = size_of(store->path);
    out->free_bytes = free_at(store->path);
    char log[4096];
    const int length = snprintf(log, sizeof log, "%s-wal", store->path);
    out->wal_bytes = length > 0 && (size_t)length < sizeof log ? size_of(log) : 0;
}
