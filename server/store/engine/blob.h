/* The large columns, read in pieces: a swing's document or file as it was sent, a document that was
 * there before it, a still's picture. Nothing is held from
 * one piece to the next, neither a copy nor a place in the file's log: a slow reader can't keep the log from being
 * folded back, and what was erased or replaced meanwhile ends with the piece before. */
#ifndef LEADSIDE_STORE_ENGINE_BLOB_H
#define LEADSIDE_STORE_ENGINE_BLOB_H

#include "store/engine/store.h"

enum store_blob_kind { STORE_BLOB_DOCUMENT, STORE_BLOB_REVISION, STORE_BLOB_PICTURE };

/* Which bytes are meant: those of this row as long as they have this hash. */
struct store_blob {
    enum store_blob_kind kind;
    char id[UUID_TEXT]; /* of the swing, of the former document, of the still */
    uint8_t hash[STORE_HASH];
    size_t size;
};

/* The bytes from `at` on; at + size must not be past the end. STORE_NOT_FOUND: the row is gone, or another now. Each
 * piece is found anew along the whole of the column before it, so pieces should be large. Any thread's reader. */
enum store_status store_blob_read(struct store_db *db, const struct store_blob *blob, uint64_t at, void *out,
                                  size_t size) STORE_CHECKED;

#endif
