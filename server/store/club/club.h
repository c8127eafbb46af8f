/* The club itself: one row. */
#ifndef LEADSIDE_STORE_CLUB_CLUB_H
#define LEADSIDE_STORE_CLUB_CLUB_H

#include "store/engine/store.h"

struct store_club {
    const char *name, *notes; /* notes may be NULL */
    const char *settings;     /* a JSON object, "{}" when nothing is set */
    int64_t created;
    int64_t version;
};

enum store_status store_club_get(struct store_db *db, struct arena *arena, struct store_club *out) STORE_CHECKED;
/* STORE_CONFLICT when the club is already there. */
enum store_status store_club_insert(struct store_db *db, const struct store_club *club) STORE_CHECKED;

#endif
