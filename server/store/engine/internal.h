/* What the files of this room share: a connection, its cached statements, and a small vocabulary to bind and read them.
 * The only header that knows SQLite's types. */
#ifndef LEADSIDE_STORE_ENGINE_INTERNAL_H
#define LEADSIDE_STORE_ENGINE_INTERNAL_H

#include <sqlite3.h>

#include "base/embed.h"
#include "store/engine/store.h"

#define STORE_FILE "leadside.db"
#define STORE_LOCK "leadside.lock"
#define STORE_APPLICATION_ID 0x4C656164 /* "Lead" */

/* Every statement of the room is in one of these tables, as static text; a connection prepares it on first use and
 * keeps it. A statement that reads a whole growing table says so and why: it starts with a comment, "whole: ...". */
enum store_room {
    STATEMENTS_CONTROL,
    STATEMENTS_CLUB,
    STATEMENTS_ACCOUNT,
    STATEMENTS_ERASE,
    STATEMENTS_SESSION,
    STATEMENTS_DEVICE,
    STATEMENTS_STUDENT,
    STATEMENTS_CONSENT,
    STATEMENTS_NOTE,
    STATEMENTS_SWING,
    STATEMENTS_SECOND_OPINION,
    STATEMENTS_LESSON,
    STATEMENTS_FIX,
    STATEMENTS_HOMEWORK,
    STATEMENTS_INBOX,
    STATEMENTS_DRILL,
    STATEMENTS_STANDARD,
    STATEMENTS_MARKERS,
    STATEMENTS_AUDIT,
    STATEMENTS_IDEMPOTENCY,
    STATEMENTS_RUNNING,
    STATEMENTS_OVERVIEW,
    STATEMENTS_EXPORT,
    STATEMENTS_CHECK,
    STATEMENTS_STILL,
    STATEMENTS_BLOB,
    STATEMENTS_LINK,
    STATEMENTS_SECOND_FACTOR,
    STATEMENTS_PROGRESS,
    STATEMENTS_LEDGER,
    STATEMENTS_COUNT
};

/* Of a student `s`: a junior now? The clock is SQLite's own, one moment in each statement. */
#define SQL_NOW "(unixepoch() * 1000)"
#define SQL_JUNIOR "(s.adult_from > " SQL_NOW ")"
/* Does the newest consent `c` of one scope count now for the student `s`? */
#define SQL_CONSENT_COUNTS                                                                                             \
    "(c.given_at IS NOT NULL AND c.withdrawn_at IS NULL AND (c.expires IS NULL OR c.expires > " SQL_NOW                \
    ") AND c.as_junior = " SQL_JUNIOR ")"
/* The newest one about pictures, and whether pictures may be kept and shown: once anything was said, that decides;
 * until then a grown-up's may and a junior's may not. */
#define SQL_CONSENT_PICTURES                                                                                           \
    "LEFT JOIN consent AS c ON c.id = (SELECT max(id) FROM consent WHERE student_id = s.id "                           \
    "AND scope = 'store_pictures') "
#define SQL_PICTURES "(CASE WHEN c.id IS NULL THEN NOT " SQL_JUNIOR " ELSE " SQL_CONSENT_COUNTS " END)"

struct store_statements {
    const char *name;
    const char *const *sql;
    int count;
};

extern const struct store_statements store_control_statements, store_club_statements, store_account_statements,
    store_erase_statements, store_session_statements, store_device_statements, store_student_statements,
    store_consent_statements, store_note_statements, store_swing_statements, store_second_opinion_statements,
    store_lesson_statements, store_fix_statements, store_homework_statements, store_inbox_statements,
    store_drill_statements, store_standard_statements, store_markers_statements, store_audit_statements,
    store_idempotency_statements, store_running_statements, store_overview_statements, store_export_statements,
    store_check_statements, store_still_statements, store_blob_statements, store_link_statements,
    store_second_factor_statements, store_progress_statements, store_ledger_statements;

const struct store_statements *store_statements_of(enum store_room room);

struct store_db {
    sqlite3 *handle;
    sqlite3_stmt **cache[STATEMENTS_COUNT];
    enum store_status last;  /* the newest failure's meaning */
    int reading;             /* read transactions begun, one inside the other */
    bool ended;              /* the group under way has erased something (store_ledger_add) */
    bool audited;            /* the job under way has written its audit row, or waived it */
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

/* One use of a cached statement. The first failure sticks in status, so binding needs no checks. */
struct query {
    struct store_db *db;
    sqlite3_stmt *statement;
    enum store_status status;
};

void query_open(struct query *query, struct store_db *db, enum store_room room, int index);
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
/* The same; tells a stale version from a missing row by asking `exists` of that room for the id at parameter 1. */
enum store_status query_run_versioned(struct query *query, enum store_room room, int exists,
                                      const char *id) STORE_CHECKED;

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

struct query_items {
    void *items;
    size_t count;
    bool more;
};
typedef void (*query_read_fn)(struct query *query, struct arena *arena, void *item);

/* Reads up to limit rows (a further one sets more), growing an array in the arena, then closes. */
enum store_status query_list(struct query *query, struct arena *arena, int limit, size_t item_size, query_read_fn read,
                             struct query_items *out) STORE_CHECKED;

int page_limit(const struct store_page *page);
/* Where an ascending or a descending page starts. */
const char *page_after(const struct store_page *page);
const char *page_before(const struct store_page *page);

#endif
