/* What the files of this room share: a connection, its cached statements, and a small vocabulary to bind and read them.
 * The only header that knows SQLite's types. */
#ifndef LEADSIDE_STORE_ENGINE_INTERNAL_H
#define LEADSIDE_STORE_ENGINE_INTERNAL_H

#include <sqlite3.h>

#include "base/embed.h"
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

/* A configured connection; NULL with a sentence in error. The writer's may create the file. */
struct store_db *store_db_open(const char *path, enum store_open_mode mode, int busy_timeout_ms, char *error,
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
/* Looks at the file's marks before anything is changed: is it ours (or empty), and not newer than this program? */
enum store_status store_db_recognise(struct store_db *db, char *error, size_t error_size) STORE_CHECKED;

/* Do the file's pages carry seals (store/engine/seal.h)? Of a reader. */
bool store_db_sealed(struct store_db *db);
/* Brings a file of the first versions into sealed pages, once: copied anew beside it, proved, put in its place. Nothing
 * to do for an empty or a sealed file. The directory is held by the caller. */
enum store_status store_seal_file(const char *path, int busy_timeout_ms, char *error, size_t error_size) STORE_CHECKED;
/* Must store_seal_file do something? */
bool store_seal_needed(const char *path);
/* Is a copy sound: its pages, its references? */
enum store_status store_prove(const char *path, char *error, size_t error_size) STORE_CHECKED;
/* Flushes the copy at part, gives it the name file in one step and flushes their directory. */
bool store_put_in_place(const char *part, const char *file, char *error, size_t error_size) STORE_CHECKED;

/* Applies, in order, each file whose number is above user_version, one transaction each. */
enum store_status store_migrate(struct store_db *db, const struct embedded_file *files, size_t count, char *error,
                                size_t error_size) STORE_CHECKED;
/* The greatest number of those files: the version this program writes. */
int64_t store_migrate_latest(const struct embedded_file *files, size_t count);

/* One use of a statement of the .sql files. The first failure sticks in status, so binding needs no checks:
 *     query_open(&query, db, ACCOUNT_BY_ID);
 *     query_text(&query, 1, id);
 *     return query_one(&query, arena, read_account, out); */
struct query {
    struct store_db *db;
    sqlite3_stmt *statement;
    enum statement which;
    enum store_status status;
};

void query_open(struct query *query, struct store_db *db, enum statement which);
void query_text(struct query *query, int at, const char *text); /* NULL = NULL */
void query_id(struct query *query, int at, const char *id);     /* "" or NULL = NULL */
void query_integer(struct query *query, int at, int64_t value);
void query_time(struct query *query, int at, int64_t value); /* 0 = NULL */
void query_real(struct query *query, int at, bool has, double value);
void query_bytes(struct query *query, int at, const void *bytes, size_t size);
void query_long_text(struct query *query, int at, const char *text, size_t size);

/* STORE_OK: there is a row. STORE_NOT_FOUND: no more. */
enum store_status query_row(struct query *query);
void query_close(struct query *query);
/* To the end, then closes. */
enum store_status query_run(struct query *query) STORE_CHECKED;
/* The same; STORE_NOT_FOUND when it changed no row. */
enum store_status query_run_one(struct query *query) STORE_CHECKED;
/* The same; tells a stale version from a missing row by asking `exists` for the id at parameter 1. */
enum store_status query_run_versioned(struct query *query, enum statement exists, const char *id) STORE_CHECKED;

int64_t query_get_integer(const struct query *query, int column); /* NULL = 0 */
double query_get_real(const struct query *query, int column);
bool query_is_null(const struct query *query, int column);
/* Copies into a fixed array; too long: STORE_CORRUPT. NULL = "". */
void query_get_id(struct query *query, int column, char *out, size_t size);
/* Copies into the arena; failure sticks in status. */
const char *query_get_text(struct query *query, int column, struct arena *arena);
const char *query_get_bytes(struct query *query, int column, struct arena *arena, size_t *size);
void query_get_hash(struct query *query, int column, uint8_t out[STORE_HASH]);
/* False when it is not of exactly this size. */
bool query_copy_bytes(const struct query *query, int column, void *out, size_t size);

/* Reads a row into what the function knows. */
typedef void (*query_read_fn)(struct query *query, struct arena *arena, void *item);
/* A read function of one id: item is a char[UUID_TEXT]; the arena is not used. */
void query_read_id(struct query *query, struct arena *arena, void *item);

/* These four end a statement and close it. Of a :one statement: its row into item; STORE_NOT_FOUND when there is none.
 */
enum store_status query_one(struct query *query, struct arena *arena, query_read_fn read, void *item) STORE_CHECKED;
/* Of a :one statement: the number in its first column; 0 unless STORE_OK. */
enum store_status query_number(struct query *query, int64_t *out) STORE_CHECKED;
/* Of a :one statement: is there a row? */
enum store_status query_exists(struct query *query) STORE_CHECKED;
/* Of a :many statement: up to limit rows into the list `out` (items, count, more), whose items grow in the arena; a
 * further row sets more. */
#define query_list(query, arena, limit, read, out)                                                                     \
    ((out)->items = query_items(query, arena, limit, sizeof *(out)->items, read, &(out)->count, &(out)->more),         \
     (query)->status)
void *query_items(struct query *query, struct arena *arena, int limit, size_t item_size, query_read_fn read,
                  size_t *count, bool *more);

int page_limit(const struct store_page *page);
/* Where an ascending or a descending page starts, at parameter `at`, and how many rows to look at, at the next. */
void query_page_after(struct query *query, int at, const struct store_page *page);
void query_page_before(struct query *query, int at, const struct store_page *page);

#endif
