/* The threads that try a standard and score anew, with those who watch them and borrow the rules meanwhile, and with
 * jobs that are overtaken, stopped, and broken off with the server; for ThreadSanitizer. Plain main: exit status 0 when
 * each swing was looked at once by every trial and scored once by every version. */
#include <pthread.h>
#include <stdatomic.h>

#include "api/club/standard_page.h"
#include "api/club/standard_work.h"
#include "store/open.h"
#include "tests/server/store_fixture.h"
#include "tests/server/support.h"

#define SWINGS 40
#define LOOKERS 3
#define ROUNDS 4

static struct api api;
static _Atomic int go_on, looks, borrowed, wrong;
static char *standard, *document;

static void expect(bool good, const char *what)
{
    if (!good) {
        fprintf(stderr, "race_standard: %s\n", what);
        atomic_fetch_add(&wrong, 1);
    }
}

static char *file_text(const char *path)
{
    char *text = calloc(1, 1 << 20);
    FILE *file = fopen(path, "rb");
    if (file == NULL || fread(text, 1, (1 << 20) - 1, file) == 0) {
        fprintf(stderr, "%s can't be read\n", path);
        abort();
    }
    fclose(file);
    return text;
}

/* ---- what is written ---- */

static enum store_status furnish(struct store_db *db, void *argument)
{
    char head[UUID_TEXT];
    char student[UUID_TEXT];
    char swing[UUID_TEXT];
    (void)argument;
    enum store_status status = make_account(db, STORE_HEAD, "head", "", head);
    status = status == STORE_OK ? make_student(db, "Somebody", student) : status;
    for (int i = 0; i < SWINGS && status == STORE_OK; i++) {
        status = make_swing(db, student, head, document, swing);
        status = status == STORE_OK ? make_report(db, swing, "", "{}") : status;
    }
    return status;
}

static enum store_status version_job(struct store_db *db, void *argument)
{
    struct store_version version = {
        .label = "default", .json = standard, .json_size = strlen(standard), .created = NOW};
    (void)argument;
    store_audit_waive(db);
    return store_version_insert(db, STORE_STANDARD, &version, -1);
}

static enum store_status begin_job(struct store_db *db, void *argument)
{
    struct store_job *job = argument;
    store_audit_waive(db);
    const enum store_status status = store_version_number(db, STORE_STANDARD, &job->standard);
    return status == STORE_OK ? store_job_start(db, job) : status;
}

static enum store_status stop_job(struct store_db *db, void *argument)
{
    store_audit_waive(db);
    return store_job_end(db, argument, STORE_JOB_STOPPED, NOW);
}

static void new_version(void)
{
    expect(store_run(api.store, version_job, NULL) == STORE_OK, "a version");
    atomic_fetch_add(&api.rules_edits, 1);
}

static void begin(struct store_job *job, enum store_job_kind kind)
{
    *job = (struct store_job){.kind = kind, .started = NOW};
    if (kind == STORE_JOB_TRIAL) {
        job->tried = standard;
        job->tried_size = strlen(standard);
        job->label = "default";
    }
    uuid7_new(job->id);
    expect(store_run(api.store, begin_job, job) == STORE_OK, "a job begins");
    standard_work_look(api.work);
}

/* How it ended, and what came of it: swings scored anew, or tried. */
static enum store_job_state wait_for(const char *id, int64_t *swings)
{
    enum store_job_state state = STORE_JOB_RUNNING;
    for (int i = 0; i < 60000 && state == STORE_JOB_RUNNING; i++) {
        struct trial_tally tally = {0};
        struct store_job job;
        struct arena *arena = arena_new(0);
        sleep_ms(1);
        expect(store_job_get(store_reader(api.store), arena, &job) == STORE_OK && strcmp(job.id, id) == 0, "the job");
        state = job.state;
        if (job.tally != NULL && job.tally_size == sizeof tally) {
            memcpy(&tally, job.tally, sizeof tally);
        }
        *swings = job.kind == STORE_JOB_TRIAL ? (int64_t)tally.swings : job.swings;
        expect(job.unread == 0, "every document is read");
        arena_free(arena);
    }
    return state;
}

/* ---- those who look on ---- */

static void *look_on(void *argument)
{
    struct store_db *db = store_reader(api.store);
    (void)argument;
    while (atomic_load(&go_on)) {
        struct store_job job;
        struct arena *arena = arena_new(0);
        if (store_job_get(db, arena, &job) == STORE_OK) {
            atomic_fetch_add(&looks, 1);
        }
        const struct rules_cache *rules = rules_borrow(&api, db, atomic_load(&api.rules_edits));
        expect(rules != NULL && rules->standard->range_count > 0, "the rules");
        rules_return(&api, rules);
        atomic_fetch_add(&borrowed, 1);
        arena_free(arena);
        sleep_ms(1);
    }
    return NULL;
}

