/* Lessons: swings judged together. */
#ifndef LEADSIDE_STORE_LESSONS_LESSON_H
#define LEADSIDE_STORE_LESSONS_LESSON_H

#include "store/engine/store.h"

struct store_lesson {
    char id[UUID_TEXT];
    char student_id[UUID_TEXT];
    char coach[UUID_TEXT];
    int64_t held_at, created;
    const char *note; /* may be NULL; the student reads it */
    int64_t swings;   /* how many; filled on reading */
    int64_t version;
};

struct store_lesson_list {
    struct store_lesson *items;
    size_t count;
    bool more;
};

enum store_status store_lesson_insert(struct store_db *db, const struct store_lesson *lesson) STORE_CHECKED;
/* Puts a swing into the lesson. STORE_NOT_FOUND unless both are the same student's; STORE_CONFLICT when it is in
 * another. */
enum store_status store_lesson_attach(struct store_db *db, const char *lesson_id, const char *swing_id) STORE_CHECKED;
enum store_status store_lesson_get(struct store_db *db, const char *id, struct arena *arena,
                                   struct store_lesson *out) STORE_CHECKED;
/* Newest first. */
enum store_status store_lesson_list(struct store_db *db, const char *student_id, const struct store_page *page,
                                    struct arena *arena, struct store_lesson_list *out) STORE_CHECKED;

#endif
