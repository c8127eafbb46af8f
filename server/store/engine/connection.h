/* One connection to the club's file, with its cached statements. Private to the store. */
#ifndef LEADSIDE_STORE_ENGINE_CONNECTION_H
#define LEADSIDE_STORE_ENGINE_CONNECTION_H

#include <sqlite3.h>

#include "store/engine/packed.h"
#include "store/engine/store.h"
#include "store/statements.h"

#define STORE_FILE "leadside.db"
#define STORE_LOCK "leadside.lock"
#define STORE_APPLICATION_ID 0x4C656164 /* "Lead" */

struct store_db {
    sqlite3 *handle;
    struct packer *packer;
    sqlite3_stmt *cache[STATEMENT_COUNT]; /* prepared on first use, and kept */
    enum store_status last;               /* the newest failure's meaning */
    int reading;                          /* read transactions begun, one inside the other */
    bool ended;                           /* the group under way has erased something (store_ledger_add) */
    bool audited;                         /* the job under way has written its audit row, or waived it */
    int64_t running_base_ms; /* running.c: as the file had it, and since when this process adds to it; 0 = not read */
    int64_t running_from_ns;
    struct store *store;   /* of a reader */
    struct ledger *ledger; /* of the writer: where lines wait for the commit; NULL = none is kept */
    struct store_db *next, *previous;
};

enum store_open_mode { STORE_OPEN_WRITER, STORE_OPEN_READER };

/* A connection with every safeguard on; NULL with a sentence in error. The writer's may create the file. Nothing is
 * asked of the file or changed in it: callers want store_db_open (store/engine/parts.h). */
struct store_db *store_db_connect(const char *path, enum store_open_mode mode, int busy_timeout_ms, char *error,
                                  size_t error_size) STORE_CHECKED;
/* The way this program keeps its file: log, cache, room for seals. Of a file that is known to be ours. */
enum store_status store_db_prepare(struct store_db *db, enum store_open_mode mode, char *error,
                                   size_t error_size) STORE_CHECKED;
void store_db_close(struct store_db *db);
/* Runs fixed text (pragmas, migrations) outside the cache. */
enum store_status store_db_execute(struct store_db *db, const char *sql);
/* The first column of the first row, as a number. */
enum store_status store_db_number(struct store_db *db, const char *sql, int64_t *out) STORE_CHECKED;
enum store_status store_status_of(int sqlite_code);
/* The newest failure in words. */
const char *store_fault(sqlite3 *handle);
/* Rows changed through this connection since it was opened. */
int64_t store_db_changes(const struct store_db *db);
/* Do the file's pages carry seals (store/engine/seal.h)? Of a reader. */
bool store_db_sealed(struct store_db *db);

#endif
