/* Homework: the drills a student is to do for a fix, and when they were done. */
#ifndef LEADSIDE_STORE_PRACTICE_HOMEWORK_H
#define LEADSIDE_STORE_PRACTICE_HOMEWORK_H

#include "store/engine/store.h"

struct store_homework {
    char id[UUID_TEXT];
    char fix_id[UUID_TEXT];
    char student_id[UUID_TEXT]; /* must be the fix's */
    char drill_id[STORE_SLUG];
    int sessions_per_week, minutes, self_check_every;
    int64_t retest_at;
    const char *confirmed; /* the coach's reason for a drill that loads a painful area; NULL = none needed */
    char assigned_by[UUID_TEXT];
    int64_t created;
    int64_t ended;      /* taken off by a coach; 0 = stands */
    unsigned word_pain; /* the sore areas a coach knew of when he gave his word for it */
    int64_t paused_at;  /* pain was told: stands still until a coach says why it goes on; 0 = runs */
    unsigned paused_area;
    int paused_level;
    int64_t resumed_at; /* the last time a coach said so; 0 = never */
    char resumed_by[UUID_TEXT];
    const char *resumed_reason;
    int64_t version;
    /* Filled on reading alone: */
    const char *fault;
    bool fix_open, fix_waits;
    const char *drill_name;
    int64_t done_count, done_since, last_done; /* done_since: since the `since` asked for */
};

struct store_homework_list {
    struct store_homework *items;
    size_t count;
    bool more;
};

struct store_homework_done {
    char id[UUID_TEXT];
    char homework_id[UUID_TEXT];
    int64_t done_at;
    char account_id[UUID_TEXT]; /* who ticked it; "" when that account is gone */
    const char *comment;
    int passed, passed_of; /* so many of so many came off; passed_of 0 = not said */
    unsigned pain_area;    /* one bit; 0 = no word of pain */
    int pain_level;        /* 0...10 */
};

struct store_homework_done_list {
    struct store_homework_done *items;
    size_t count;
    bool more;
};

/* STORE_NOT_FOUND: no such fix of that student, or no such drill. STORE_CONFLICT: that fix has this drill already. */
enum store_status store_homework_insert(struct store_db *db, const struct store_homework *homework) STORE_CHECKED;
enum store_status store_homework_get(struct store_db *db, const char *id, int64_t since, struct arena *arena,
                                     struct store_homework *out) STORE_CHECKED;
/* What the student is to do now (fix open and not waiting, not taken off; the paused too), oldest first; with current
 * false all of it, newest first; one statement; at most STORE_PAGE_MAX. since = start of the week to count in
 * done_since. Of page (may be NULL) updated_since alone. */
enum store_status store_homework_list(struct store_db *db, const char *student_id, bool current, int64_t since,
                                      const struct store_page *page, struct arena *arena,
                                      struct store_homework_list *out) STORE_CHECKED;
/* Takes it off (or, with now 0, puts it back). */
enum store_status store_homework_end(struct store_db *db, const char *id, int64_t version, int64_t now) STORE_CHECKED;
/* Pain pauses it, whatever its version; what paused it first stays when it is paused. */
enum store_status store_homework_pause(struct store_db *db, const char *id, int64_t now, unsigned area,
                                       int level) STORE_CHECKED;
/* A coach's word: paused no more, and not for the areas of word_pain either. */
enum store_status store_homework_resume(struct store_db *db, const struct store_homework *homework) STORE_CHECKED;
/* What was last told of pain, up to `at`, with this homework or of this area: the lower of the two; -1 = nothing. */
enum store_status store_homework_pain_before(struct store_db *db, const struct store_homework *homework, unsigned area,
                                             int64_t at, int *out) STORE_CHECKED;
enum store_status store_homework_done_insert(struct store_db *db, const struct store_homework_done *done) STORE_CHECKED;
/* Newest first. */
enum store_status store_homework_done_list(struct store_db *db, const char *homework_id, const struct store_page *page,
                                           struct arena *arena, struct store_homework_done_list *out) STORE_CHECKED;
enum store_status store_homework_done_get(struct store_db *db, const char *id, struct arena *arena,
                                          struct store_homework_done *out) STORE_CHECKED;
/* With what it put into inboxes, and the answer that was kept for whoever repeats the request. */
enum store_status store_homework_done_remove(struct store_db *db, const struct store_homework_done *done) STORE_CHECKED;

#endif
