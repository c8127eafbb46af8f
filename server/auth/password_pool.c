/* The hash thread. One is enough for a club (about ninety sign-ins a second) and, a little below the others in
 * priority, a flood of sign-ins can't slow down the tablets, nor can a busy machine keep somebody waiting for long at
 * the front door. What does not fit in the queue is refused at once. */
#include <errno.h>
#include <pthread.h>
#include <sodium.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/syscall.h>
#include <time.h>
#include <unistd.h>

#include "auth/password.h"

#define DEFAULT_QUEUE 16
#define NICER 5 /* a third of the weight of a thread that is as nice as the program; at 19 it would be a seventieth */

enum job_kind { JOB_VERIFY, JOB_HASH };

struct job {
    enum job_kind kind;
    bool known; /* verify: there is a hash; otherwise the work is for show */
    char hash[PASSWORD_HASH_TEXT];
    char password[PASSWORD_LENGTH_MAX + 2]; /* one more byte, so that too long stays too long */
    password_done done;
    void *argument;
};

struct password_pool {
    struct password_cost cost;
    char nobody[PASSWORD_HASH_TEXT]; /* the hash of a password nobody has */
    pthread_t thread;
    pthread_mutex_t mutex; /* everything below */
    pthread_cond_t work, idle;
    struct job *jobs; /* ring */
    size_t limit, head, waiting;
    bool busy, draining, ending;
    uint64_t finished, refused;
    double seconds;
};

static void run(const struct password_pool *pool, const struct job *job)
{
    struct password_outcome outcome = {0};
    if (job->kind == JOB_HASH) {
        outcome.right = password_hash(&pool->cost, job->password, outcome.new_hash);
        outcome.no_memory = !outcome.right;
    } else {
        outcome.right = password_verify(job->hash, job->password);
        outcome.no_memory = !outcome.right && errno == ENOMEM;
        outcome.right = outcome.right && job->known;
        outcome.needs_rehash = outcome.right && password_needs_rehash(&pool->cost, job->hash);
        if (outcome.needs_rehash && !password_hash(&pool->cost, job->password, outcome.new_hash)) {
            outcome.new_hash[0] = '\0';
        }
    }
    job->done(&outcome, job->argument);
    sodium_memzero(&outcome, sizeof outcome);
}

static double now_seconds(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

static void *pool_main(void *argument)
{
    struct password_pool *pool = argument;
    struct job job;
    /* On Linux a thread's own id stands for the thread alone. */
    const id_t self = (id_t)syscall(SYS_gettid);
    (void)setpriority(PRIO_PROCESS, self, getpriority(PRIO_PROCESS, self) + NICER);
    pthread_mutex_lock(&pool->mutex);
    for (;;) {
        while (pool->waiting == 0 && !pool->ending) {
            pthread_cond_wait(&pool->work, &pool->mutex);
        }
        if (pool->waiting == 0) {
            break;
        }
        job = pool->jobs[pool->head];
        sodium_memzero(&pool->jobs[pool->head], sizeof job);
        pool->head = (pool->head + 1) % pool->limit;
        pool->waiting--;
        pool->busy = true;
        pthread_mutex_unlock(&pool->mutex);
        double start = now_seconds();
        run(pool, &job);
        double spent = now_seconds() - start;
        sodium_memzero(&job, sizeof job);
        pthread_mutex_lock(&pool->mutex);
        pool->busy = false;
        pool->finished++;
        pool->seconds += spent;
        pthread_cond_broadcast(&pool->idle);
    }
    pthread_mutex_unlock(&pool->mutex);
    return NULL;
}

struct password_pool *password_pool_new(const struct password_cost *cost, size_t queue_limit)
{
    struct password_pool *pool = calloc(1, sizeof *pool);
    if (pool == NULL || sodium_init() < 0) {
        free(pool);
        return NULL;
    }
    if (cost != NULL) {
        pool->cost = *cost;
    }
    pool->limit = queue_limit == 0 ? DEFAULT_QUEUE : queue_limit;
    pool->jobs = calloc(pool->limit, sizeof *pool->jobs);
    char secret[33];
    uint8_t bytes[16];
    randombytes_buf(bytes, sizeof bytes);
    sodium_bin2hex(secret, sizeof secret, bytes, sizeof bytes);
    pthread_mutex_init(&pool->mutex, NULL);
    pthread_cond_init(&pool->work, NULL);
    pthread_cond_init(&pool->idle, NULL);
    if (pool->jobs == NULL || !password_hash(&pool->cost, secret, pool->nobody) ||
        pthread_create(&pool->thread, NULL, pool_main, pool) != 0) {
        free(pool->jobs);
        free(pool);
        return NULL;
    }
    return pool;
}

void password_pool_drain(struct password_pool *pool)
{
    pthread_mutex_lock(&pool->mutex);
    pool->draining = true;
    while (pool->waiting > 0 || pool->busy) {
        pthread_cond_wait(&pool->idle, &pool->mutex);
    }
    pthread_mutex_unlock(&pool->mutex);
}

void password_pool_free(struct password_pool *pool)
{
    if (pool == NULL) {
        return;
    }
    password_pool_drain(pool);
    pthread_mutex_lock(&pool->mutex);
    pool->ending = true;
    pthread_cond_signal(&pool->work);
    pthread_mutex_unlock(&pool->mutex);
    pthread_join(pool->thread, NULL);
    pthread_mutex_destroy(&pool->mutex);
    pthread_cond_destroy(&pool->work);
    pthread_cond_destroy(&pool->idle);
    free(pool->jobs);
    free(pool);
}

static void copy_text(char *out, size_t size, const char *text)
{
    size_t length = strnlen(text, size - 1);
    memcpy(out, text, length);
    out[length] = '\0';
}

static bool submit(struct password_pool *pool, enum job_kind kind, const char *hash, const char *password,
                   password_done done, void *argument)
{
    pthread_mutex_lock(&pool->mutex);
    bool room = !pool->draining && pool->waiting < pool->limit;
    if (room) {
        struct job *job = &pool->jobs[(pool->head + pool->waiting++) % pool->limit];
        *job = (struct job){.kind = kind, .known = hash != NULL, .done = done, .argument = argument};
        copy_text(job->hash, sizeof job->hash, hash == NULL ? pool->nobody : hash);
        copy_text(job->password, sizeof job->password, password);
        pthread_cond_signal(&pool->work);
    } else {
        pool->refused++;
    }
    pthread_mutex_unlock(&pool->mutex);
    return room;
}

bool password_verify_async(struct password_pool *pool, const char *hash, const char *password, password_done done,
                           void *argument)
{
    return submit(pool, JOB_VERIFY, hash, password, done, argument);
}

bool password_hash_async(struct password_pool *pool, const char *password, password_done done, void *argument)
{
    return submit(pool, JOB_HASH, NULL, password, done, argument);
}

void password_pool_measure(struct password_pool *pool, struct password_metrics *out)
{
    pthread_mutex_lock(&pool->mutex);
    *out = (struct password_metrics){.queue_depth = pool->waiting,
                                     .queue_limit = pool->limit,
                                     .finished = pool->finished,
                                     .refused = pool->refused,
                                     .seconds = pool->seconds};
    pthread_mutex_unlock(&pool->mutex);
}
