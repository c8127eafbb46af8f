/* GET /v1/events: server-sent events of what the caller may see, for as long as the session stands. Nothing is kept for
 * a listener but the number up to which it has heard: the rest is read again when the line takes it, so one that is
 * slow holds nobody up and costs nothing. */
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "api/club/handlers.h"
#include "api/club/listeners.h"
#include "api/frame/call.h"

#define AT_ONCE 256   /* events looked at before the thread's other connections have a turn */
#define AGAIN_MS 2000 /* a listener that was cut comes again after so long, and up to twice that: not all together */

struct listening {
    struct listener listener;
    struct store *store;
    bool resumed, lost; /* it goes on from an event that it named; that is not known */
    char first_id[STORE_EVENT_ID];
    bool begun, over;
    char text[EVENT_TEXT]; /* on its way out */
    size_t size, at;
};

static void say(struct listening *listening, const char *id, const char *name)
{
    const int size = snprintf(listening->text, sizeof listening->text, "%s%s%sevent: %s\ndata: {}\n\n",
                              id[0] == '\0' ? "" : "id: ", id, id[0] == '\0' ? "" : "\n", name);
    listening->size = (size_t)size;
}

static void say_last(struct listening *listening, const char *name)
{
    say(listening, "", name);
    listening->over = true;
}

/* As the session has it now; its role has not changed. */
static bool still_who(struct listening *listening, struct store_db *db, struct principal *who)
{
    struct store_session_identity identity;
    *who = listening->listener.who;
    const enum store_status status = store_session_find_id(db, who->session_id, clock_now_ms(), &identity);
    return status == STORE_OK && identity.role == who->role && !identity.password_temporary;
}

/* The next event of those from news->from on that it may see; the number of the first that was not looked at. It is
 * over when the store is out of order. */
static int64_t find(struct listening *listening, struct store_db *db, const struct principal *who,
                    const struct listener_news *news)
{
    struct store_event_list list = {.count = 1};
    bool concerns = false;
    enum store_status status = STORE_OK;
    int64_t next = news->from;
    while (next <= news->to && next < news->from + AT_ONCE && !concerns && list.count > 0 && status == STORE_OK) {
        struct arena *arena = arena_new(0);
        status = arena == NULL ? STORE_NO_MEMORY : store_event_list(db, next, news->to, arena, &list);
        for (size_t i = 0; status == STORE_OK && i < list.count && !concerns; i++) {
            status = event_concerns(db, &list.items[i], who, &concerns);
            next = status == STORE_OK ? list.items[i].number + 1 : next;
            if (concerns) {
                listening->size = event_write(&list.items[i], who, listening->text);
            }
        }
        arena_free(arena);
    }
    listening->over = status != STORE_OK;
    return status == STORE_OK && list.count == 0 ? news->to + 1 : next;
}

/* A sign of life; everything up to now was looked at, so a listener that is cut later need not go far back. */
static void say_beat(struct listening *listening, const struct listener_news *news, bool idle)
{
    const bool id = idle && news->live >= news->from && news->live_id[0] != '\0';
    listening->size = (size_t)snprintf(listening->text, sizeof listening->text, ":\n%s%s%s\n", id ? "id: " : "",
                                       id ? news->live_id : "", id ? "\n" : "");
}

static void begin(struct listening *listening)
{
    char retry[40];
    const int size = snprintf(retry, sizeof retry, "retry: %u\n", AGAIN_MS + randombytes_uniform(AGAIN_MS));
    say(listening, listening->resumed ? "" : listening->first_id, listening->lost ? "reset" : "ready");
    memmove(listening->text + size, listening->text, listening->size);
    memcpy(listening->text, retry, (size_t)size);
    listening->size += (size_t)size;
    listening->begun = true;
}

/* What to send next, into text; nothing: size stays 0. */
static void fill(struct listening *listening)
{
    struct listener *listener = &listening->listener;
    struct store_db *db = store_reader(listening->store);
    const struct listener_news news = listeners_news(listener);
    struct principal who;
    int64_t next = news.from;
    if (news.gone) {
        listening->over = true;
    } else if (news.stopping) {
        say_last(listening, "stopping");
    } else if (db == NULL || !still_who(listening, db, &who)) {
        say_last(listening, "ended");
    } else if (!listening->begun) {
        begin(listening);
    } else if (news.to - news.from >= STORE_EVENTS) {
        say(listening, news.live_id, "reset");
        next = news.live + 1;
    } else {
        next = news.from <= news.to ? find(listening, db, &who, &news) : next;
        if (listening->size == 0 && !listening->over && (news.beat || next <= news.to)) {
            say_beat(listening, &news, next > news.to);
        }
    }
    listeners_passed(listener, next, listening->size > 0);
}

static long read_news(void *context, char *out, size_t size)
{
    struct listening *listening = context;
    if (listening->at == listening->size) {
        listening->at = listening->size = 0;
        if (!listening->over) {
            fill(listening);
        }
    }
    const size_t left = listening->size - listening->at;
    const size_t piece = left < size ? left : size;
    memcpy(out, listening->text + listening->at, piece);
    listening->at += piece;
    return piece == 0 && listening->over ? -1 : (long)piece;
}

static void release(void *context)
{
    struct listening *listening = context;
    listeners_remove(&listening->listener);
    free(listening);
}

static void refuse(struct call *call, enum listeners_answer answer)
{
    exchange_add_header(call->exchange, "Retry-After", "30");
    if (answer == LISTENERS_ACCOUNT_FULL) {
        exchange_problem(call->exchange, 429, "too-many-listeners", NULL,
                         "This account is listening in %d places already.", LISTENERS_PER_ACCOUNT);
    } else {
        exchange_problem(call->exchange, 503, "too-many-listeners", NULL,
                         "As many are listening as the server has room for; ask for what you need instead.");
    }
}

/* Where it begins: after the last event it heard, or now. */
static enum store_status find_place(struct call *call, struct listening *listening)
{
    const char *last = exchange_header(call->exchange, "Last-Event-ID");
    int64_t number = 0;
    enum store_status status = STORE_NOT_FOUND;
    if (last != NULL && last[0] != '\0') {
        status = store_event_known(call->db, last, &number);
        listening->resumed = status == STORE_OK;
        listening->lost = status == STORE_NOT_FOUND;
    }
    if (status == STORE_NOT_FOUND) {
        status = store_event_newest(call->db, &number, listening->first_id);
    }
    listening->listener.from = number + 1;
    return status;
}

void events_listen(struct call *call)
{
    struct listening *listening = calloc(1, sizeof *listening);
    const enum store_status status = listening == NULL ? STORE_NO_MEMORY : find_place(call, listening);
    if (status != STORE_OK) {
        free(listening);
        call_problem_store(call, status);
        return;
    }
    listening->store = call->api->store;
    listening->listener.exchange = call->exchange;
    listening->listener.who = *call->principal;
    const enum listeners_answer answer = listeners_add(call->api->listeners, call->db, &listening->listener);
    if (answer != LISTENERS_IN) {
        free(listening);
        refuse(call, answer);
        return;
    }
    exchange_add_header(call->exchange, "X-Accel-Buffering", "no");
    exchange_reply_listen(call->exchange, "text/event-stream", read_news, release, listening);
}