/* ---- a round ---- */

static void to_the_end(enum store_job_kind kind)
{
    struct store_job job;
    int64_t swings = 0;
    if (kind == STORE_JOB_RESCORE) {
        new_version();
    }
    begin(&job, kind);
    expect(wait_for(job.id, &swings) == STORE_JOB_DONE && swings == SWINGS, "a job goes through every swing once");
}

static void overtaken(void)
{
    struct store_job job;
    int64_t swings = 0;
    new_version();
    begin(&job, STORE_JOB_RESCORE);
    sleep_ms(4);
    new_version();
    const enum store_job_state state = wait_for(job.id, &swings);
    expect(state == STORE_JOB_OVERTAKEN || (state == STORE_JOB_DONE && swings == SWINGS), "a job is overtaken");
}

/* The threads end with the server, and others go on. */
static void broken_off(void)
{
    struct store_job job;
    int64_t swings = 0;
    new_version();
    begin(&job, STORE_JOB_RESCORE);
    sleep_ms(4);
    atomic_store(&api.refusing, true);
    standard_work_free(api.work);
    atomic_store(&api.refusing, false);
    api.work = standard_work_new(&api);
    expect(api.work != NULL && wait_for(job.id, &swings) == STORE_JOB_DONE && swings == SWINGS,
           "a job that was broken off is gone on with");
}

/* A stopped job makes room for the next at once. */
static void stopped(void)
{
    struct store_job job;
    struct store_job next;
    int64_t swings = 0;
    new_version();
    begin(&job, STORE_JOB_RESCORE);
    sleep_ms(4);
    const enum store_status status = store_run(api.store, stop_job, job.id);
    expect(status == STORE_OK || status == STORE_NOT_FOUND, "a job is stopped, or was done");
    begin(&next, STORE_JOB_TRIAL);
    expect(wait_for(next.id, &swings) == STORE_JOB_DONE && swings == SWINGS, "the next goes through every swing once");
}

static void rounds(void)
{
    pthread_t lookers[LOOKERS];
    atomic_store(&go_on, 1);
    for (int i = 0; i < LOOKERS; i++) {
        pthread_create(&lookers[i], NULL, look_on, NULL);
    }
    for (int i = 0; i < ROUNDS; i++) {
        to_the_end(STORE_JOB_TRIAL); /* the first measures them: nothing is kept yet with their reports */
        to_the_end(STORE_JOB_RESCORE);
        overtaken();
        broken_off();
        stopped();
    }
    atomic_store(&go_on, 0);
    for (int i = 0; i < LOOKERS; i++) {
        pthread_join(lookers[i], NULL);
    }
}

int main(void)
{
    int64_t twice = -1;
    struct fixture fixture;
    fixture_directory(&fixture);
    const struct store_config config = {.directory = fixture.directory};
    standard = file_text(TESTS_DIR "/../server/standard/default.json");
    document = file_text(TESTS_DIR "/data/two_views.json");
    store_prepare_threads();
    pthread_mutex_init(&api.rules_lock, NULL);
    api.store = store_open(&config, fixture.error, sizeof fixture.error);
    if (api.store == NULL) {
        fprintf(stderr, "%s\n", fixture.error);
        return 1;
    }
    new_version();
    expect(store_run(api.store, furnish, NULL) == STORE_OK, "swings");
    api.work = standard_work_new(&api);
    if (api.work == NULL) {
        return 1;
    }
    rounds();
    standard_work_free(api.work);
    rules_return(&api, api.rules);
    expect(
        store_db_number(store_reader(api.store),
                        "SELECT count(*) FROM (SELECT 1 FROM report GROUP BY swing_id, standard HAVING count(*) > 1)",
                        &twice) == STORE_OK &&
            twice == 0,
        "no swing is scored twice by one version");
    store_close(api.store);
    fixture_close(&fixture);
    free(standard);
    free(document);
    printf("race_standard: %d looks, rules borrowed %d times, %d wrong\n", atomic_load(&looks), atomic_load(&borrowed),
           atomic_load(&wrong));
    return atomic_load(&wrong) == 0 && atomic_load(&looks) > 20 && atomic_load(&borrowed) > 20 ? 0 : 1;
}
