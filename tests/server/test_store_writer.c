/* Group commit: what one job does to its neighbours, when callers are told, and what happens when the disk or queue is
 * full. */
#include <criterion/criterion.h>
#include <pthread.h>
#include <sys/mount.h>

#include "store/engine/seal.h"
#include "store/open.h"
#include "store_fixture.h"

static struct store *open_store(struct fixture *fixture, struct store_config config)
{
    config.directory = fixture->directory;
    struct store *store = store_open(&config, fixture->error, sizeof fixture->error);
    cr_assert_not_null(store, "%s", fixture->error);
    return store;
}

struct insert {
    char name[32], id[UUID_TEXT];
    enum store_status wanted; /* what the job returns after its insert */
    bool silent;              /* without an audit row */
    enum store_status told;
    int done;
    struct store *store; /* looked at from the done call */
    bool visible;
    const char *padding;
};

static enum store_status insert_student(struct store_db *db, void *argument)
{
    struct insert *insert = argument;
    struct store_student student = {.name = insert->name, .hand = "left", .wants = insert->padding, .created = NOW};
    uuid7_new(student.id);
    strcpy(insert->id, student.id);
    const enum store_status status = store_student_insert(db, &student);
    if (status != STORE_OK) {
        return status;
    }
    if (!insert->silent) {
        audit_for(db, "student", student.id, student.id);
    }
    return insert->wanted;
}

static void told(enum store_status status, void *argument)
{
    struct insert *insert = argument;
    insert->told = status;
    insert->done++;
    if (insert->store) {
        /* Another connection sees the row already: the commit came first. */
        struct arena *arena = arena_new(0);
        struct store_student student;
        struct store_db *reader = store_reader(insert->store);
        insert->visible = reader && store_student_get(reader, insert->id, arena, &student) == STORE_OK;
        arena_free(arena);
    }
}

struct gate {
    pthread_mutex_t mutex;
    pthread_cond_t changed;
    bool entered, open;
};

static enum store_status wait_at_gate(struct store_db *db, void *argument)
{
    struct gate *gate = argument;
    (void)db;
    pthread_mutex_lock(&gate->mutex);
    gate->entered = true;
    pthread_cond_broadcast(&gate->changed);
    while (!gate->open) {
        pthread_cond_wait(&gate->changed, &gate->mutex);
    }
    pthread_mutex_unlock(&gate->mutex);
    return STORE_OK;
}

/* Holds the writer inside a job, so that what is submitted next waits and forms one group. */
static void hold(struct store *store, struct gate *gate)
{
    *gate = (struct gate){0};
    pthread_mutex_init(&gate->mutex, NULL);
    pthread_cond_init(&gate->changed, NULL);
    cr_assert_eq(store_submit(store, wait_at_gate, NULL, gate), STORE_OK);
    pthread_mutex_lock(&gate->mutex);
    while (!gate->entered) {
        pthread_cond_wait(&gate->changed, &gate->mutex);
    }
    pthread_mutex_unlock(&gate->mutex);
}

static void let_go(struct gate *gate)
{
    pthread_mutex_lock(&gate->mutex);
    gate->open = true;
    pthread_cond_broadcast(&gate->changed);
    pthread_mutex_unlock(&gate->mutex);
}

static bool stored(struct store *store, const char *id)
{
    struct arena *arena = arena_new(0);
    struct store_student student;
    const bool found = store_student_get(store_reader(store), id, arena, &student) == STORE_OK;
    arena_free(arena);
    return found;
}

