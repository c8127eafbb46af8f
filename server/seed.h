/* What every new club starts with: the built-in house standard and drills. For init and demo; and
 * what a newer program brings with it, for serve. */
#ifndef LEADSIDE_SEED_H
#define LEADSIDE_SEED_H

#include "store/engine/store.h"

/* In a write job on an empty club: adds standard 1 and every built-in drill, and audits both. The drill's stored JSON
 * is its object without "id", as the API takes it. */
enum store_status seed_standard_and_drills(struct store_db *db, int64_t now, int64_t *standard_number) STORE_CHECKED;

/* In a write job: gives built-in drills that the club has never changed the text and the care of this program's, and
 * adds those that it has not, and
 * audits it when there were any. The club's own drills and those it has changed stay as they are. */
enum store_status seed_renew_drills(struct store_db *db, int64_t now) STORE_CHECKED;

#endif
