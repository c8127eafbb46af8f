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
 * or device is not: STORE_INVALID. The ledger of erasures is not copied (store/engine/ledger.h). */
enum store_status store_backup(const char *directory, const char *file, char *error, size_t error_size) STORE_CHECKED;

#endif
