/* The ledger of what was ended for good: erased students and accounts, revoked tablets; ids and times, no names.
 *
 * It is kept twice: in the club's file (table ended) and, one line each, in the file `erasures` beside it, which a
 * backup does not hold and a restore does not replace. A server that starts compares the two: what the file beside has
 * and the club's file lacks came back with a restored backup, and is ended again before the first request is served. */
#ifndef LEADSIDE_STORE_ENGINE_LEDGER_H
#define LEADSIDE_STORE_ENGINE_LEDGER_H

#include "store/engine/store.h"

struct ledger; /* store/engine/ledger_file.h */

enum store_ended { STORE_ENDED_STUDENT, STORE_ENDED_ACCOUNT, STORE_ENDED_DEVICE, STORE_ENDED_COUNT };

/* What the start of a server found and did. */
struct store_restored {
    bool restored; /* the club's file is a restored copy: every session, invitation and calendar feed was ended */
    int ended[STORE_ENDED_COUNT];
};

/* How a start ends once more what a restored copy brought back, and tells the audit: from the rooms above the engine.
 */
struct store_endings {
    enum store_status (*end[STORE_ENDED_COUNT])(struct store_db *db, const char *id, int64_t at);
    enum store_status (*audit)(struct store_db *db, int64_t at, const char *action, const char *kind, const char *id,
                               const char *detail);
};

/* In the job that ends it: whoever erases an account calls it, store_student_erase and a revoking store_device_update
 * do so by themselves. Before the job's done call the line is on disk, and what was removed is gone from the file and
 * its log. */
enum store_status store_ledger_add(struct store_db *db, enum store_ended kind, const char *id,
                                   int64_t at) STORE_CHECKED;

/* Compares the two ledgers and makes them one, before anything is served: what only the file beside knows is ended
 * again; what only the club's file knows is written beside it. If the club's file is a restored copy, every session,
 * invitation and calendar feed is ended too; not so where a crash came between a line and its commit. False with a
 * sentence in error: nothing was changed. */
bool store_ledger_start(struct store_db *db, struct ledger *ledger, const struct store_endings *endings,
                        struct store_restored *told, char *error, size_t error_size) STORE_CHECKED;

typedef void (*ledger_returned_fn)(void *context, const char *kind, const char *id);
/* Tells of each line of the file beside that the club's file doesn't know, but for those that a crash came after: the
 * next start does what they say. */
enum store_status store_ledger_compare(struct store_db *db, struct ledger *ledger, ledger_returned_fn returned,
                                       void *context, char *error, size_t error_size) STORE_CHECKED;

#endif
