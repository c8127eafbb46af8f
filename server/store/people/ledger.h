/* The ledger of what was ended for good: erased students and accounts, revoked tablets; ids and times, no names.
 *
 * It is kept twice: in the club's file (table ended) and, one line each, in the file `erasures` beside it, which a
 * backup does not hold and a restore does not replace. A server that starts compares the two: what the file beside has
 * and the club's file lacks came back with a restored backup, and is ended again before the first request is served. */
#ifndef LEADSIDE_STORE_PEOPLE_LEDGER_H
#define LEADSIDE_STORE_PEOPLE_LEDGER_H

#include "store/engine/store.h"

enum store_ended { STORE_ENDED_STUDENT, STORE_ENDED_ACCOUNT, STORE_ENDED_DEVICE, STORE_ENDED_COUNT };

/* What the start of a server found and did. */
struct store_restored {
    bool restored; /* the club's file is a restored copy: every session, invitation and calendar feed was ended */
    int ended[STORE_ENDED_COUNT];
};

/* In the job that ends it: whoever erases an account calls it, store_student_erase and a revoking store_device_update
 * do so by themselves. Before the job's done call the line is on disk, and what was removed is gone from the file and
 * its log. */
enum store_status store_ledger_add(struct store_db *db, enum store_ended kind, const char *id,
                                   int64_t at) STORE_CHECKED;

#endif
