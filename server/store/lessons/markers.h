/* The club's maps of marker names. Never changed or deleted; the newest is current. Number 1 is the map that comes with
 * the program and is not kept here. */
#ifndef LEADSIDE_STORE_LESSONS_MARKERS_H
#define LEADSIDE_STORE_LESSONS_MARKERS_H

#include "store/engine/store.h"

#define STORE_MARKERS_FIRST 1

struct store_markers {
    int64_t number; /* 2, 3, ...: given by the store; also the ETag */
    const char *json;
    size_t json_size;
    char created_by[UUID_TEXT];
    int64_t created;
};

/* Adds a version and sets its number. base = the number it was made from: STORE_STALE when that is no longer current;
 * -1 = not looked at. */
enum store_status store_markers_insert(struct store_db *db, struct store_markers *markers, int64_t base) STORE_CHECKED;
/* STORE_NOT_FOUND: the club has none of its own, number STORE_MARKERS_FIRST is current. */
enum store_status store_markers_current(struct store_db *db, struct arena *arena,
                                        struct store_markers *out) STORE_CHECKED;

#endif
