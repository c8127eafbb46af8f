/* Binding and reading cached statements. Only static text is ever prepared; every value is bound. */
#include <string.h>

#include "store/engine/query.h"

static void fail(struct query *query, enum store_status status)
{
    if (query->status == STORE_OK) {
        query->status = status;
        query->db->last = status;
    }
}

static void bound(struct query *query, int code)
{
    if (code != SQLITE_OK) {
        fail(query, store_status_of(code));
    }
}

void query_open(struct query *query, struct store_db *db, enum statement which)
{
    *query = (struct query){.db = db, .which = which, .status = STORE_OK};
    sqlite3_stmt **slot = &db->cache[which];
    if (!*slot) {
        const char *sql = store_statements[which].sql;
        const int code = sqlite3_prepare_v3(db->handle, sql, -1, SQLITE_PREPARE_PERSISTENT, slot, NULL);
        if (code != SQLITE_OK) {
            fail(query, store_status_of(code));
            return;
        }
    }
    if (sqlite3_stmt_busy(*slot)) {
        fail(query, STORE_ERROR);
        return;
    }
    query->statement = *slot;
}

void query_open_all(struct query *query, struct store_db *db, enum statement which, const char *owner)
{
    query_open(query, db, which);
    query_text(query, 1, owner);
    query_integer(query, 2, STORE_PAGE_MAX + 1);
}

/* A statement used for what it doesn't say it is fails. */
static void expect(struct query *query, enum statement_kind kind)
{
    if (store_statements[query->which].kind != kind) {
        fail(query, STORE_ERROR);
    }
}

void query_text(struct query *query, int at, const char *text)
{
    if (query->status == STORE_OK) {
        bound(query, sqlite3_bind_text(query->statement, at, text, -1, SQLITE_STATIC));
    }
}

void query_id(struct query *query, int at, const char *id)
{
    query_text(query, at, id && id[0] ? id : NULL);
}

void query_integer(struct query *query, int at, int64_t value)
{
    if (query->status == STORE_OK) {
        bound(query, sqlite3_bind_int64(query->statement, at, value));
    }
}

void query_time(struct query *query, int at, int64_t value)
{
    if (query->status == STORE_OK) {
        bound(query, value ? sqlite3_bind_int64(query->statement, at, value) : sqlite3_bind_null(query->statement, at));
    }
}

void query_real(struct query *query, int at, bool has, double value)
{
    if (query->status == STORE_OK) {
        bound(query, has ? sqlite3_bind_double(query->statement, at, value) : sqlite3_bind_null(query->statement, at));
    }
}

void query_bytes(struct query *query, int at, const void *bytes, size_t size)
{
    if (query->status == STORE_OK) {
        bound(query, sqlite3_bind_blob64(query->statement, at, bytes, size, SQLITE_STATIC));
    }
}

void query_long_text(struct query *query, int at, const char *text, size_t size)
{
    if (query->status == STORE_OK) {
        bound(query, sqlite3_bind_text64(query->statement, at, text, size, SQLITE_STATIC, SQLITE_UTF8));
    }
}

enum store_status query_row(struct query *query)
{
    if (query->status != STORE_OK) {
        return query->status;
    }
    const int code = sqlite3_step(query->statement);
    if (code == SQLITE_ROW) {
        return STORE_OK;
    }
    if (code == SQLITE_DONE) {
        return STORE_NOT_FOUND;
    }
    fail(query, store_status_of(sqlite3_extended_errcode(query->db->handle)));
    return query->status;
}

void query_close(struct query *query)
{
    if (query->statement) {
        (void)sqlite3_reset(query->statement);
        (void)sqlite3_clear_bindings(query->statement);
        query->statement = NULL;
    }
}

enum store_status query_run(struct query *query)
{
    enum store_status status;
    expect(query, STATEMENT_EXEC);
    do {
        status = query_row(query);
    } while (status == STORE_OK);
    const enum store_status outcome = query->status;
    query_close(query);
    return outcome;
}

enum store_status query_run_one(struct query *query)
{
    const enum store_status status = query_run(query);
    if (status != STORE_OK) {
        return status;
    }
    return sqlite3_changes(query->db->handle) > 0 ? STORE_OK : STORE_NOT_FOUND;
}

enum store_status query_run_versioned(struct query *query, enum statement exists, const char *id)
{
    struct store_db *db = query->db;
    const enum store_status status = query_run_one(query);
    if (status != STORE_NOT_FOUND || query->status != STORE_OK) {
        return status;
    }
    struct query look;
    query_open(&look, db, exists);
    query_text(&look, 1, id);
    const enum store_status found = query_exists(&look);
    return found == STORE_OK ? STORE_STALE : found;
}

int64_t query_get_integer(const struct query *query, int column)
{
    return sqlite3_column_int64(query->statement, column);
}

double query_get_real(const struct query *query, int column)
{
    return sqlite3_column_double(query->statement, column);
}

bool query_is_null(const struct query *query, int column)
{
    return sqlite3_column_type(query->statement, column) == SQLITE_NULL;
}

void query_get_id(struct query *query, int column, char *out, size_t size)
{
    const char *text = (const char *)sqlite3_column_text(query->statement, column);
    const size_t length = text ? (size_t)sqlite3_column_bytes(query->statement, column) : 0;
    if (length >= size) {
        fail(query, STORE_CORRUPT);
        out[0] = '\0';
        return;
    }
    if (length > 0) {
        memcpy(out, text, length);
    }
    out[length] = '\0';
}

