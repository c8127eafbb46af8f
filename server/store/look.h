/* Second looks: another coach marks the same swing without seeing the first opinion. One for each coach and swing. */
#ifndef LEADSIDE_STORE_LOOK_H
#define LEADSIDE_STORE_LOOK_H

#include "store/store.h"

struct store_look {
    char id[UUID_TEXT];
    char swing_id[UUID_TEXT];
    char account_id[UUID_TEXT];
    int64_t created;
    const char *json; /* what was seen, as the caller writes it */
};

struct store_look_list {
    struct store_look *items;
    size_t count;
    bool more;
};

/* STORE_CONFLICT when this coach has already looked. */
enum store_status store_look_insert(struct store_db *db, const struct store_look *look) STORE_CHECKED;
enum store_status store_look_list(struct store_db *db, const char *swing_id, struct arena *arena,
                                  struct store_look_list *out) STORE_CHECKED;
/* The whole club's, oldest first: for agreement between coaches. */
enum store_status store_look_list_all(struct store_db *db, const struct store_page *page, struct arena *arena,
                                      struct store_look_list *out) STORE_CHECKED;

#endif
