/* The club's range tablets. */
#ifndef LEADSIDE_STORE_PEOPLE_DEVICE_H
#define LEADSIDE_STORE_PEOPLE_DEVICE_H

#include "store/people/account.h"

struct store_device {
    char id[UUID_TEXT];
    const char *name; /* "Bay 3" */
    char enrolled_by[UUID_TEXT];
    int64_t created, last_seen, revoked;
    int64_t version;
};

struct store_device_list {
    struct store_device *items;
    size_t count;
    bool more;
};

enum store_status store_device_insert(struct store_db *db, const struct store_device *device,
                                      const uint8_t token_hash[STORE_HASH]) STORE_CHECKED;
/* Not a revoked one. */
enum store_status store_device_find(struct store_db *db, const uint8_t token_hash[STORE_HASH], struct arena *arena,
                                    struct store_device *out) STORE_CHECKED;
enum store_status store_device_get(struct store_db *db, const char *id, struct arena *arena,
                                   struct store_device *out) STORE_CHECKED;
enum store_status store_device_list(struct store_db *db, const struct store_page *page, struct arena *arena,
                                    struct store_device_list *out) STORE_CHECKED;
/* Name and revoked; revoking also ends the sessions it carries. One that is revoked stays so. */
enum store_status store_device_update(struct store_db *db, struct store_device *device) STORE_CHECKED;
/* Revokes it as the ledger has it: no line is added, and one that is not there is no failure. */
enum store_status store_device_revoke(struct store_db *db, const char *id, int64_t at) STORE_CHECKED;
/* Tablets in use that this account enrolled, at most STORE_PAGE_MAX. */
enum store_status store_device_enrolled(struct store_db *db, const char *account_id, struct arena *arena,
                                        struct store_id_list *out) STORE_CHECKED;
enum store_status store_device_touch(struct store_db *db, const char *id, int64_t now) STORE_CHECKED;

#endif