Test(store_writer, a_failing_job_leaves_its_neighbours_alone)
{
    struct fixture fixture;
    struct gate gate;
    struct insert jobs[5] = {{.name = "a"},
                             {.name = "b", .wanted = STORE_INVALID},
                             {.name = "c"},
                             {.name = "d", .silent = true},
                             {.name = ""}};
    const enum store_status expected[5] = {STORE_OK, STORE_INVALID, STORE_OK, STORE_UNAUDITED, STORE_INVALID};
    fixture_directory(&fixture);
    struct store *store = open_store(&fixture, (struct store_config){0});
    hold(store, &gate);
    for (int i = 0; i < 5; i++) {
        cr_assert_eq(store_submit(store, insert_student, told, &jobs[i]), STORE_OK);
    }
    let_go(&gate);
    store_drain(store);
    for (int i = 0; i < 5; i++) {
        cr_assert_eq(jobs[i].done, 1);
        cr_assert_eq(jobs[i].told, expected[i], "%d: %s", i, store_status_name(jobs[i].told));
        cr_assert_eq(stored(store, jobs[i].id), expected[i] == STORE_OK);
    }
    struct store_metrics metrics;
    store_measure(store, &metrics);
    cr_assert_eq(metrics.batch_max, 5);
    cr_assert_eq(metrics.commits, 2);
    cr_assert_eq(metrics.jobs, 6);
    cr_assert_eq(metrics.jobs_failed, 3);
    cr_assert(!metrics.writer_alive);
    store_close(store);
    fixture_close(&fixture);
}

Test(store_writer, callers_are_told_after_the_commit)
{
    struct fixture fixture;
    struct insert jobs[40];
    fixture_directory(&fixture);
    struct store *store = open_store(&fixture, (struct store_config){0});
    for (int i = 0; i < 40; i++) {
        jobs[i] = (struct insert){.name = "n", .store = store};
        cr_assert_eq(store_submit(store, insert_student, told, &jobs[i]), STORE_OK);
    }
    store_drain(store);
    for (int i = 0; i < 40; i++) {
        cr_assert_eq(jobs[i].told, STORE_OK);
        cr_assert(jobs[i].visible);
    }
    store_close(store);
    /* And they are there in a new process's eyes. */
    store = open_store(&fixture, (struct store_config){.must_exist = true});
    for (int i = 0; i < 40; i++) {
        cr_assert(stored(store, jobs[i].id));
    }
    store_close(store);
    fixture_close(&fixture);
}

Test(store_writer, one_commit_each_when_asked)
{
    struct fixture fixture;
    struct gate gate;
    struct insert jobs[8];
    fixture_directory(&fixture);
    struct store *store = open_store(&fixture, (struct store_config){.commit_each = true});
    hold(store, &gate);
    for (int i = 0; i < 8; i++) {
        jobs[i] = (struct insert){.name = "n"};
        cr_assert_eq(store_submit(store, insert_student, told, &jobs[i]), STORE_OK);
    }
    let_go(&gate);
    store_drain(store);
    struct store_metrics metrics;
    store_measure(store, &metrics);
    cr_assert_eq(metrics.batch_max, 1);
    cr_assert_eq(metrics.commits, 9);
    store_close(store);
    fixture_close(&fixture);
}

Test(store_writer, a_full_queue_and_a_closed_one_refuse)
{
    struct fixture fixture;
    struct gate gate;
    struct insert jobs[4] = {{.name = "a"}, {.name = "b"}, {.name = "c"}, {.name = "d"}};
    fixture_directory(&fixture);
    struct store *store = open_store(&fixture, (struct store_config){.queue_limit = 2});
    hold(store, &gate);
    cr_assert_eq(store_submit(store, insert_student, told, &jobs[0]), STORE_OK);
    cr_assert_eq(store_submit(store, insert_student, told, &jobs[1]), STORE_OK);
    cr_assert_eq(store_submit(store, insert_student, told, &jobs[2]), STORE_BUSY);
    let_go(&gate);
    store_drain(store);
    cr_assert_eq(store_submit(store, insert_student, told, &jobs[3]), STORE_CLOSED);
    cr_assert_eq(store_run(store, insert_student, &jobs[3]), STORE_CLOSED);
    cr_assert_eq(jobs[0].done + jobs[1].done, 2);
    cr_assert_eq(jobs[2].done + jobs[3].done, 0);
    store_close(store);
    fixture_close(&fixture);
}

