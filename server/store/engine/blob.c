/* See blob.h. */
#include "store/engine/blob.h"

#include <string.h>

#include "store/engine/query.h"

static const struct {
    const char *table, *column;
    enum statement find, unpacked; /* a picture never is packed */
} places[] = {[STORE_BLOB_DOCUMENT] = {"swing", "document", BLOB_DOCUMENT, BLOB_UNPACKED},
              [STORE_BLOB_REVISION] = {"revision", "document", BLOB_REVISION, BLOB_UNPACKED_REVISION},
              [STORE_BLOB_PICTURE] = {"still", "picture", BLOB_PICTURE, BLOB_UNPACKED}};

/* The row by its own id, not by a row number kept from before: those may change when the file is packed. */
static enum store_status find_row(struct store_db *db, const struct store_blob *blob, sqlite3_int64 *row, bool *packed)
{
    struct query query;
    uint8_t hash[STORE_HASH];
    query_open(&query, db, places[blob->kind].find);
    query_text(&query, 1, blob->id);
    enum store_status status = query_row(&query);
    if (status == STORE_OK) {
        *row = query_get_integer(&query, 0);
        query_get_hash(&query, 1, hash);
        *packed = query_get_integer(&query, 2) != 0;
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

/* A packed one is at most one piece long (PACKED_MAX). */
static enum store_status unpack_piece(struct store_db *db, const struct store_blob *blob, uint64_t at, void *out,
                                      size_t size)
{
    struct query query;
    query_open(&query, db, places[blob->kind].unpacked);
    query_text(&query, 1, blob->id);
    enum store_status status = query_row(&query);
    if (status == STORE_OK) {
        const char *text = sqlite3_column_blob(query.statement, 0);
        if (text != NULL && (size_t)sqlite3_column_bytes(query.statement, 0) == blob->size) {
            memcpy(out, text + at, size);
        } else {
            status = STORE_CORRUPT;
        }
    }
    query_close(&query);
    return status;
}

enum store_status store_blob_read(struct store_db *db, const struct store_blob *blob, uint64_t at, void *out,
                                  size_t size)
{
    sqlite3_int64 row = 0;
    bool packed = false;
    if (at > blob->size || size > blob->size - at) {
        return STORE_INVALID;
    }
    enum store_status status = store_read_begin(db);
    if (status != STORE_OK) {
        return status;
    }
    status = find_row(db, blob, &row, &packed);
    if (status == STORE_OK) {
        status = packed ? unpack_piece(db, blob, at, out, size) : read_piece(db, blob, row, at, out, size);
    }
    store_read_end(db);
    return status;
}
