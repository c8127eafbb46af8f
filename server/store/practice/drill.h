/* The club's drills: built in ones and its own. Never deleted, only retired: homework names them. */
#ifndef LEADSIDE_STORE_PRACTICE_DRILL_H
#define LEADSIDE_STORE_PRACTICE_DRILL_H

#include "store/engine/store.h"

struct store_drill {
    char id[STORE_SLUG];
    const char *name;
    const char *json; /* everything else, as wire writes it */
    bool built_in;
    int64_t created;
    int64_t retired; /* 0 = in use */
    int64_t version;
};

struct store_drill_list {
    struct store_drill *items;
    size_t count;
    bool more;
};

enum store_status store_drill_insert(struct store_db *db, const struct store_drill *drill) STORE_CHECKED;
enum store_status store_drill_get(struct store_db *db, const char *id, struct arena *arena,
                                  struct store_drill *out) STORE_CHECKED;
/* By id. */
enum store_status store_drill_list(struct store_db *db, bool with_retired, const struct store_page *page,
                                   struct arena *arena, struct store_drill_list *out) STORE_CHECKED;
/* A newer program's text of a built-in drill that the club has never changed; its version stays 1. STORE_NOT_FOUND: it
 * has it already, or has changed it, or has no such drill. */
enum store_status store_drill_renew(struct store_db *db, const struct store_drill *drill) STORE_CHECKED;
/* A newer program's drill that the club has not; STORE_NOT_FOUND: it has one of that id. */
enum store_status store_drill_add_missing(struct store_db *db, const struct store_drill *drill) STORE_CHECKED;
/* Name, json, retired. */
enum store_status store_drill_update(struct store_db *db, struct store_drill *drill) STORE_CHECKED;

#endif
