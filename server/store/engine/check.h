/* Proving a file sound, and copying it while it is in use. */
#ifndef LEADSIDE_STORE_ENGINE_CHECK_H
#define LEADSIDE_STORE_ENGINE_CHECK_H

#include "store/engine/store.h"

/* One plain sentence for each thing wrong. */
typedef void (*store_finding_fn)(void *context, const char *sentence);

/* Checks directory/leadside.db: the file's structure, references, and what must always hold (every swing has a report,
 * every kept answer names a real row, every account, student and fix has an audit row, ...). A running server is not
 * disturbed. Returns the number of findings, or -1 with a sentence in error when the file can't be read at all. */
int store_check(const char *directory, store_finding_fn finding, void *context, char *error,
                size_t error_size) STORE_CHECKED;

/* Copies directory/leadside.db to file while a server may be writing: one moment's state, checked, flushed, then put in
 * place under its name in one step. An older file of that name is replaced, a link, directory, pipe
 * or device is not: STORE_INVALID. The ledger of erasures is not copied (store/engine/ledger.h).
 * With a key (KEY_BYTES) the copy is encrypted (base/cipher.h) and read again: the copy that it is made of lies in the
 * directory, for its owner alone, and goes at the end. */
enum store_status store_backup(const char *directory, const char *file, const uint8_t *key, char *error,
                               size_t error_size) STORE_CHECKED;

/* Is the copy sound? A plain one: its pages and references. An encrypted one: every byte is what was written, and that
 * was proved when it was made; the key must be that one, and NULL for a plain one. */
enum store_status store_prove_copy(const char *file, const uint8_t *key, char *error, size_t error_size) STORE_CHECKED;

/* Does the ledger of erasures lie in the directory? Without it nobody knows who was erased after a copy was made. */
bool store_has_ledger(const char *directory) STORE_CHECKED;

/* Proves the copy and puts it in the place of directory/leadside.db, in one step; its log is removed before. Nothing
 * else in the directory is touched: the ledger of erasures and the server's key stay. The directory is made (0700) when
 * it is missing. STORE_BUSY: a server is using it. STORE_CONFLICT: there is a file, and it is not to be replaced. */
enum store_status store_restore(const char *directory, const char *file, const uint8_t *key, bool replace, char *error,
                                size_t error_size) STORE_CHECKED;

#endif
