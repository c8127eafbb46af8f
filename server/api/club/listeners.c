/* See listeners.h. */
#include "api/club/listeners.h"

#include <stdlib.h>
#include <string.h>

#include "base/wait.h"
#include "http/exchange.h"
#include "store/people/session.h"

#define ROUND_MS 150  /* between two looks for new commits */
#define LOOK_MS 1000  /* between two looks after one listener */
#define BEAT_MS 25000 /* of silence; proxies cut a line after 60 s of it */

struct listeners {
    struct store *store;
    unsigned limit, count;
    pthread_t thread;
    pthread_mutex_t mutex; /* the list, every listener's fields, and these: */
    pthread_cond_t wake;
    bool stopping, asleep; /* the thread is, without anybody listening */
    struct listener *list;
    int64_t live;
    char live_id[STORE_EVENT_ID];
};

static int64_t now_ms(void)
{
    return clock_monotonic_ns() / 1000000;
}

/* ---- the thread ---- */

static void tell(struct listeners *listeners, const struct store_event *event, const struct store_id_list *audience)
{
    pthread_mutex_lock(&listeners->mutex);
    for (struct listener *listener = listeners->list; listener != NULL; listener = listener->next) {
        if (event->number >= listener->from && event_may_concern(event, &listener->who, audience)) {
            listener->from = listener->from > listener->to ? event->number : listener->from;
            listener->to = event->number;
            exchange_listen_wake(listener->exchange);
        }
    }
    listeners->live = event->number;
    memcpy(listeners->live_id, event->id, STORE_EVENT_ID);
    pthread_mutex_unlock(&listeners->mutex);
}

/* False: there is no more, or the store is out of order for now. */
static bool follow(struct listeners *listeners, struct store_db *db)
{
    struct store_event_list list = {0};
    struct arena *arena = arena_new(0);
    enum store_status status =
        arena == NULL ? STORE_NO_MEMORY : store_event_list(db, listeners->live + 1, INT64_MAX, arena, &list);
    for (size_t i = 0; i < list.count && status == STORE_OK; i++) {
        const struct store_event *event = &list.items[i];
        struct store_id_list audience = {0};
        if (event->student_id[0] != '\0') {
            status = store_event_audience(db, event->student_id, arena, &audience);
        }
        if (status == STORE_OK) {
            tell(listeners, event, &audience);
        }
    }
    arena_free(arena);
    return status == STORE_OK && list.count > 0;
}

/* Each in its turn, once a second. With the mutex held. */
static void look_after(struct listeners *listeners, struct store_db *db)
{
    const int64_t now = now_ms();
    const int64_t wall = clock_now_ms();
    for (struct listener *listener = listeners->list; listener != NULL; listener = listener->next) {
        struct store_session_identity identity;
        if (now < listener->look_ms) {
            continue;
        }
        listener->look_ms = now + LOOK_MS;
        listener->gone = exchange_listen_gone(listener->exchange);
        listener->beat = now - listener->sent_ms >= BEAT_MS;
        if (listener->gone || listener->beat ||
            store_session_find_id(db, listener->who.session_id, wall, &identity) == STORE_NOT_FOUND) {
            exchange_listen_wake(listener->exchange);
        }
    }
}

static void *run(void *argument)
{
    struct listeners *listeners = argument;
    pthread_mutex_lock(&listeners->mutex);
    while (!listeners->stopping) {
        listeners->asleep = listeners->list == NULL;
        if (listeners->asleep) {
            pthread_cond_wait(&listeners->wake, &listeners->mutex);
            continue;
        }
        pthread_mutex_unlock(&listeners->mutex);
        struct store_db *db = store_reader(listeners->store);
        while (db != NULL && follow(listeners, db)) {
        }
        pthread_mutex_lock(&listeners->mutex);
        if (db != NULL) {
            look_after(listeners, db);
        }
        const struct timespec end = wait_end(ROUND_MS);
        while (!listeners->stopping && wait_until(&listeners->wake, &listeners->mutex, &end)) {
        }
    }
    pthread_mutex_unlock(&listeners->mutex);
    return NULL;
}

/* ---- for the listeners ---- */