static void fill_and_recover(struct store *store, bool (*make_room)(struct store *, const char *), const char *context)
{
    char *padding = malloc(60001);
    memset(padding, 'x', 60000);
    padding[60000] = '\0';
    struct insert insert = {.name = "big", .padding = padding};
    enum store_status status = STORE_OK;
    for (int i = 0; i < 400 && status == STORE_OK; i++) {
        status = store_run(store, insert_student, &insert);
    }
    cr_assert_eq(status, STORE_FULL, "%s", store_status_name(status));
    cr_assert(!stored(store, insert.id));
    cr_assert_eq(store_run(store, insert_student, &insert), STORE_FULL);
    cr_assert(make_room(store, context));
    status = store_run(store, insert_student, &insert);
    cr_assert_eq(status, STORE_OK, "%s", store_status_name(status));
    cr_assert(stored(store, insert.id));
    free(padding);
}

static enum store_status set_page_limit(struct store_db *db, void *argument)
{
    const int *pages = argument;
    char pragma[64];
    snprintf(pragma, sizeof pragma, "PRAGMA max_page_count = %d", *pages);
    return store_db_execute(db, pragma);
}

static bool limit_pages(struct store *store, int pages)
{
    return store_run(store, set_page_limit, &pages) == STORE_OK;
}

static bool lift_limit(struct store *store, const char *context)
{
    (void)context;
    return limit_pages(store, SEAL_PAGES_MAX);
}

Test(store_writer, a_full_file_refuses_and_recovers)
{
    struct fixture fixture;
    fixture_directory(&fixture);
    struct store *store = open_store(&fixture, (struct store_config){0});
    cr_assert(limit_pages(store, 400));
    fill_and_recover(store, lift_limit, NULL);
    store_close(store);
    fixture_close(&fixture);
}

static bool remove_ballast(struct store *store, const char *path)
{
    (void)store;
    return unlink(path) == 0;
}

Test(store_writer, a_full_disk_refuses_and_recovers)
{
    struct fixture fixture;
    char ballast[128];
    fixture_directory(&fixture);
    if (mount("tmpfs", fixture.directory, "tmpfs", 0, "size=6m") != 0) {
        cr_log_warn("skipped: a small disk can't be mounted here");
        fixture_close(&fixture);
        return;
    }
    snprintf(ballast, sizeof ballast, "%s/ballast", fixture.directory);
    FILE *file = fopen(ballast, "wb");
    for (int i = 0; i < 3 * 1024; i++) {
        char block[1024] = {1};
        cr_assert_eq(fwrite(block, 1, sizeof block, file), sizeof block);
    }
    cr_assert_eq(fclose(file), 0);
    struct store *store = open_store(&fixture, (struct store_config){.idle_ms = 60000});
    fill_and_recover(store, remove_ballast, ballast);
    store_close(store);
    cr_assert_eq(umount(fixture.directory), 0);
    fixture_close(&fixture);
}

Test(store_writer, a_lost_transaction_fails_those_before_and_spares_those_after)
{
    struct fixture fixture;
    struct gate gate;
    char *padding = calloc(1, 3000001);
    memset(padding, 'x', 3000000);
    struct insert jobs[3] = {{.name = "before"}, {.name = "huge", .padding = padding}, {.name = "after"}};
    fixture_directory(&fixture);
    struct store *store = open_store(&fixture, (struct store_config){0});
    cr_assert(limit_pages(store, 300));
    hold(store, &gate);
    for (int i = 0; i < 3; i++) {
        cr_assert_eq(store_submit(store, insert_student, told, &jobs[i]), STORE_OK);
    }
    let_go(&gate);
    store_drain(store);
    cr_assert_eq(jobs[1].told, STORE_FULL);
    cr_assert_eq(jobs[2].told, STORE_OK);
    for (int i = 0; i < 3; i++) {
        cr_assert_eq(jobs[i].done, 1);
        cr_assert_eq(stored(store, jobs[i].id), jobs[i].told == STORE_OK, "%d", i);
    }
    store_close(store);
    free(padding);
    fixture_close(&fixture);
}

