/* The head professional's view: every coach, and every student who waits. */
#ifndef LEADSIDE_STORE_CLUB_OVERVIEW_H
#define LEADSIDE_STORE_CLUB_OVERVIEW_H

#include "store/engine/store.h"

struct store_coach_row {
    char account_id[UUID_TEXT];
    const char *name;
    int64_t students;             /* on whose team, not archived */
    int64_t students_without_fix; /* of those: no open fix */
    int64_t homework_done;        /* ticks by those students since `since` */
    int64_t last_seen;            /* newest session use; 0 = never */
    bool disabled;
};

struct store_coach_rows {
    struct store_coach_row *items;
    size_t count;
    bool more;
};

/* Heads and coaches, at most STORE_PAGE_MAX; since: when a week began, as homework_week_start says it. */
enum store_status store_overview_coaches(struct store_db *db, int64_t since, struct arena *arena,
                                         struct store_coach_rows *out) STORE_CHECKED;

struct store_student_row {
    char student_id[UUID_TEXT];
    const char *name;
    const char *member_number; /* NULL = none */
    int64_t team;              /* how many coaches */
    const char *team_ids;      /* their account ids, a comma between; "" = none */
    const char *faults;        /* of the fixes that run, a comma between */
    int64_t open_fixes;
    int64_t waiting_fixes;                      /* of the open ones: wait for the other to end */
    int64_t paused;                             /* drills that pain has paused */
    unsigned pain;                              /* sore areas (bits) */
    int64_t oldest_fix;                         /* when the oldest fix that runs was opened; 0 = none */
    int64_t last_swing, last_lesson, last_done; /* 0 = never */
    int64_t retest_at;                          /* earliest of what is due; 0 = none */
    int64_t adult_from;                         /* a junior's, as in store/people/student.h; 0 = none or not known */
};

struct store_student_rows {
    struct store_student_row *items;
    size_t count;
    bool more;
};

/* Students in lessons, oldest first: who is stuck, who was forgotten. */
enum store_status store_overview_students(struct store_db *db, const struct store_page *page, struct arena *arena,
                                          struct store_student_rows *out) STORE_CHECKED;

#endif
