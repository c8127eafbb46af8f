/* When a fix is looked at again: planned with it, moved by a coach, over with it. Due ones stand in the inbox. */
#ifndef LEADSIDE_STORE_PRACTICE_RETEST_H
#define LEADSIDE_STORE_PRACTICE_RETEST_H

#include "store/engine/store.h"

struct store_retest {
    char id[UUID_TEXT];
    char student_id[UUID_TEXT], fix_id[UUID_TEXT];
    int64_t begun_at, due_at; /* the days between are the dose's, unless it was moved */
    char planned_by[UUID_TEXT], moved_by[UUID_TEXT];
    int64_t moved_at; /* 0 = never */
    const char *moved_reason;
    int64_t ended_at; /* 0 = planned */
    int64_t version;
    /* Filled on reading alone: */
    const char *student_name, *fault;
    bool waits; /* its fix does */
};

struct store_retest_list {
    struct store_retest *items;
    size_t count;
    bool more;
};

/* With a new fix: due when the last of its homework says. Nothing without homework. */
enum store_status store_retest_plan(struct store_db *db, const struct store_retest *retest) STORE_CHECKED;
enum store_status store_retest_get(struct store_db *db, const char *id, struct arena *arena,
                                   struct store_retest *out) STORE_CHECKED;
/* Newest first. */
enum store_status store_retest_list(struct store_db *db, const char *student_id, const struct store_page *page,
                                    struct arena *arena, struct store_retest_list *out) STORE_CHECKED;
/* Planned ones due before page->to, of fixes that run, the longest due first: of students whose team the account is on,
 * or, for a head, of all. */
enum store_status store_retest_due(struct store_db *db, const char *account_id, bool head,
                                   const struct store_page *page, struct arena *arena,
                                   struct store_retest_list *out) STORE_CHECKED;
/* due_at, who moved it, when and why; what the homework says moves along. STORE_NOT_FOUND: it is over. */
enum store_status store_retest_move(struct store_db *db, const struct store_retest *retest) STORE_CHECKED;

/* A fix has ended: its retest is over. Opened again: another is planned, with as many days. */
enum store_status store_retest_end(struct store_db *db, const char *fix_id, int64_t now) STORE_CHECKED;
enum store_status store_retest_again(struct store_db *db, const char *fix_id, const char *account_id,
                                     int64_t now) STORE_CHECKED;
/* The student's one open fix begins now: its days are counted from here. */
enum store_status store_retest_begin(struct store_db *db, const char *student_id, int64_t now) STORE_CHECKED;
/* The inbox holds what the student's running fixes have planned, each from its day on. */
enum store_status store_retest_announce(struct store_db *db, const char *student_id) STORE_CHECKED;

struct store_reading {
    char swing_id[UUID_TEXT], lesson_id[UUID_TEXT]; /* "" = in none */
    int64_t at;                                     /* recorded */
    int64_t report;                                 /* number of its newest */
};
struct store_reading_list {
    struct store_reading *items;
    size_t count;
    bool more;
};
#define STORE_READINGS_MAX 200
#define STORE_FIRSTS_MAX 100

/* The student's newest swings that count, the newest first. */
enum store_status store_retest_readings(struct store_db *db, const char *student_id, struct arena *arena,
                                        struct store_reading_list *out) STORE_CHECKED;
/* The first swing that counts of each of the newest students. */
enum store_status store_retest_firsts(struct store_db *db, struct arena *arena,
                                      struct store_reading_list *out) STORE_CHECKED;

#endif
