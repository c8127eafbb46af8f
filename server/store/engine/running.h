/* How long the server has been running in all, kept in the file: time that only a monotonic clock adds to. */
#ifndef LEADSIDE_STORE_ENGINE_RUNNING_H
#define LEADSIDE_STORE_ENGINE_RUNNING_H

#include "store/engine/store.h"

/* Milliseconds up to now. What was not saved before the last stop is missing: never too much. In a job. */
enum store_status store_running_get(struct store_db *db, int64_t *ms) STORE_CHECKED;
/* Writes it down: the smallest write that there is. In a job. */
enum store_status store_running_save(struct store_db *db) STORE_CHECKED;

#endif
