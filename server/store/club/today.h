/* Students who are on the tee today, each with what a coach wants to know first: the one open fix, what was left for
 * whoever coaches, what hurts and what waits. */
#ifndef LEADSIDE_STORE_CLUB_TODAY_H
#define LEADSIDE_STORE_CLUB_TODAY_H

#include "store/people/account.h"

#define STORE_TODAY_MAX 50

struct store_today {
    char id[UUID_TEXT];
    const char *name, *hand, *sex; /* sex NULL = not said */
    bool junior;
    unsigned pain;
    const char *pain_note;
    char fix_id[UUID_TEXT]; /* the newest that runs; "" = none */
    const char *fault;
    int64_t opened_at, retest_at; /* retest_at 0 = none planned */
    int64_t open_fixes;           /* the waiting one too */
    char note_id[UUID_TEXT];      /* the newest; "" = none */
    const char *note, *note_by;
    int64_t noted_at;
    char handover_id[UUID_TEXT]; /* the newest; "" = none */
    const char *handed_note, *handed_by;
    int64_t handed_at;
    int64_t waiting, urgent; /* in the inbox of who asks */
    const char *still;       /* the address of the newest picture that may be shown; NULL = none */
    int64_t last_swing;      /* when it was recorded; 0 = none */
};

/* Of whose team the account is on, and of whom a swing arrived or a lesson was written down since; the last first, at
 * most STORE_TODAY_MAX. */
enum store_status store_today_active(struct store_db *db, const char *account_id, int64_t since, struct arena *arena,
                                     struct store_id_list *out) STORE_CHECKED;
/* STORE_NOT_FOUND: no such student, or archived. Whether the account may see the student is the caller's to ask. */
enum store_status store_today_student(struct store_db *db, const char *account_id, const char *student_id, int64_t now,
                                      struct arena *arena, struct store_today *out) STORE_CHECKED;

#endif
