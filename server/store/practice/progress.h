/* A student's reports in time: of whole lessons, and of swings that belong to none. */
#ifndef LEADSIDE_STORE_PRACTICE_PROGRESS_H
#define LEADSIDE_STORE_PRACTICE_PROGRESS_H

#include "store/engine/store.h"

struct store_progress {
    char swing_id[UUID_TEXT], lesson_id[UUID_TEXT]; /* one of them "" */
    int64_t at;                                     /* when the swing was recorded, the lesson held */
    int64_t report;                                 /* number of the newest report */
    const char *packed;                             /* its measures (store_measures_put); NULL = not there yet */
    size_t packed_size;
};

struct store_progress_list {
    struct store_progress *items; /* oldest first */
    size_t count;
    bool more;
};

/* The newest hundred of each. */
enum store_status store_progress_read(struct store_db *db, const char *student_id, struct arena *arena,
                                      struct store_progress_list *out) STORE_CHECKED;

/* Of every swing, whether or not it belongs to a lesson: the newest `most` of them, newest first. */
enum store_status store_progress_all(struct store_db *db, const char *student_id, int most, struct arena *arena,
                                     struct store_progress_list *out) STORE_CHECKED;

/* The same of the newest report of one swing or one lesson; at stays 0. */
enum store_status store_progress_swing(struct store_db *db, const char *swing_id, struct arena *arena,
                                       struct store_progress *out) STORE_CHECKED;
enum store_status store_progress_lesson(struct store_db *db, const char *lesson_id, struct arena *arena,
                                        struct store_progress *out) STORE_CHECKED;

/* A report's text by its number. */
enum store_status store_progress_report(struct store_db *db, int64_t report, struct arena *arena, const char **json,
                                        size_t *size) STORE_CHECKED;
/* Keeps a report's measures beside it, whatever was there. STORE_NOT_FOUND: no such report (any more). */
enum store_status store_measures_put(struct store_db *db, int64_t report, const char *packed,
                                     size_t size) STORE_CHECKED;

#endif