const char *query_get_bytes(struct query *query, int column, struct arena *arena, size_t *size)
{
    *size = 0;
    if (query->status != STORE_OK || query_is_null(query, column)) {
        return NULL;
    }
    const void *bytes = sqlite3_column_blob(query->statement, column);
    const size_t length = (size_t)sqlite3_column_bytes(query->statement, column);
    char *copy = arena_take(arena, length + 1);
    if (!copy || (!bytes && length > 0)) {
        fail(query, STORE_NO_MEMORY);
        return NULL;
    }
    if (length > 0) {
        memcpy(copy, bytes, length);
    }
    copy[length] = '\0';
    *size = length;
    return copy;
}

const char *query_get_text(struct query *query, int column, struct arena *arena)
{
    size_t size;
    return query_get_bytes(query, column, arena, &size);
}

void query_get_hash(struct query *query, int column, uint8_t out[STORE_HASH])
{
    const void *bytes = sqlite3_column_blob(query->statement, column);
    if (!bytes || sqlite3_column_bytes(query->statement, column) != STORE_HASH) {
        fail(query, STORE_CORRUPT);
        memset(out, 0, STORE_HASH);
        return;
    }
    memcpy(out, bytes, STORE_HASH);
}

bool query_copy_bytes(const struct query *query, int column, void *out, size_t size)
{
    const void *bytes = sqlite3_column_blob(query->statement, column);
    bool fits = bytes && (size_t)sqlite3_column_bytes(query->statement, column) == size;
    if (fits) {
        memcpy(out, bytes, size);
    }
    return fits;
}

/* NULL when memory is short. */
static char *grow(struct arena *arena, const char *items, size_t count, size_t *capacity, size_t item_size)
{
    const size_t wanted = *capacity ? *capacity * 2 : 8;
    char *larger = arena_alloc(arena, wanted * item_size);
    if (larger && count > 0) {
        memcpy(larger, items, count * item_size);
    }
    *capacity = wanted;
    return larger;
}

void *query_items(struct query *query, struct arena *arena, int limit, size_t item_size, query_read_fn read,
                  size_t *count, bool *more)
{
    char *items = NULL;
    size_t capacity = 0;
    *count = 0;
    *more = false;
    expect(query, STATEMENT_MANY);
    while (query_row(query) == STORE_OK) {
        if (*count == (size_t)limit) {
            *more = true;
            break;
        }
        if (*count == capacity) {
            items = grow(arena, items, *count, &capacity, item_size);
            if (!items) {
                fail(query, STORE_NO_MEMORY);
                break;
            }
        }
        read(query, arena, items + *count * item_size);
        (*count)++;
    }
    query_close(query);
    if (query->status != STORE_OK) {
        *count = 0;
        *more = false;
        return NULL;
    }
    return items;
}

void query_read_id(struct query *query, struct arena *arena, void *item)
{
    (void)arena;
    query_get_id(query, 0, item, UUID_TEXT);
}

enum store_status query_one(struct query *query, struct arena *arena, query_read_fn read, void *item)
{
    expect(query, STATEMENT_ONE);
    enum store_status status = query_row(query);
    if (status == STORE_OK) {
        read(query, arena, item);
        /* One row was promised. */
        if (query_row(query) == STORE_OK) {
            fail(query, STORE_CORRUPT);
        }
        status = query->status;
    }
    query_close(query);
    return status;
}

static void read_number(struct query *query, struct arena *arena, void *item)
{
    (void)arena;
    *(int64_t *)item = query_get_integer(query, 0);
}

enum store_status query_number(struct query *query, int64_t *out)
{
    *out = 0;
    return query_one(query, NULL, read_number, out);
}

struct bytes {
    const char **bytes;
    size_t *size;
};

static void read_bytes(struct query *query, struct arena *arena, void *item)
{
    struct bytes *out = item;
    *out->bytes = query_get_bytes(query, 0, arena, out->size);
}

enum store_status query_one_bytes(struct query *query, struct arena *arena, const char **bytes, size_t *size)
{
    return query_one(query, arena, read_bytes, &(struct bytes){.bytes = bytes, .size = size});
}

enum store_status query_exists(struct query *query)
{
    int64_t one;
    return query_number(query, &one);
}

int page_limit(const struct store_page *page)
{
    if (!page || page->limit <= 0) {
        return 50;
    }
    return page->limit < STORE_PAGE_MAX ? page->limit : STORE_PAGE_MAX;
}

static void bind_page(struct query *query, int at, const char *from, const struct store_page *page)
{
    query_text(query, at, from);
    query_integer(query, at + 1, page_limit(page) + 1);
}

void query_page_after(struct query *query, int at, const struct store_page *page)
{
    bind_page(query, at, page && page->after ? page->after : "", page);
}

void query_page_before(struct query *query, int at, const struct store_page *page)
{
    /* Above every UUID. */
    bind_page(query, at, page && page->after && page->after[0] ? page->after : "~", page);
}

void query_page_names(struct query *query, int at, const struct store_page *page)
{
    query_text(query, at, page ? page->name : NULL);
    query_integer(query, at + 1, page ? page->archived : 0);
}

void query_page_since(struct query *query, int at, const struct store_page *page)
{
    query_integer(query, at, page ? page->updated_since : 0);
}

void query_page_times(struct query *query, int at, const struct store_page *page)
{
    query_integer(query, at, page && page->from ? page->from : INT64_MIN);
    query_integer(query, at + 1, page && page->to ? page->to : INT64_MAX);
}
