/* The vocabulary to bind and read cached statements. Private to the store. */
#ifndef LEADSIDE_STORE_ENGINE_QUERY_H
#define LEADSIDE_STORE_ENGINE_QUERY_H

#include "store/engine/connection.h"

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
/* Of a :many statement: all rows of one owner, whose id is parameter 1; the limit is parameter 2, for a list of up to
 * STORE_PAGE_MAX. */
void query_open_all(struct query *query, struct store_db *db, enum statement which, const char *owner);
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

/* These five end a statement and close it. Of a :one statement: its row into item; STORE_NOT_FOUND when there is none.
 */
enum store_status query_one(struct query *query, struct arena *arena, query_read_fn read, void *item) STORE_CHECKED;
/* Of a :one statement: the number in its first column; 0 unless STORE_OK. */
enum store_status query_number(struct query *query, int64_t *out) STORE_CHECKED;
/* Of a :one statement: the bytes in its first column, copied into the arena; untouched unless there is a row. */
enum store_status query_one_bytes(struct query *query, struct arena *arena, const char **bytes,
                                  size_t *size) STORE_CHECKED;
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
/* What the page is narrowed to; page may be NULL. Names: the part (NULL = whatever) at `at`, archived at the next. */
void query_page_names(struct query *query, int at, const struct store_page *page);
void query_page_since(struct query *query, int at, const struct store_page *page);
/* From at `at`, to at the next: always there, so that from <= time < to says it. */
void query_page_times(struct query *query, int at, const struct store_page *page);

#endif