Test(store_writer, the_log_is_folded_back_when_idle)
{
    struct fixture fixture;
    struct insert insert = {.name = "n"};
    struct store_metrics metrics;
    fixture_directory(&fixture);
    struct store *store = open_store(&fixture, (struct store_config){.idle_ms = 20});
    cr_assert_eq(store_run(store, insert_student, &insert), STORE_OK);
    for (int i = 0; i < 200; i++) {
        store_measure(store, &metrics);
        if (metrics.checkpoints > 0 && metrics.wal_bytes == 0) {
            break;
        }
        usleep(10000);
    }
    cr_assert_gt(metrics.checkpoints, 0);
    cr_assert_eq(metrics.wal_bytes, 0);
    cr_assert_gt(metrics.file_bytes, 4096);
    cr_assert(metrics.writer_alive);
    store_close(store);
    fixture_close(&fixture);
}

/* Writes so often, each as large, without a pause in which the log could be folded back. */
static void write_on(struct store *store, const char *padding, int times)
{
    for (int i = 0; i < times; i++) {
        struct insert insert = {.name = "n", .padding = padding};
        cr_assert_eq(store_run(store, insert_student, &insert), STORE_OK);
    }
}

Test(store_writer, what_a_long_reader_made_of_the_log_is_given_back_under_steady_writing)
{
    enum { LARGE = 2 << 20, LOG_MOST = 16 << 20 };
    struct fixture fixture;
    struct store_metrics metrics;
    char *padding = calloc(1, LARGE);
    memset(padding, 'p', LARGE - 1);
    fixture_directory(&fixture);
    struct store *store = open_store(&fixture, (struct store_config){.idle_ms = 60000});
    struct store_db *db = store_reader(store);
    int64_t number = 0;
    write_on(store, "short", 1); /* after the start the log is emptied once, lest something erased be left in it */
    store_measure(store, &metrics);
    const uint64_t folded = metrics.checkpoints;
    cr_assert_eq(store_read_begin(db), STORE_OK);
    cr_assert_eq(store_db_number(db, "SELECT count(*) FROM student", &number), STORE_OK);
    write_on(store, padding, 12);
    store_measure(store, &metrics);
    cr_assert_gt(metrics.wal_bytes, LOG_MOST);
    store_read_end(db);
    write_on(store, "short", 4);
    store_measure(store, &metrics);
    cr_assert_leq(metrics.wal_bytes, LOG_MOST);
    cr_assert_eq(metrics.checkpoints, folded, "not by folding it back when idle");
    store_close(store);
    free(padding);
    fixture_close(&fixture);
}

Test(store_writer, readers_read_one_moment_and_never_write)
{
    struct fixture fixture;
    struct insert insert = {.name = "n"};
    struct store_student student = {.name = "x", .hand = "left"};
    fixture_directory(&fixture);
    struct store *store = open_store(&fixture, (struct store_config){0});
    struct store_db *reader = store_reader(store);
    cr_assert_eq(store_reader(store), reader);
    cr_assert_eq(store_read_begin(reader), STORE_OK);
    cr_assert_eq(store_student_get(reader, "none", fixture.arena, &student), STORE_NOT_FOUND);
    cr_assert_eq(store_run(store, insert_student, &insert), STORE_OK);
    cr_assert_eq(store_student_get(reader, insert.id, fixture.arena, &student), STORE_NOT_FOUND);
    store_read_end(reader);
    cr_assert_eq(store_student_get(reader, insert.id, fixture.arena, &student), STORE_OK);
    uuid7_new(student.id);
    cr_assert_neq(store_student_insert(reader, &student), STORE_OK);
    store_close(store);
    fixture_close(&fixture);
}
