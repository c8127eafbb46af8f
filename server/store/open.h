/* Opening the club's file. */
#ifndef LEADSIDE_STORE_OPEN_H
#define LEADSIDE_STORE_OPEN_H

#include "store/engine/store.h"

/* Opens, migrates, starts the writer. NULL with a sentence in error when the directory is held by another server, the
 * file is not ours, can be read by others and we may not mend it, is newer than this program, or is damaged. */
struct store *store_open(const struct store_config *config, char *error, size_t error_size) STORE_CHECKED;

#endif
