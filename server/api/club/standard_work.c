/* See standard_work.h. Work goes in legs of half a second: pages are handed out until the time is up, and when the last
 * of them is back, how far the job has come is kept with what was found. So what is kept never tells of a page that is
 * still out, and none is counted twice. */
#define _GNU_SOURCE /* SCHED_IDLE */
#include "api/club/standard_work.h"

#include <sched.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <unistd.h>

#include "api/club/standard_rescore.h"
#include "api/club/standard_trial.h"
#include "store/club/version.h"
#include "wire/rules/standard_read.h"

#define THREADS_MAX 32
#define THREADS_PER_CORE 2  /* one judges while the other waits for its reports to be on disk */
#define FEW_DESCRIPTORS 256 /* with fewer it is one a core: each needs two for its reader */
#define LEG_NS INT64_C(500000000)
#define TRIAL_PAGE 64 /* swings at a time: some milliseconds */
#define SWING_PAGE 32 /* reports that one write keeps: it takes the writer some milliseconds */
#define LESSON_PAGE 2

struct standard_work {
    struct api *api;
    pthread_t threads[THREADS_MAX];
    int threads_most;
    pthread_mutex_t mutex; /* everything below */
    pthread_cond_t wake;
    int started;
    bool ending;
    bool look;                  /* there may be a job */
    bool busy;                  /* one thread loads or keeps; the others wait */
    struct standard_task *task; /* NULL = none */
    int out;                    /* pages being judged */
    bool closed;                /* no more are handed out: the leg is over */
    bool exhausted;             /* there are none left */
    int64_t leg_until;
    struct trial_tally tally;
    enum store_status failed;
};

int standard_work_threads(void)
{
    const long cores = sysconf(_SC_NPROCESSORS_ONLN);
    struct rlimit limit;
    const bool few = getrlimit(RLIMIT_NOFILE, &limit) == 0 && limit.rlim_cur < FEW_DESCRIPTORS;
    const long threads = cores < 1 ? 1 : few ? cores : cores * THREADS_PER_CORE;
    return threads > THREADS_MAX ? THREADS_MAX : (int)threads;
}

/* ---- the job ---- */

static void task_free(struct standard_task *task)
{
    if (task != NULL) {
        if (task->rules != NULL) {
            rules_return(task->api, task->rules);
        }
        arena_free(task->arena);
        free(task);
    }
}

struct keeping {
    struct store_job job;
    bool exhausted;
    enum store_job_state ending; /* STORE_JOB_RUNNING = it goes on */
};

static enum store_status keep_job(struct store_db *db, void *argument)
{
    int64_t number = 0;
    struct keeping *keeping = argument;
    enum store_status status = store_version_number(db, STORE_STANDARD, &number);
    store_audit_waive(db); /* whoever began it is in the audit */
    if (keeping->ending == STORE_JOB_RUNNING && number != keeping->job.standard) {
        keeping->ending = STORE_JOB_OVERTAKEN;
    } else if (keeping->ending == STORE_JOB_RUNNING && keeping->exhausted) {
        keeping->ending = STORE_JOB_DONE;
    }
    if (status == STORE_OK) {
        status = store_job_keep(db, &keeping->job);
    }
    if (status == STORE_OK && keeping->ending != STORE_JOB_RUNNING) {
        status = store_job_end(db, keeping->job.id, keeping->ending, clock_now_ms());
    }
    return status;
}

/* The rest of the job, read or counted. False: it can't be gone on with. */
static bool task_prepare(struct standard_task *task, struct store_db *db, struct trial_tally *tally, unsigned edits)
{
    struct wire_error error;
    struct store_job *job = &task->job;
    task->rules = rules_borrow(task->api, db, edits);
    if (task->rules == NULL || (job->tally != NULL && job->tally_size != sizeof *tally)) {
        return false; /* of a program that knows other faults */
    }
    if (job->tally != NULL) {
        memcpy(tally, job->tally, sizeof *tally);
    }
    if (job->kind == STORE_JOB_TRIAL) {
        task->tried = arena_alloc(task->arena, sizeof *task->tried);
        if (task->tried == NULL || !standard_read(job->tried, job->tried_size, task->arena, task->tried, &error)) {
            return false;
        }
    }
    return job->total != 0 || store_job_count(db, job) == STORE_OK;
}

