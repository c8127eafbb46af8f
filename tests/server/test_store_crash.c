/* What was acknowledged survives a killed process; short memory fails a job and nothing else. */
#include <criterion/criterion.h>
#include <signal.h>
#include <sys/wait.h>

#include "store/engine/check.h"
#include "store/open.h"
#include "store_fixture.h"

struct one {
    char id[UUID_TEXT];
    int pipe;
    const char *wants;
};

static enum store_status write_one(struct store_db *db, void *argument)
{
    struct one *one = argument;
    struct store_student student = {.name = "Somebody", .hand = "right", .wants = one->wants, .created = NOW};
    uuid7_new(student.id);
    strcpy(one->id, student.id);
    const enum store_status status = store_student_insert(db, &student);
    if (status == STORE_OK) {
        audit_for(db, "student", one->id, one->id);
    }
    return status;
}

static void acknowledge(enum store_status status, void *argument)
{
    struct one *one = argument;
    if (status == STORE_OK && write(one->pipe, one->id, UUID_TEXT) != UUID_TEXT) {
        _exit(2);
    }
    free(one);
}

/* The child: writes until it is killed. */
static void write_forever(const struct fixture *fixture, int out)
{
    char error[256];
    struct store *store = store_open(&(struct store_config){.directory = fixture->directory}, error, sizeof error);
    while (store) {
        struct one *one = calloc(1, sizeof *one);
        one->pipe = out;
        if (store_submit(store, write_one, acknowledge, one) != STORE_OK) {
            free(one);
            usleep(100);
        }
    }
    _exit(1);
}

Test(store_crash, what_was_acknowledged_survives_a_kill)
{
    struct fixture fixture;
    int ends[2];
    char(*ids)[UUID_TEXT] = calloc(200000, UUID_TEXT);
    int count = 0;
    fixture_directory(&fixture);
    cr_assert_eq(pipe(ends), 0);
    const pid_t child = fork();
    if (child == 0) {
        close(ends[0]);
        write_forever(&fixture, ends[1]);
    }
    close(ends[1]);
    /* Killed in the middle: reading goes on until the pipe is empty. */
    while (count < 200000 && read(ends[0], ids[count], UUID_TEXT) == UUID_TEXT) {
        count++;
        if (count == 500) {
            kill(child, SIGKILL);
        }
    }
    int status;
    cr_assert_eq(waitpid(child, &status, 0), child);
    cr_assert(WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL);
    cr_assert_geq(count, 500);
    cr_assert_eq(store_check(fixture.directory, NULL, NULL, fixture.error, sizeof fixture.error), 0);
    struct store *store = store_open(&(struct store_config){.directory = fixture.directory, .must_exist = true},
                                     fixture.error, sizeof fixture.error);
    cr_assert_not_null(store, "%s", fixture.error);
    for (int i = 0; i < count; i++) {
        struct store_student student;
        cr_assert_eq(store_student_get(store_reader(store), ids[i], fixture.arena, &student), STORE_OK, "%d of %d", i,
                     count);
    }
    store_close(store);
    free(ids);
    close(ends[0]);
    fixture_close(&fixture);
}

Test(store_crash, short_memory_fails_one_job_and_passes)
{
    struct fixture fixture;
    struct one one = {.wants = NULL};
    int failed = 0;
    char *large = malloc(300001);
    memset(large, 'x', 300000);
    large[300000] = '\0';
    fixture_directory(&fixture);
    struct store *store = store_open(&(struct store_config){.directory = fixture.directory, .idle_ms = 60000},
                                     fixture.error, sizeof fixture.error);
    cr_assert_not_null(store, "%s", fixture.error);
    cr_assert_eq(store_run(store, write_one, &one), STORE_OK);
    one.wants = large;
    for (int64_t spare = 0; spare < 1200000; spare += 60000) {
        one.id[0] = '\0'; /* the job may not even start */
        (void)sqlite3_hard_heap_limit64(sqlite3_memory_used() + spare);
        const enum store_status status = store_run(store, write_one, &one);
        (void)sqlite3_hard_heap_limit64(0);
        struct store_student student;
        const enum store_status found = store_student_get(store_reader(store), one.id, fixture.arena, &student);
        cr_assert(status == STORE_OK || status == STORE_NO_MEMORY, "%s", store_status_name(status));
        cr_assert_eq(found, status == STORE_OK ? STORE_OK : STORE_NOT_FOUND);
        failed += status != STORE_OK;
        cr_assert_eq(store_run(store, write_one, &one), STORE_OK, "the next job finds everything in order");
    }
    cr_assert_gt(failed, 0);
    store_close(store);
    cr_assert_eq(store_check(fixture.directory, NULL, NULL, fixture.error, sizeof fixture.error), 0);
    free(large);
    fixture_close(&fixture);
}
