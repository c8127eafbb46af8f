/* What the club replaces whole: the house standard, the map of marker names. Versions are numbered, and never changed
 * or deleted; the newest is in force. */
#ifndef LEADSIDE_STORE_CLUB_VERSION_H
#define LEADSIDE_STORE_CLUB_VERSION_H

#include "store/engine/store.h"

enum store_version_kind {
    STORE_STANDARD, /* from number 1 on */
    STORE_MARKERS   /* number 1 comes with the program and is not kept here */
};

struct store_version {
    int64_t number;    /* given by the store; also the ETag */
    const char *label; /* a standard's: "default", "tighter plane for the ladies' section" */
    const char *json;  /* ends with a NUL when it was read */
    size_t json_size;
    char created_by[UUID_TEXT]; /* "" = shipped with the program */
    int64_t created;
};

struct store_version_list {
    struct store_version_seen {
        struct store_version version; /* without its JSON */
        const char *created_by_name;  /* NULL = nobody's (any more) */
        int64_t swings;               /* that have a report by it */
    } * items;
    size_t count;
    bool more;
};

/* Adds a version and sets its number. base = the number it was made from: STORE_STALE when that is no longer in force;
 * -1 = not looked at; 0 = there must be none yet. */
enum store_status store_version_insert(struct store_db *db, enum store_version_kind kind, struct store_version *version,
                                       int64_t base) STORE_CHECKED;
/* STORE_NOT_FOUND: none is kept. */
enum store_status store_version_current(struct store_db *db, enum store_version_kind kind, struct arena *arena,
                                        struct store_version *out) STORE_CHECKED;
/* A version of the standard by its number. */
enum store_status store_version_standard(struct store_db *db, int64_t number, struct arena *arena,
                                         struct store_version *out) STORE_CHECKED;
/* Those of the standard, newest first; at most STORE_PAGE_MAX. */
enum store_status store_version_list(struct store_db *db, struct arena *arena,
                                     struct store_version_list *out) STORE_CHECKED;
/* The number of the one in force alone, 0 when there is none at all. */
enum store_status store_version_number(struct store_db *db, enum store_version_kind kind, int64_t *out) STORE_CHECKED;

#endif
