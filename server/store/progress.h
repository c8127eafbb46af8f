/* A student's reports in time: of whole lessons, and of swings that belong to none. */
#ifndef LEADSIDE_STORE_PROGRESS_H
#define LEADSIDE_STORE_PROGRESS_H

#include "store/store.h"

struct store_progress {
    char swing_id[UUID_TEXT], lesson_id[UUID_TEXT]; /* one of them "" */
    int64_t at;                                     /* when the swing was recorded, the lesson held */
    const char *json;                               /* the newest report */
    size_t json_size;
};

struct store_progress_list {
    struct store_progress *items; /* oldest first */
    size_t count;
};

/* The newest hundred of each. */
enum store_status store_progress_read(struct store_db *db, const char *student_id, struct arena *arena,
                                      struct store_progress_list *out) STORE_CHECKED;

#endif
