/* See blob.h. */
#include "store/engine/blob.h"

#include <string.h>

#include "store/engine/internal.h"

static const struct {
    const char *table, *column;
    enum statement find;
} places[] = {[STORE_BLOB_DOCUMENT] = {"swing", "document", BLOB_DOCUMENT},
              [STORE_BLOB_PICTURE] = {"still", "picture", BLOB_PICTURE}};

/* The row by its own id, not by a row number kept from before: those may change when the file is packed. */
static enum store_status find_row(struct store_db *db, const struct store_blob *blob, sqlite3_int64 *row)
{
    struct query query;
    uint8_t hash[STORE_HASH];
    query_open(&query, db, places[blob->kind].find);
    query_text(&query, 1, blob->id);
    enum store_status status = query_row(&query);
    if (status == STORE_OK) {
        *row = query_get_integer(&query, 0);
        query_get_hash(&query, 1, hash);
        status = query.status != STORE_OK                     ? query.status
                 : memcmp(hash, blob->hash, sizeof hash) != 0 ? STORE_NOT_FOUND
                                                              : STORE_OK;
    }
    query_close(&query);
    return status;
}

static enum store_status read_piece(struct store_db *db, const struct store_blob *blob, sqlite3_int64 row, uint64_t at,
                                    void *out, size_t size)
{
    sqlite3_blob *handle = NULL;
    int code =
        sqlite3_blob_open(db->handle, "main", places[blob->kind].table, places[blob->kind].column, row, 0, &handle);
    if (code == SQLITE_OK && (size_t)sqlite3_blob_bytes(handle) != blob->size) {
        (void)sqlite3_blob_close(handle);
        return STORE_CORRUPT;
    }
    if (code == SQLITE_OK) {
        code = sqlite3_blob_read(handle, out, (int)size, (int)at);
    }
    const int closed = sqlite3_blob_close(handle);
    return store_status_of(code != SQLITE_OK ? code : closed);
}

enum store_status store_blob_read(struct store_db *db, const struct store_blob *blob, uint64_t at, void *out,
                                  size_t size)
{
    sqlite3_int64 row = 0;
    if (at > blob->size || size > blob->size - at) {
        return STORE_INVALID;
    }
    enum store_status status = store_read_begin(db);
    if (status != STORE_OK) {
        return status;
    }
    status = find_row(db, blob, &row);
    if (status == STORE_OK) {
        status = read_piece(db, blob, row, at, out, size);
    }
    store_read_end(db);
    return status;
}
