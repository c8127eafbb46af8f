/* Second opinions: what a coach sees in a swing, fault by fault, said before others' opinions are shown. */
#ifndef LEADSIDE_STORE_LESSONS_OPINION_H
#define LEADSIDE_STORE_LESSONS_OPINION_H

#include "store/engine/store.h"

struct store_opinion {
    char id[UUID_TEXT];
    char swing_id[UUID_TEXT];
    char account_id[UUID_TEXT];
    int64_t created;
    int64_t changed_at; /* 0 = as it was said first */
    int64_t version;    /* 0 on the way in: it is the first */
    const char *first;  /* JSON, {"crowding": "present", …}: what was said before others' were seen */
    const char *now;    /* the same of what is said now */
};

struct store_opinion_list {
    struct store_opinion *items;
    size_t count;
    bool more;
};

/* Everybody's, in the order in which they were given. */
enum store_status store_opinion_list(struct store_db *db, const char *swing_id, struct arena *arena,
                                     struct store_opinion_list *out) STORE_CHECKED;
/* One of many, as it was said first. */
struct store_said {
    char swing_id[UUID_TEXT];
    char student_id[UUID_TEXT];
    char account_id[UUID_TEXT];
    const char *first;
};

struct store_said_list {
    struct store_said *items;
    size_t count;
    bool more;
};

#define STORE_SAID_MAX 4000

/* What was said first between page->from and page->to, of swings that count: the newest STORE_SAID_MAX. */
enum store_status store_opinion_between(struct store_db *db, const struct store_page *page, struct arena *arena,
                                        struct store_said_list *out) STORE_CHECKED;
/* One's first (STORE_CONFLICT when there is one), or what is said now, at this version (STORE_STALE). Raises it. */
enum store_status store_opinion_put(struct store_db *db, struct store_opinion *opinion) STORE_CHECKED;

#endif
