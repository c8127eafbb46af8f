/* What is done with the club's swings by the standard, in the background: a trial of another one, or scoring anew by
 * the one in force. One at a time; how far it has come is kept, so that it goes on where it was. The newest alone is
 * kept. */
#ifndef LEADSIDE_STORE_CLUB_STANDARD_JOB_H
#define LEADSIDE_STORE_CLUB_STANDARD_JOB_H

#include "store/engine/store.h"

enum store_job_kind { STORE_JOB_TRIAL, STORE_JOB_RESCORE, STORE_JOB_KINDS };
/* overtaken: another standard came into force before it was done. */
enum store_job_state {
    STORE_JOB_RUNNING,
    STORE_JOB_DONE,
    STORE_JOB_STOPPED,
    STORE_JOB_OVERTAKEN,
    STORE_JOB_FAILED,
    STORE_JOB_STATES
};

const char *store_job_kind_name(enum store_job_kind kind);
const char *store_job_state_name(enum store_job_state state);

struct store_job {
    char id[UUID_TEXT];
    enum store_job_kind kind;
    enum store_job_state state;
    char started_by[UUID_TEXT];
    int64_t started, ended;
    int64_t standard;    /* in force when it began */
    const char *tried;   /* of a trial: the document; NULL of another */
    size_t tried_size;   /* and in store_job_seen */
    const char *label;   /* its name */
    int64_t total, done; /* swings and lessons; total 0 = not counted yet */
    char swings_until[UUID_TEXT], lessons_until[UUID_TEXT];
    char swing_place[UUID_TEXT], lesson_place[UUID_TEXT]; /* the last one gone through */
    int64_t swings, lessons;                              /* scored anew */
    int64_t unread;                                       /* documents that could not be read */
    const void *tally;                                    /* of a trial; NULL = none yet */
    size_t tally_size;
};

/* STORE_CONFLICT: one is running. */
enum store_status store_job_start(struct store_db *db, const struct store_job *job) STORE_CHECKED;
/* The newest. STORE_NOT_FOUND: there was none. */
enum store_status store_job_get(struct store_db *db, struct arena *arena, struct store_job *out) STORE_CHECKED;
/* Counts what there is to do behind its two places (of a trial: swings alone) into total and both untils. */
enum store_status store_job_count(struct store_db *db, struct store_job *job) STORE_CHECKED;
/* Keeps total, done, the untils, the places, unread and the tally. Like what follows: STORE_NOT_FOUND when it does not
 * run (any more). */
enum store_status store_job_keep(struct store_db *db, const struct store_job *job) STORE_CHECKED;
enum store_status store_job_made(struct store_db *db, const char *id, int64_t swings, int64_t lessons) STORE_CHECKED;
enum store_status store_job_end(struct store_db *db, const char *id, enum store_job_state state,
                                int64_t at) STORE_CHECKED;

/* A swing or a lesson, and by which standard its newest report was made. */
struct store_judged {
    char id[UUID_TEXT];
    bool counts;
    int64_t report, standard; /* 0 = it has none */
};
struct store_judged_list {
    struct store_judged *items;
    size_t count;
    bool more;
};
/* A swing with what judging it again takes. */
struct store_kept_swing {
    struct store_judged judged;
    int64_t recorded_at;
    const char *birth_date, *sex, *hand; /* of its student, like the next three */
    int birth_year;
    bool junior;
    unsigned pain;
    bool has_height;
    double height_m;
    const char *packed; /* the newest report's measures; NULL = none are kept */
    size_t packed_size;
};
struct store_kept_swing_list {
    struct store_kept_swing *items;
    size_t count;
    bool more;
};

/* The next ones behind the job's place, oldest first; none: all are done. */
enum store_status store_job_kept_swings(struct store_db *db, const struct store_job *job, int limit,
                                        struct arena *arena, struct store_kept_swing_list *out) STORE_CHECKED;
enum store_status store_job_lessons(struct store_db *db, const struct store_job *job, int limit, struct arena *arena,
                                    struct store_judged_list *out) STORE_CHECKED;
/* What is kept with the newest report of each of the lesson's swings that count, in their order. */
struct store_kept {
    const char *packed; /* NULL = nothing */
    size_t packed_size;
};
struct store_kept_list {
    struct store_kept *items;
    size_t count;
    bool more;
};
enum store_status store_job_lesson_kept(struct store_db *db, const char *lesson_id, struct arena *arena,
                                        struct store_kept_list *out) STORE_CHECKED;
/* Number of the newest report of a swing or of a lesson, 0 = it has none (any more). */
enum store_status store_job_newest(struct store_db *db, bool of_lesson, const char *id, int64_t *out) STORE_CHECKED;

#endif