/* The job that is running, ready to be gone on with; NULL = there is none. */
static struct standard_task *task_load(struct api *api, struct trial_tally *tally)
{
    struct store_db *db = store_reader(api->store);
    struct standard_task *task = calloc(1, sizeof *task);
    const unsigned edits = atomic_load(&api->rules_edits);
    *tally = (struct trial_tally){0};
    if (task == NULL || db == NULL || (task->arena = arena_new(0)) == NULL || store_read_begin(db) != STORE_OK) {
        task_free(task);
        return NULL;
    }
    task->api = api;
    bool good = store_job_get(db, task->arena, &task->job) == STORE_OK && task->job.state == STORE_JOB_RUNNING;
    const bool ready = good && task_prepare(task, db, tally, edits);
    store_read_end(db);
    if (good && (!ready || task->rules->number != task->job.standard)) {
        struct keeping keeping = {.job = task->job, .ending = ready ? STORE_JOB_OVERTAKEN : STORE_JOB_FAILED};
        /* What can't be written now is found again by the next start. */
        task->job.state = store_run(api->store, keep_job, &keeping) == STORE_OK ? keeping.ending : STORE_JOB_RUNNING;
        good = false;
    }
    if (!good) {
        task_free(task);
        task = NULL;
    }
    return task;
}

/* ---- pages ---- */

/* The next page, behind the last one handed out; moves the job's place. False: there is none, or *status tells why. */
static bool page_take(struct standard_work *work, struct standard_page *page, enum store_status *status)
{
    struct store_job *job = &work->task->job;
    page->task = work->task;
    *status = store_job_kept_swings(page->db, job, job->kind == STORE_JOB_TRIAL ? TRIAL_PAGE : SWING_PAGE, page->arena,
                                    &page->kept);
    if (page->kept.count > 0) {
        memcpy(job->swing_place, page->kept.items[page->kept.count - 1].judged.id, UUID_TEXT);
        return true;
    }
    if (*status == STORE_OK && job->kind == STORE_JOB_RESCORE) {
        page->of_lessons = true;
        *status = store_job_lessons(page->db, job, LESSON_PAGE, page->arena, &page->judged);
    }
    if (page->judged.count > 0) {
        memcpy(job->lesson_place, page->judged.items[page->judged.count - 1].id, UUID_TEXT);
    }
    return page->judged.count > 0;
}

/* Judges a page without the mutex. */
static enum store_status page_work(struct standard_page *page)
{
    enum store_status status = page->task->job.kind == STORE_JOB_TRIAL ? trial_judge(page) : rescore_make(page);
    store_read_end(page->db);
    return status == STORE_OK ? rescore_keep(page) : status;
}

static void page_merge(struct standard_work *work, const struct standard_page *page, enum store_status status)
{
    struct store_job *job = &work->task->job;
    if (status != STORE_OK) {
        work->failed = status;
        work->closed = true;
        return;
    }
    job->done += (int64_t)(page->kept.count + page->judged.count);
    job->unread += page->unread;
    trial_add(&work->tally, &page->tally);
}

/* With the mutex held: takes a page, judges it without, and adds what was found. */
static void page_run(struct standard_work *work)
{
    struct standard_page page = {.db = store_reader(work->api->store), .arena = arena_new(0)};
    enum store_status status = page.db == NULL      ? STORE_ERROR
                               : page.arena == NULL ? STORE_NO_MEMORY
                                                    : store_read_begin(page.db);
    const bool reading = status == STORE_OK;
    const bool taken = reading && page_take(work, &page, &status);
    work->closed = work->closed || !taken || clock_monotonic_ns() >= work->leg_until;
    work->exhausted = work->exhausted || (!taken && status == STORE_OK);
    work->out += taken;
    if (taken) {
        pthread_mutex_unlock(&work->mutex);
        status = page_work(&page);
        pthread_mutex_lock(&work->mutex);
        work->out--;
    } else if (reading) {
        store_read_end(page.db);
    }
    page_merge(work, &page, status);
    arena_free(page.arena);
    pthread_cond_broadcast(&work->wake);
}

