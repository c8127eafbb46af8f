/* See heavy.h. */
#define _GNU_SOURCE /* SCHED_IDLE */
#include "api/frame/heavy.h"

#include <sched.h>
#include <stdlib.h>
#include <string.h>

#include "api/frame/answer.h"

#define THREADS 2
#define PLACES 16
#define PLACES_OF_ONE 2 /* of one account */

struct heavy_place {
    struct heavy *heavy;
    bool taken;
    char account_id[UUID_TEXT];
};

struct task {
    struct call call;
    heavy_work work;
    heavy_then then;
    void *data;
    struct heavy_place *place;
    bool kept; /* whoever asked releases the place */
    enum store_status status;
    struct task *next;
};

struct heavy {
    struct store *store;
    pthread_t threads[THREADS];
    int started;
    pthread_mutex_t mutex; /* everything below */
    pthread_cond_t wake;
    struct task *first, *last; /* waiting */
    bool ending;
    struct heavy_place places[PLACES];
};

/* ---- places ---- */

static struct heavy_place *place_take(struct heavy *heavy, const char *account_id)
{
    struct heavy_place *place = NULL;
    int of_one = 0;
    pthread_mutex_lock(&heavy->mutex);
    for (int i = 0; i < PLACES; i++) {
        struct heavy_place *at = &heavy->places[i];
        if (!at->taken) {
            place = at;
            continue;
        }
        of_one += strcmp(at->account_id, account_id) == 0;
    }
    if (of_one >= PLACES_OF_ONE) {
        place = NULL;
    }
    if (place != NULL) {
        *place = (struct heavy_place){.heavy = heavy, .taken = true};
        memcpy(place->account_id, account_id, UUID_TEXT);
    }
    pthread_mutex_unlock(&heavy->mutex);
    return place;
}

void heavy_release(struct heavy_place *place)
{
    if (place != NULL) {
        pthread_mutex_lock(&place->heavy->mutex);
        place->taken = false;
        pthread_mutex_unlock(&place->heavy->mutex);
    }
}

/* ---- the threads ---- */

static void run(struct heavy *heavy, struct task *task)
{
    struct call *call = &task->call;
    struct exchange *exchange = call->exchange;
    struct heavy_place *place = task->kept ? NULL : task->place;
    const unsigned shortages = arena_shortages();
    call->db = store_reader(heavy->store);
    task->status = call->db == NULL ? STORE_ERROR : store_read_begin(call->db);
    if (task->status == STORE_OK) {
        struct store_db *db = call->db;
        task->work(call, task->data);
        store_read_end(db);
        task->status = arena_shortages() != shortages ? STORE_NO_MEMORY : STORE_OK;
    }
    heavy_release(place);
    exchange_wake(exchange); /* the task may be gone by now */
}

static void *heavy_main(void *argument)
{
    struct heavy *heavy = argument;
    /* Whoever else wakes takes the processor at once; niceness alone would let a turn of some ms end first. */
    (void)pthread_setschedparam(pthread_self(), SCHED_IDLE, &(struct sched_param){.sched_priority = 0});
    pthread_mutex_lock(&heavy->mutex);
    for (;;) {
        struct task *task = heavy->first;
        if (task == NULL) {
            if (heavy->ending) {
                break;
            }
            pthread_cond_wait(&heavy->wake, &heavy->mutex);
            continue;
        }
        heavy->first = task->next;
        pthread_mutex_unlock(&heavy->mutex);
        run(heavy, task);
        pthread_mutex_lock(&heavy->mutex);
    }
    pthread_mutex_unlock(&heavy->mutex);
    return NULL;
}

struct heavy *heavy_new(struct store *store)
{
    struct heavy *heavy = calloc(1, sizeof *heavy);
    if (heavy == NULL) {
        return NULL;
    }
    heavy->store = store;
    pthread_mutex_init(&heavy->mutex, NULL);
    pthread_cond_init(&heavy->wake, NULL);
    while (heavy->started < THREADS && pthread_create(&heavy->threads[heavy->started], NULL, heavy_main, heavy) == 0) {
        heavy->started++;
    }
    if (heavy->started == 0) {
        heavy_free(heavy);
        return NULL;
    }
    return heavy;
}

void heavy_free(struct heavy *heavy)
{
    if (heavy == NULL) {
        return;
    }
    pthread_mutex_lock(&heavy->mutex);
    heavy->ending = true;
    pthread_cond_broadcast(&heavy->wake);
    pthread_mutex_unlock(&heavy->mutex);
    for (int i = 0; i < heavy->started; i++) {
        pthread_join(heavy->threads[i], NULL);
    }
    pthread_cond_destroy(&heavy->wake);
    pthread_mutex_destroy(&heavy->mutex);
    free(heavy);
}

/* ---- handing over ---- */

static void resume(struct exchange *exchange, void *argument)
{
    struct task *task = argument;
    (void)exchange;
    task->call.db = store_reader(task->call.api->store);
    task->then(&task->call, task->status, task->data);
}

static void enqueue(struct heavy *heavy, struct task *task)
{
    pthread_mutex_lock(&heavy->mutex);
    if (heavy->first == NULL) {
        heavy->first = task;
    } else {
        heavy->last->next = task;
    }
    heavy->last = task;
    pthread_cond_signal(&heavy->wake);
    pthread_mutex_unlock(&heavy->mutex);
}

bool call_heavy(struct call *call, heavy_work work, heavy_then then, void *data, struct heavy_place **keep)
{
    struct heavy *heavy = call->api->heavy;
    struct task *task = arena_alloc(call->arena, sizeof *task);
    if (task == NULL) {
        call_problem_store(call, STORE_NO_MEMORY);
        return false;
    }
    struct heavy_place *place = place_take(heavy, call->principal->account_id);
    if (place == NULL) {
        exchange_add_header(call->exchange, "Retry-After", "5");
        exchange_problem(call->exchange, 429, "busy", NULL,
                         "Work of this kind is under way already; try again when it is done.");
        return false;
    }
    *task =
        (struct task){.call = *call, .work = work, .then = then, .data = data, .place = place, .kept = keep != NULL};
    if (keep != NULL) {
        *keep = place;
    }
    exchange_park(call->exchange, resume, task);
    enqueue(heavy, task);
    return true;
}

/* ---- figures ---- */

struct figures {
    heavy_figures make;
    struct store_page page;
    struct json_out out;
    enum store_status status;
};

static void figures_run(struct call *call, void *data)
{
    struct figures *figures = data;
    json_out_start(&figures->out, call->arena);
    figures->status = figures->make(call, &figures->page, &figures->out);
}

static void figures_reply(struct call *call, enum store_status status, void *data)
{
    struct figures *figures = data;
    status = status == STORE_OK ? figures->status : status;
    if (status != STORE_OK) {
        call_problem_store(call, status);
    } else {
        answer_json(call, &figures->out, 0);
    }
}

void call_figures(struct call *call, heavy_figures make)
{
    struct figures *figures = arena_alloc(call->arena, sizeof *figures);
    if (figures == NULL) {
        call_problem_store(call, STORE_NO_MEMORY);
        return;
    }
    figures->make = make;
    if (call_narrow(call, &figures->page)) {
        (void)call_heavy(call, figures_run, figures_reply, figures, NULL);
    }
}
