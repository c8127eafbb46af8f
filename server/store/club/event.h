/* Live events: every write of the audit in the order of commits, kept for a while so that a listener that was cut off
 * goes on where it was. What it is about, never what was written. */
#ifndef LEADSIDE_STORE_CLUB_EVENT_H
#define LEADSIDE_STORE_CLUB_EVENT_H

#include "store/people/account.h"

#define STORE_EVENT_ID 40    /* "123-0123456789ab", with the final NUL */
#define STORE_EVENTS 50000   /* so many are kept, the newest */
#define STORE_EVENTS_LIST 64 /* most of one list */

struct store_event {
    int64_t number; /* rises with each commit */
    char id[STORE_EVENT_ID];
    char action[65], entity[65], object_id[STORE_SLUG]; /* the audit's */
    char student_id[UUID_TEXT], account_id[UUID_TEXT];  /* whom it concerns, who did it; "" = nobody */
    char from_id[UUID_TEXT], to_id[UUID_TEXT];          /* of a hand-over; otherwise "" */
    unsigned readers;                                   /* of a note (store/lessons/note.h) */
};

struct store_event_list {
    struct store_event *items;
    size_t count;
    bool more;
};

/* Those numbered from `from` to `to`, oldest first, at most STORE_EVENTS_LIST. */
enum store_status store_event_list(struct store_db *db, int64_t from, int64_t to, struct arena *arena,
                                   struct store_event_list *out) STORE_CHECKED;
/* Number 0 and id "" while there is none. */
enum store_status store_event_newest(struct store_db *db, int64_t *number, char id[STORE_EVENT_ID]) STORE_CHECKED;
/* The number of an id that a listener was given; STORE_NOT_FOUND when it is no longer kept, or never was in this file.
 */
enum store_status store_event_known(struct store_db *db, const char *id, int64_t *number) STORE_CHECKED;
/* The accounts on a student's team and the guardians, at most STORE_PAGE_MAX; who of them may see what is for
 * auth/rights to say. */
enum store_status store_event_audience(struct store_db *db, const char *student_id, struct arena *arena,
                                       struct store_id_list *out) STORE_CHECKED;
/* Forgets what is older than the newest STORE_EVENTS, some at a time. */
enum store_status store_event_purge(struct store_db *db) STORE_CHECKED;

#endif
