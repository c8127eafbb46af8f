/* Many threads write and read one store at once; for ThreadSanitizer. Plain main: exit status 0 when every promise
 * held. */
#include <pthread.h>
#include <stdatomic.h>

#include "store/open.h"
#include "store_fixture.h"

#define WRITERS 4
#define READERS 3
#define JOBS 300

struct shared {
    struct store *store;
    atomic_int queued, done, ok, unseen, wrong;
    atomic_bool finished;
};

struct job {
    struct shared *shared;
    char id[UUID_TEXT];
    bool fails;
};

static enum store_status write_one(struct store_db *db, void *argument)
{
    struct job *job = argument;
    const enum store_status status = make_student(db, "Somebody", job->id);
    return status == STORE_OK && job->fails ? STORE_INVALID : status;
}

static void count_one(enum store_status status, void *argument)
{
    struct job *job = argument;
    struct shared *shared = job->shared;
    if (status == STORE_OK) {
        atomic_fetch_add(&shared->ok, 1);
    }
    if (status != (job->fails ? STORE_INVALID : STORE_OK)) {
        atomic_fetch_add(&shared->wrong, 1);
    }
    atomic_fetch_add(&shared->done, 1);
    free(job);
}

static void *write_many(void *argument)
{
    struct shared *shared = argument;
    for (int i = 0; i < JOBS; i++) {
        struct job *job = calloc(1, sizeof *job);
        job->shared = shared;
        job->fails = i % 10 == 3;
        if (i % 20 == 7) {
            /* Waited for: then visible at once to this thread's own reader. */
            struct arena *arena = arena_new(0);
            struct store_student student;
            job->fails = false;
            if (store_run(shared->store, write_one, job) != STORE_OK ||
                store_student_get(store_reader(shared->store), job->id, arena, &student) != STORE_OK) {
                atomic_fetch_add(&shared->unseen, 1);
            }
            arena_free(arena);
            free(job);
            atomic_fetch_add(&shared->ok, 1);
            continue;
        }
        while (store_submit(shared->store, write_one, count_one, job) == STORE_BUSY) {
            usleep(200);
        }
        atomic_fetch_add(&shared->queued, 1);
    }
    return NULL;
}

static void *read_many(void *argument)
{
    struct shared *shared = argument;
    while (!atomic_load(&shared->finished)) {
        struct arena *arena = arena_new(0);
        struct store_student_list first;
        struct store_student_list second;
        struct store_metrics metrics;
        struct store_db *db = store_reader(shared->store);
        if (!db || store_read_begin(db) != STORE_OK || store_student_list(db, NULL, arena, &first) != STORE_OK ||
            store_student_list(db, NULL, arena, &second) != STORE_OK || first.count != second.count) {
            atomic_fetch_add(&shared->wrong, 1);
        }
        store_read_end(db);
        store_measure(shared->store, &metrics);
        arena_free(arena);
    }
    return NULL;
}

static int64_t count_students(struct store *store)
{
    int64_t number = -1;
    return store_db_number(store_reader(store), "SELECT count(*) FROM student", &number) == STORE_OK ? number : -1;
}

int main(void)
{
    struct fixture fixture;
    struct shared shared = {0};
    pthread_t writers[WRITERS];
    pthread_t readers[READERS];
    fixture_directory(&fixture);
    const struct store_config config = {.directory = fixture.directory, .queue_limit = 64, .idle_ms = 1};
    shared.store = store_open(&config, fixture.error, sizeof fixture.error);
    if (!shared.store) {
        fprintf(stderr, "%s\n", fixture.error);
        return 1;
    }
    for (int i = 0; i < READERS; i++) {
        pthread_create(&readers[i], NULL, read_many, &shared);
    }
    for (int i = 0; i < WRITERS; i++) {
        pthread_create(&writers[i], NULL, write_many, &shared);
    }
    for (int i = 0; i < WRITERS; i++) {
        pthread_join(writers[i], NULL);
    }
    store_drain(shared.store);
    atomic_store(&shared.finished, true);
    for (int i = 0; i < READERS; i++) {
        pthread_join(readers[i], NULL);
    }
    const int64_t stored = count_students(shared.store);
    const bool sound = atomic_load(&shared.done) == atomic_load(&shared.queued) && stored == atomic_load(&shared.ok) &&
                       atomic_load(&shared.wrong) == 0 && atomic_load(&shared.unseen) == 0;
    printf("%d queued, %d told, %d good, %lld stored, %d wrong, %d unseen\n", atomic_load(&shared.queued),
           atomic_load(&shared.done), atomic_load(&shared.ok), (long long)stored, atomic_load(&shared.wrong),
           atomic_load(&shared.unseen));
    store_close(shared.store);
    fixture_close(&fixture);
    return sound ? 0 : 1;
}
