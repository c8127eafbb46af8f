/* Students and the team of coaches each one has. */
#ifndef LEADSIDE_STORE_PEOPLE_STUDENT_H
#define LEADSIDE_STORE_PEOPLE_STUDENT_H

#include "store/people/account.h"

/* adult_from of a junior whose age nobody said (the year 9999). */
#define STORE_ADULT_UNKNOWN 253402300800000LL

struct store_student {
    char id[UUID_TEXT];
    const char *name;
    const char *hand;       /* "right" or "left" */
    const char *sex;        /* "female", "male" or NULL = not said */
    const char *birth_date; /* "2012-05-02"; NULL = not said */
    int birth_year;         /* 0 = not said; the year of birth_date where there is one */
    bool has_height, has_handicap;
    double height_m;        /* 0.5...2.6 */
    double handicap;        /* -10...54, plus handicaps negative */
    const char *tendencies; /* what the ball does, in the coach's words; NULL = not said */
    unsigned pain;          /* bits of core's enum area */
    const char *pain_note;
    const char *wants;
    const char *member_number, *email, *phone; /* the club's own number, and how to reach the student or family; NULL =
                                                  not said. STORE_CONFLICT: another has the number */
    bool junior;        /* now: by the birth date or year where known. On the way in it counts where neither is */
    int64_t adult_from; /* reading only: 18 by then, at 0:00 UTC; far away for a junior of unknown age, 0 = unknown */
    /* Reading only; see store/people/consent.h. */
    const char *consent_by; /* who agreed to pictures; NULL = nobody whose word counts now */
    int64_t consent_at;
    bool pictures; /* may be kept and shown */
    int64_t created;
    int64_t archived; /* 0 = in lessons */
    int64_t version;
};

struct store_student_list {
    struct store_student *items;
    size_t count;
    bool more;
};

enum store_status store_student_insert(struct store_db *db, const struct store_student *student) STORE_CHECKED;
enum store_status store_student_get(struct store_db *db, const char *id, struct arena *arena,
                                    struct store_student *out) STORE_CHECKED;
/* Everything but id and created. */
/* What its list shows was changed elsewhere: a consent. */
enum store_status store_student_touch(struct store_db *db, const char *id) STORE_CHECKED;
enum store_status store_student_update(struct store_db *db, struct store_student *student) STORE_CHECKED;
/* The whole club, oldest first. */
enum store_status store_student_list(struct store_db *db, const struct store_page *page, struct arena *arena,
                                     struct store_student_list *out) STORE_CHECKED;
/* Those whose team the account is on, oldest first. */
enum store_status store_student_list_team(struct store_db *db, const char *account_id, const struct store_page *page,
                                          struct arena *arena, struct store_student_list *out) STORE_CHECKED;

/* Removes the student and every personal row: swings, reports, lessons, fixes, homework, notes, consents, kept answers,
 * the student's own account, and guardians who stand for nobody else. The audit keeps ids and loses its details.
 * STORE_NOT_FOUND when gone. */
enum store_status store_student_erase(struct store_db *db, const char *id) STORE_CHECKED;

/* The team. Adding twice, or removing somebody who is not on it, is STORE_OK. */
enum store_status store_team_add(struct store_db *db, const char *student_id, const char *account_id,
                                 int64_t now) STORE_CHECKED;
enum store_status store_team_remove(struct store_db *db, const char *student_id, const char *account_id) STORE_CHECKED;
/* STORE_OK when the account is on the student's team, STORE_NOT_FOUND when not (or there is no such student). */
enum store_status store_team_may(struct store_db *db, const char *account_id, const char *student_id) STORE_CHECKED;
enum store_status store_team_list(struct store_db *db, const char *student_id, struct arena *arena,
                                  struct store_id_list *out) STORE_CHECKED;

struct store_coach {
    char id[UUID_TEXT];
    const char *name;
};

struct store_coach_list {
    struct store_coach *items;
    size_t count;
    bool more;
};

/* Those of the team who are in use, at most STORE_PAGE_MAX: what the family may know of it. */
enum store_status store_team_coaches(struct store_db *db, const char *student_id, struct arena *arena,
                                     struct store_coach_list *out) STORE_CHECKED;

/* Who is left behind when an account leaves. */
struct store_left {
    char id[UUID_TEXT];
    const char *name;
    bool covered; /* another coach in use is on the team, or the student is archived */
};
struct store_left_list {
    struct store_left *items;
    size_t count;
    bool more;
};
#define STORE_LEFT_MAX 5000
/* Every student whose team the account is on. */
enum store_status store_team_left(struct store_db *db, const char *account_id, struct arena *arena,
                                  struct store_left_list *out) STORE_CHECKED;
/* Off every team. */
enum store_status store_team_leave(struct store_db *db, const char *account_id) STORE_CHECKED;

#endif
