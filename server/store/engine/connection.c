/* One connection to the club's file: opened with every safeguard on, its statements prepared once. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "store/engine/connection.h"
#include "store/engine/name_search.h"
#include "store/engine/seal.h"

static const char *const status_names[STORE_STATUS_COUNT] = {
    [STORE_OK] = "ok",           [STORE_NOT_FOUND] = "not found", [STORE_CONFLICT] = "conflict",
    [STORE_STALE] = "stale",     [STORE_INVALID] = "invalid",     [STORE_UNAUDITED] = "unaudited",
    [STORE_FULL] = "full",       [STORE_BUSY] = "busy",           [STORE_CLOSED] = "closed",
    [STORE_CORRUPT] = "corrupt", [STORE_NO_MEMORY] = "no memory", [STORE_ERROR] = "error",
};

const char *store_status_name(enum store_status status)
{
    return (unsigned)status < STORE_STATUS_COUNT ? status_names[status] : "unknown";
}

enum store_status store_status_of(int sqlite_code)
{
    switch (sqlite_code) {
    case SQLITE_OK:
    case SQLITE_ROW:
    case SQLITE_DONE:
        return STORE_OK;
    case SQLITE_CONSTRAINT_FOREIGNKEY:
        return STORE_NOT_FOUND;
    case SQLITE_CONSTRAINT_UNIQUE:
    case SQLITE_CONSTRAINT_PRIMARYKEY:
    case SQLITE_CONSTRAINT_ROWID:
        return STORE_CONFLICT;
    default:
        break;
    }
    switch (sqlite_code & 0xff) {
    case SQLITE_CONSTRAINT:
    case SQLITE_MISMATCH:
    case SQLITE_TOOBIG:
        return STORE_INVALID;
    case SQLITE_FULL:
        return STORE_FULL;
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return STORE_BUSY;
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
        return STORE_CORRUPT;
    case SQLITE_IOERR:
        return sqlite_code == SQLITE_IOERR_DATA ? STORE_CORRUPT : STORE_ERROR;
    case SQLITE_NOMEM:
        return STORE_NO_MEMORY;
    default:
        return STORE_ERROR;
    }
}

const char *store_fault(sqlite3 *handle)
{
    const int code = sqlite3_extended_errcode(handle);
    if (code == SQLITE_IOERR_DATA) {
        return "a page is damaged";
    }
    return (code & 0xff) == SQLITE_IOERR || (code & 0xff) == SQLITE_FULL
               ? "the disk is full, or does not answer; the file itself may be whole: make room, and try again"
               : sqlite3_errmsg(handle);
}

enum store_status store_db_execute(struct store_db *db, const char *sql)
{
    const int code = sqlite3_exec(db->handle, sql, NULL, NULL, NULL);
    const enum store_status status = store_status_of(code);
    if (status != STORE_OK) {
        db->last = status;
    }
    return status;
}

enum store_status store_db_number(struct store_db *db, const char *sql, int64_t *out)
{
    sqlite3_stmt *statement = NULL;
    int code = sqlite3_prepare_v2(db->handle, sql, -1, &statement, NULL);
    if (code == SQLITE_OK) {
        code = sqlite3_step(statement);
        *out = code == SQLITE_ROW ? sqlite3_column_int64(statement, 0) : 0;
    }
    sqlite3_finalize(statement);
    return code == SQLITE_DONE ? STORE_NOT_FOUND : store_status_of(code);
}

int64_t store_db_changes(const struct store_db *db)
{
    return sqlite3_total_changes64(db->handle);
}

bool store_db_sealed(struct store_db *db)
{
    int reserved = -1; /* asks, changes nothing */
    return sqlite3_file_control(db->handle, "main", SQLITE_FCNTL_RESERVE_BYTES, &reserved) == SQLITE_OK &&
           reserved == SEAL_BYTES;
}

