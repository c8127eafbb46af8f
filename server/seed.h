/* What every new club starts with: the built-in house standard and drills. For init and demo. */
#ifndef LEADSIDE_SEED_H
#define LEADSIDE_SEED_H

#include "store/store.h"

/* In a write job on an empty club: adds standard 1 and every built-in drill, and audits both. The drill's stored JSON
 * is its object without "id", as the API takes it. */
enum store_status seed_standard_and_drills(struct store_db *db, int64_t now, int64_t *standard_number) STORE_CHECKED;

#endif
