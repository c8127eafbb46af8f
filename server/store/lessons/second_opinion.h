/* Second looks: another coach marks the same swing without seeing the first opinion. One for each coach and swing. */
#ifndef LEADSIDE_STORE_LESSONS_SECOND_OPINION_H
#define LEADSIDE_STORE_LESSONS_SECOND_OPINION_H

#include "store/engine/store.h"

struct store_second_opinion {
    char id[UUID_TEXT];
    char swing_id[UUID_TEXT];
    char account_id[UUID_TEXT];
    int64_t created;
    const char *json; /* what was seen, as the caller writes it */
};

struct store_second_opinion_list {
    struct store_second_opinion *items;
    size_t count;
    bool more;
};

/* STORE_CONFLICT when this coach has already looked. */
enum store_status store_second_opinion_insert(struct store_db *db,
                                              const struct store_second_opinion *look) STORE_CHECKED;
enum store_status store_second_opinion_list(struct store_db *db, const char *swing_id, struct arena *arena,
                                            struct store_second_opinion_list *out) STORE_CHECKED;
/* The whole club's, oldest first: for agreement between coaches. */
enum store_status store_second_opinion_list_all(struct store_db *db, const struct store_page *page, struct arena *arena,
                                                struct store_second_opinion_list *out) STORE_CHECKED;

#endif