/* What is made through this connection, a new file or a copy, leaves room for seals. */
static enum store_status leave_room(struct store_db *db)
{
    int reserved = SEAL_BYTES;
    const int code = sqlite3_file_control(db->handle, "main", SQLITE_FCNTL_RESERVE_BYTES, &reserved);
    return store_status_of(code);
}

/* The busy timeout comes first: every later step may have to wait. */
static enum store_status configure(struct store_db *db, int busy_timeout_ms)
{
    sqlite3 *handle = db->handle;
    int code = sqlite3_busy_timeout(handle, busy_timeout_ms);
    code |= sqlite3_extended_result_codes(handle, 1);
    code |= sqlite3_db_config(handle, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
    code |= sqlite3_db_config(handle, SQLITE_DBCONFIG_DQS_DML, 0, NULL);
    code |= sqlite3_db_config(handle, SQLITE_DBCONFIG_DQS_DDL, 0, NULL);
    code |= sqlite3_db_config(handle, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, NULL);
    code |= sqlite3_db_config(handle, SQLITE_DBCONFIG_ENABLE_LOAD_EXTENSION, 0, NULL);
    return code == SQLITE_OK ? STORE_OK : STORE_ERROR;
}

#define NUMBER_TEXT(number) #number
#define NUMBER(number) NUMBER_TEXT(number)

/* The log is folded back when nobody writes, and under steady writing at 1000 pages: measured beside 8000 it costs 4 %
 * of the writes a second and halves the slowest hundredth of the waits. Steady reading lets it grow to 4 to 9 MiB; what
 * a long reader (a backup, an export) has made of it beyond LOG_BYTES is given back once it has gone, also while others
 * go on writing. */
#define LOG_BYTES 16777216
static enum store_status set_pragmas(struct store_db *db, enum store_open_mode mode)
{
    static const char writer[] =
        "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON;"
        "PRAGMA cell_size_check = ON; PRAGMA secure_delete = ON; PRAGMA temp_store = FILE;"
        "PRAGMA cache_size = -4096; PRAGMA wal_autocheckpoint = 1000;"
        "PRAGMA journal_size_limit = " NUMBER(LOG_BYTES) "; PRAGMA max_page_count = " NUMBER(SEAL_PAGES_MAX) ";";
    static const char reader[] = "PRAGMA query_only = ON; PRAGMA foreign_keys = ON; PRAGMA cell_size_check = ON;"
                                 "PRAGMA temp_store = MEMORY;";
    return store_db_execute(db, mode == STORE_OPEN_WRITER ? writer : reader);
}

/* The text of a packed column is the result. False: it is damaged. When memory is short, that is the result. */
static bool unpack(sqlite3_context *context, sqlite3_value **values)
{
    struct store_db *db = sqlite3_user_data(context);
    const sqlite3_int64 size = sqlite3_value_int64(values[1]);
    const void *packed = sqlite3_value_blob(values[0]);
    const size_t packed_size = (size_t)sqlite3_value_bytes(values[0]);
    if (packed == NULL && sqlite3_value_type(values[0]) == SQLITE_BLOB && packed_size > 0) {
        sqlite3_result_error_nomem(context);
        return true;
    }
    if (packed == NULL || size <= 0 || size > (sqlite3_int64)PACKED_MAX) {
        return false;
    }
    char *text = sqlite3_malloc64((sqlite3_uint64)size);
    if (text == NULL || !packed_ready(db->packer)) {
        sqlite3_free(text);
        sqlite3_result_error_nomem(context);
        return true;
    }
    if (!packed_open(db->packer, packed, packed_size, text, (size_t)size)) {
        sqlite3_free(text);
        return false;
    }
    sqlite3_result_blob64(context, text, (sqlite3_uint64)size, sqlite3_free);
    return true;
}

static void unpacked_or_null(sqlite3_context *context, int count, sqlite3_value **values)
{
    (void)count;
    (void)unpack(context, values);
}

static void unpacked(sqlite3_context *context, int count, sqlite3_value **values)
{
    (void)count;
    if (!unpack(context, values)) {
        sqlite3_result_error(context, "a packed text is not what was packed", -1);
        /* Not SQLITE_CORRUPT, upon which SQLite lets nothing more be written before the transaction ends. */
        sqlite3_result_error_code(context, SQLITE_NOTADB);
    }
}

static bool make_functions(struct store_db *db)
{
    const int how = SQLITE_UTF8 | SQLITE_DETERMINISTIC | SQLITE_DIRECTONLY;
    db->packer = packer_new();
    return db->packer != NULL &&
           sqlite3_create_function_v2(db->handle, "unpacked", 2, how, db, unpacked, NULL, NULL, NULL) == SQLITE_OK &&
           sqlite3_create_function_v2(db->handle, "unpacked_or_null", 2, how, db, unpacked_or_null, NULL, NULL, NULL) ==
               SQLITE_OK &&
           name_search_install(db->handle);
}

/* What a savepoint may have to undo is every page that its job changes, about sixteen for an upload: SQLite's own limit
 * of 64 KiB sent each upload's through a file, a sixth of its time. Past this limit it goes to a file: a row is written
 * whole when any of it changes, so a lesson of fifty recordings touches all their pages, and kept in memory they took
 * several times their size. SQLite writes what it kept in one piece of this size, and can't write one of 128 KiB. */
#define UNDO_MAX (120 << 10)

void store_prepare_threads(void)
{
    (void)sqlite3_config(SQLITE_CONFIG_MEMSTATUS, 0);
    (void)sqlite3_config(SQLITE_CONFIG_STMTJRNL_SPILL, UNDO_MAX);
}

struct store_db *store_db_connect(const char *path, enum store_open_mode mode, int busy_timeout_ms, char *error,
                                  size_t error_size)
{
    struct store_db *db = calloc(1, sizeof *db);
    if (!db) {
        (void)snprintf(error, error_size, "Not enough memory to open the file.");
        return NULL;
    }
    if (!seal_vfs_register()) {
        (void)snprintf(error, error_size, "SQLite can't be started.");
        store_db_close(db);
        return NULL;
    }
    const int flags =
        SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX | (mode == STORE_OPEN_WRITER ? SQLITE_OPEN_CREATE : 0);
    if (sqlite3_open_v2(path, &db->handle, flags, SEAL_VFS) != SQLITE_OK) {
        if (access(path, F_OK) != 0) {
            (void)snprintf(error, error_size, "%s: %s.", path,
                           errno == ENOENT ? "there is no club here" : strerror(errno));
        } else {
            (void)snprintf(error, error_size, "The file can't be opened: %s.", sqlite3_errmsg(db->handle));
        }
        store_db_close(db);
        return NULL;
    }
    if (configure(db, busy_timeout_ms) != STORE_OK || !make_functions(db)) {
        (void)snprintf(error, error_size, "SQLite refuses a safeguard: %s.", sqlite3_errmsg(db->handle));
        store_db_close(db);
        return NULL;
    }
    return db;
}

enum store_status store_db_prepare(struct store_db *db, enum store_open_mode mode, char *error, size_t error_size)
{
    enum store_status status = mode == STORE_OPEN_WRITER ? leave_room(db) : STORE_OK;
    if (status == STORE_OK) {
        status = set_pragmas(db, mode);
    }
    if (status != STORE_OK) {
        (void)snprintf(error, error_size, "The file can't be prepared: %s.", store_fault(db->handle));
    }
    return status;
}

void store_db_close(struct store_db *db)
{
    if (!db) {
        return;
    }
    for (int i = 0; i < STATEMENT_COUNT; i++) {
        sqlite3_finalize(db->cache[i]);
    }
    sqlite3_close(db->handle);
    packer_free(db->packer);
    free(db);
}
