/* Who is listening, and the one thread that tells them there is something to look at: it follows the order of commits,
 * wakes whom a write may concern, and sees after a while who has hung up or whose session has ended. */
#ifndef LEADSIDE_API_CLUB_LISTENERS_H
#define LEADSIDE_API_CLUB_LISTENERS_H

#include "api/club/event_kind.h"

struct exchange;
struct listeners;
struct store_db;

#define LISTENERS_PER_ACCOUNT 8

/* What a listener has to look at; numbers of store/club/event.h. */
struct listener_news {
    int64_t from, to; /* none when from > to */
    int64_t live;     /* everything up to here was judged for it */
    char live_id[STORE_EVENT_ID];
    bool beat;           /* something must be sent, lest the line be taken for dead */
    bool gone, stopping; /* the other side has hung up; the server is stopping */
};

/* Its memory is the caller's. Set by whoever listens: exchange, who, from (the number after the last one heard). The
 * rest is listeners.c's own. */
struct listener {
    struct listener *next, *previous;
    struct listeners *listeners;
    struct exchange *exchange;
    struct principal who; /* as it was when it began */
    int64_t from, to;
    int64_t sent_ms, look_ms;
    bool beat, gone;
};

enum listeners_answer { LISTENERS_IN, LISTENERS_ACCOUNT_FULL, LISTENERS_FULL };

/* limit: most at once. NULL when memory or a thread can't be had. */
struct listeners *listeners_new(struct store *store, unsigned limit) __attribute__((warn_unused_result));
/* db: the caller's reader, with which the listener's place was found. */
enum listeners_answer listeners_add(struct listeners *listeners, struct store_db *db, struct listener *listener);
void listeners_remove(struct listener *listener);
/* What there is now. */
struct listener_news listeners_news(struct listener *listener);
/* Looked at everything before `next`; sent: something goes out. */
void listeners_passed(struct listener *listener, int64_t next, bool sent);
/* Everybody is told that the server stops; nobody waits any more. */
void listeners_stop(struct listeners *listeners);
/* Nobody is left. NULL is fine. */
void listeners_free(struct listeners *listeners);

#endif