/* What was written while nobody listened needs to be judged for nobody. With the mutex held. */
static void wake_up(struct listeners *listeners, struct store_db *db)
{
    int64_t number;
    char id[STORE_EVENT_ID];
    if (store_event_newest(db, &number, id) == STORE_OK) {
        listeners->live = number;
        memcpy(listeners->live_id, id, sizeof id);
    }
    listeners->asleep = false;
    pthread_cond_signal(&listeners->wake);
}

enum listeners_answer listeners_add(struct listeners *listeners, struct store_db *db, struct listener *listener)
{
    unsigned own = 0;
    enum listeners_answer answer = LISTENERS_IN;
    pthread_mutex_lock(&listeners->mutex);
    for (const struct listener *other = listeners->list; other != NULL; other = other->next) {
        own += strcmp(other->who.account_id, listener->who.account_id) == 0;
    }
    if (own >= LISTENERS_PER_ACCOUNT) {
        answer = LISTENERS_ACCOUNT_FULL;
    } else if (listeners->count >= listeners->limit) {
        answer = LISTENERS_FULL;
    } else {
        if (listeners->asleep) {
            wake_up(listeners, db);
        }
        listener->listeners = listeners;
        listener->to = listeners->live;
        listener->sent_ms = now_ms();
        listener->look_ms = listener->sent_ms + LOOK_MS;
        listener->previous = NULL;
        listener->next = listeners->list;
        if (listener->next != NULL) {
            listener->next->previous = listener;
        }
        listeners->list = listener;
        listeners->count++;
    }
    pthread_mutex_unlock(&listeners->mutex);
    return answer;
}

void listeners_remove(struct listener *listener)
{
    struct listeners *listeners = listener->listeners;
    pthread_mutex_lock(&listeners->mutex);
    if (listener->previous != NULL) {
        listener->previous->next = listener->next;
    } else {
        listeners->list = listener->next;
    }
    if (listener->next != NULL) {
        listener->next->previous = listener->previous;
    }
    listeners->count--;
    pthread_mutex_unlock(&listeners->mutex);
}

struct listener_news listeners_news(struct listener *listener)
{
    struct listeners *listeners = listener->listeners;
    pthread_mutex_lock(&listeners->mutex);
    struct listener_news news = {.from = listener->from,
                                 .to = listener->to,
                                 .live = listeners->live,
                                 .beat = listener->beat,
                                 .gone = listener->gone,
                                 .stopping = listeners->stopping};
    memcpy(news.live_id, listeners->live_id, sizeof news.live_id);
    pthread_mutex_unlock(&listeners->mutex);
    return news;
}

void listeners_passed(struct listener *listener, int64_t next, bool sent)
{
    pthread_mutex_lock(&listener->listeners->mutex);
    listener->from = next > listener->from ? next : listener->from;
    if (sent) {
        listener->sent_ms = now_ms();
        listener->beat = false;
    }
    pthread_mutex_unlock(&listener->listeners->mutex);
}

/* ---- beginning and ending ---- */

struct listeners *listeners_new(struct store *store, unsigned limit)
{
    struct listeners *listeners = calloc(1, sizeof *listeners);
    struct store_db *db = store_reader(store);
    if (listeners == NULL || db == NULL || store_event_newest(db, &listeners->live, listeners->live_id) != STORE_OK) {
        free(listeners);
        return NULL;
    }
    listeners->store = store;
    listeners->limit = limit;
    pthread_mutex_init(&listeners->mutex, NULL);
    wait_init(&listeners->wake);
    if (pthread_create(&listeners->thread, NULL, run, listeners) != 0) {
        pthread_cond_destroy(&listeners->wake);
        pthread_mutex_destroy(&listeners->mutex);
        free(listeners);
        return NULL;
    }
    return listeners;
}

void listeners_stop(struct listeners *listeners)
{
    pthread_mutex_lock(&listeners->mutex);
    listeners->stopping = true;
    pthread_cond_signal(&listeners->wake);
    for (struct listener *listener = listeners->list; listener != NULL; listener = listener->next) {
        exchange_listen_wake(listener->exchange);
    }
    pthread_mutex_unlock(&listeners->mutex);
}

void listeners_free(struct listeners *listeners)
{
    if (listeners == NULL) {
        return;
    }
    listeners_stop(listeners);
    pthread_join(listeners->thread, NULL);
    pthread_cond_destroy(&listeners->wake);
    pthread_mutex_destroy(&listeners->mutex);
    free(listeners);
}
