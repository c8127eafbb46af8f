/* The house standard's versions. Never changed or deleted; the newest is current. */
#ifndef LEADSIDE_STORE_CLUB_STANDARD_H
#define LEADSIDE_STORE_CLUB_STANDARD_H

#include "store/engine/store.h"

struct store_standard {
    int64_t number;    /* 1, 2, 3, ...: given by the store; also the ETag */
    const char *label; /* "default", "tighter plane for the ladies' section" */
    const char *json;
    char created_by[UUID_TEXT]; /* "" = shipped with the program */
    int64_t created;
};

/* Adds a version and sets its number. base = the number it was made from: STORE_STALE when that is no longer current;
 * -1 = not looked at; 0 = there must be none yet. */
enum store_status store_standard_insert(struct store_db *db, struct store_standard *standard,
                                        int64_t base) STORE_CHECKED;
enum store_status store_standard_current(struct store_db *db, struct arena *arena,
                                         struct store_standard *out) STORE_CHECKED;
/* The current one's number alone, to know whether a parsed copy still holds. */
enum store_status store_standard_current_number(struct store_db *db, int64_t *out) STORE_CHECKED;

#endif