/* With the mutex held and no page out: keeps how far it has come, and begins the next leg or ends the job. */
static void leg_end(struct standard_work *work)
{
    struct standard_task *task = work->task;
    struct keeping keeping = {.job = task->job, .exhausted = work->exhausted};
    const enum store_status failed = work->failed;
    const struct trial_tally tally = work->tally;
    if (task->job.kind == STORE_JOB_TRIAL) {
        keeping.job.tally = &tally;
        keeping.job.tally_size = sizeof tally;
    }
    keeping.ending = failed == STORE_OK ? STORE_JOB_RUNNING : STORE_JOB_FAILED;
    work->busy = true;
    pthread_mutex_unlock(&work->mutex);
    /* Stopped by its head or with the server: nothing is to be kept. */
    const bool ended = failed == STORE_NOT_FOUND || failed == STORE_CLOSED;
    const enum store_status status = ended ? failed : store_run(work->api->store, keep_job, &keeping);
    pthread_mutex_lock(&work->mutex);
    work->busy = false;
    if (status != STORE_OK || keeping.ending != STORE_JOB_RUNNING) {
        work->task = NULL;
        task_free(task);
        work->look = work->look || status == STORE_NOT_FOUND; /* another may have been begun meanwhile */
    }
    work->failed = STORE_OK;
    work->closed = work->exhausted = false;
    work->leg_until = clock_monotonic_ns() + LEG_NS;
    pthread_cond_broadcast(&work->wake);
}

/* With the mutex held. */
static void job_find(struct standard_work *work)
{
    struct trial_tally tally;
    work->look = false;
    work->busy = true;
    pthread_mutex_unlock(&work->mutex);
    struct standard_task *task = task_load(work->api, &tally);
    pthread_mutex_lock(&work->mutex);
    work->busy = false;
    work->task = task;
    work->tally = tally;
    work->leg_until = clock_monotonic_ns() + LEG_NS;
    pthread_cond_broadcast(&work->wake);
}

/* With the mutex held: others are at what is to be done. A trial waits for no disk: a page for each core is out. */
static bool must_wait(const struct standard_work *work)
{
    if (work->busy || work->task == NULL) {
        return work->busy || !work->look;
    }
    const bool trial = work->task->job.kind == STORE_JOB_TRIAL;
    const int most = trial ? (work->threads_most + 1) / THREADS_PER_CORE : work->threads_most;
    return work->closed ? work->out > 0 : work->out >= most;
}

static void *work_main(void *argument)
{
    struct standard_work *work = argument;
    /* Whoever else wakes takes the processor at once: see heavy.c. */
    (void)pthread_setschedparam(pthread_self(), SCHED_IDLE, &(struct sched_param){.sched_priority = 0});
    pthread_mutex_lock(&work->mutex);
    while (!work->ending && !atomic_load(&work->api->refusing)) {
        if (must_wait(work)) {
            pthread_cond_wait(&work->wake, &work->mutex);
        } else if (work->task == NULL) {
            job_find(work);
        } else if (work->closed) {
            leg_end(work);
        } else {
            page_run(work);
        }
    }
    pthread_mutex_unlock(&work->mutex);
    return NULL;
}

/* ---- from outside ---- */

void standard_work_look(struct standard_work *work)
{
    pthread_mutex_lock(&work->mutex);
    work->look = true;
    while (!work->ending && work->started < work->threads_most &&
           pthread_create(&work->threads[work->started], NULL, work_main, work) == 0) {
        work->started++;
    }
    pthread_cond_broadcast(&work->wake);
    pthread_mutex_unlock(&work->mutex);
}

bool standard_work_busy(struct standard_work *work)
{
    pthread_mutex_lock(&work->mutex);
    const bool busy = work->look || work->busy || work->task != NULL;
    pthread_mutex_unlock(&work->mutex);
    return busy;
}

struct standard_work *standard_work_new(struct api *api)
{
    struct store_job job;
    struct standard_work *work = calloc(1, sizeof *work);
    struct arena *arena = arena_new(0);
    struct store_db *db = store_reader(api->store);
    if (work != NULL) {
        work->api = api;
        work->threads_most = standard_work_threads();
        pthread_mutex_init(&work->mutex, NULL);
        pthread_cond_init(&work->wake, NULL);
    }
    if (work != NULL && arena != NULL && db != NULL && store_job_get(db, arena, &job) == STORE_OK &&
        job.state == STORE_JOB_RUNNING) {
        standard_work_look(work);
    }
    arena_free(arena);
    return work;
}

void standard_work_free(struct standard_work *work)
{
    if (work == NULL) {
        return;
    }
    pthread_mutex_lock(&work->mutex);
    work->ending = true;
    pthread_cond_broadcast(&work->wake);
    pthread_mutex_unlock(&work->mutex);
    for (int i = 0; i < work->started; i++) {
        pthread_join(work->threads[i], NULL);
    }
    task_free(work->task);
    pthread_cond_destroy(&work->wake);
    pthread_mutex_destroy(&work->mutex);
    free(work);
}
