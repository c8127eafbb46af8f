/* What a start and a check do with the ledger. Private to the room. */
#ifndef LEADSIDE_STORE_PEOPLE_LEDGER_REPLAY_H
#define LEADSIDE_STORE_PEOPLE_LEDGER_REPLAY_H

#include "store/engine/ledger_file.h"

/* Compares the two ledgers and makes them one, before anything is served: what only the file beside knows is ended
 * again; what only the club's file knows is written beside it. If the club's file is a restored copy, every session,
 * invitation and calendar feed is ended too. False with a sentence in error: nothing was changed. */
bool store_ledger_start(struct store_db *db, struct ledger *ledger, struct store_restored *told, char *error,
                        size_t error_size) STORE_CHECKED;

typedef void (*ledger_returned_fn)(void *context, const char *kind, const char *id);
/* Tells of each line of the file beside that the club's file doesn't know. */
enum store_status store_ledger_compare(struct store_db *db, struct ledger *ledger, ledger_returned_fn returned,
                                       void *context, char *error, size_t error_size) STORE_CHECKED;

#endif
