/* Second factors of accounts: the sealed secret, the newest step whose code was taken, and the hashes of recovery codes
 * not used yet. What a code is, the caller knows (auth/second_factor.h). */
#ifndef LEADSIDE_STORE_PEOPLE_SECOND_FACTOR_H
#define LEADSIDE_STORE_PEOPLE_SECOND_FACTOR_H

#include "store/engine/store.h"

#define STORE_SEALED 60 /* bytes */

struct store_second_factor {
    char account_id[UUID_TEXT];
    uint8_t sealed[STORE_SEALED];
    int64_t started;
    int64_t confirmed; /* 0 = not yet: nobody is asked for it */
    int64_t last_step; /* -1 = no code was taken yet */
};

enum store_status store_second_factor_get(struct store_db *db, const char *account_id,
                                          struct store_second_factor *out) STORE_CHECKED;
/* In place of one that was never confirmed. STORE_CONFLICT when a confirmed one is there. */
enum store_status store_second_factor_start(struct store_db *db,
                                            const struct store_second_factor *factor) STORE_CHECKED;
/* From now on it is asked for. */
enum store_status store_second_factor_confirm(struct store_db *db, const char *account_id, int64_t now) STORE_CHECKED;
/* A code of this step was taken. STORE_NOT_FOUND when one of it, or of a later step, was taken before. */
enum store_status store_second_factor_take(struct store_db *db, const char *account_id, int64_t step) STORE_CHECKED;
/* With its recovery codes. STORE_NOT_FOUND when there is none. */
enum store_status store_second_factor_remove(struct store_db *db, const char *account_id) STORE_CHECKED;

enum store_status store_recovery_add(struct store_db *db, const char *account_id,
                                     const uint8_t code_hash[STORE_HASH]) STORE_CHECKED;
/* Once: STORE_NOT_FOUND when it is none of this account's, or was used. */
enum store_status store_recovery_use(struct store_db *db, const char *account_id,
                                     const uint8_t code_hash[STORE_HASH]) STORE_CHECKED;

#endif
