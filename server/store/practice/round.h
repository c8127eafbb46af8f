/* Rounds on the course: what the ball did, shot by shot. */
#ifndef LEADSIDE_STORE_PRACTICE_ROUND_H
#define LEADSIDE_STORE_PRACTICE_ROUND_H

#include "store/engine/store.h"

struct store_round {
    char id[UUID_TEXT];
    char student_id[UUID_TEXT];
    char made_by[UUID_TEXT];
    int64_t played_at, created;
    int holes;         /* 1...9 that were played */
    int count;         /* shots */
    const char *shots; /* a list, as JSON */
};

struct store_round_list {
    struct store_round *items;
    size_t count;
    bool more;
};

enum store_status store_round_insert(struct store_db *db, const struct store_round *round) STORE_CHECKED;
enum store_status store_round_get(struct store_db *db, const char *id, struct arena *arena,
                                  struct store_round *out) STORE_CHECKED;
/* Newest first. */
enum store_status store_round_list(struct store_db *db, const char *student_id, const struct store_page *page,
                                   struct arena *arena, struct store_round_list *out) STORE_CHECKED;
/* With the answer that was kept for whoever repeats the request. */
enum store_status store_round_remove(struct store_db *db, const struct store_round *round) STORE_CHECKED;

#endif
