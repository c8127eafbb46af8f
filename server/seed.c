/* Puts the embedded standard and drills into a new club's file. */
#include "seed.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/embed.h"
#include "store/club/audit.h"
#include "store/club/version.h"
#include "store/practice/drill.h"
#include "wire/json/load.h"

static const struct embedded_file *file_named(const char *name)
{
    for (size_t i = 0; i < embedded_standard_count; i++) {
        if (strcmp(embedded_standard[i].name, name) == 0) {
            return &embedded_standard[i];
        }
    }
    return NULL;
}

typedef enum store_status (*drill_fn)(struct store_db *db, const struct store_drill *drill);

/* The drill as the store keeps it, handed to what. */
static enum store_status drill_hand(struct store_db *db, json_t *object, int64_t now, drill_fn what)
{
    char id[STORE_SLUG];
    const char *name = json_string_value(json_object_get(object, "name"));
    const char *key = json_string_value(json_object_get(object, "id"));
    if (name == NULL || key == NULL || strlen(key) >= sizeof id) {
        return STORE_INVALID;
    }
    memcpy(id, key, strlen(key) + 1);
    json_object_del(object, "id");
    char *text = json_dumps(object, JSON_COMPACT);
    if (text == NULL) {
        return STORE_NO_MEMORY;
    }
    struct store_drill drill = {.name = name, .json = text, .built_in = true, .created = now};
    memcpy(drill.id, id, sizeof id);
    enum store_status status = what(db, &drill);
    json_text_free(text);
    return status;
}

/* count: how many it was done with; what says STORE_NOT_FOUND for one that stays as it is. */
static enum store_status drills_hand(struct store_db *db, int64_t now, drill_fn what, int *count)
{
    const struct embedded_file *file = file_named("drills.json");
    json_t *root = file == NULL ? NULL : json_load((const char *)file->data, file->size, JSON_REJECT_DUPLICATES, NULL);
    enum store_status status = root == NULL ? STORE_ERROR : STORE_OK;
    size_t index;
    json_t *object;
    json_array_foreach(json_object_get(root, "drills"), index, object)
    {
        const enum store_status one = status == STORE_OK ? drill_hand(db, object, now, what) : status;
        *count += one == STORE_OK;
        status = one == STORE_NOT_FOUND ? STORE_OK : one;
    }
    json_decref(root);
    return status;
}

enum store_status seed_standard_and_drills(struct store_db *db, int64_t now, int64_t *standard_number)
{
    const struct embedded_file *file = file_named("default.json");
    if (file == NULL) {
        return STORE_ERROR;
    }
    struct store_version standard = {
        .label = "default", .json = (const char *)file->data, .json_size = file->size, .created = now};
    enum store_status status = store_version_insert(db, STORE_STANDARD, &standard, 0);
    int count = 0;
    if (status == STORE_OK) {
        status = drills_hand(db, now, store_drill_insert, &count);
    }
    if (status != STORE_OK) {
        return status;
    }
    *standard_number = standard.number;
    struct store_audit audit = {.at = now, .action = "standard.ship", .object_kind = "standard"};
    (void)snprintf(audit.object_id, sizeof audit.object_id, "%lld", (long long)standard.number);
    return store_audit_add(db, &audit);
}

/* One that the club's file has not yet is added: drills are retired, never deleted. */
static enum store_status drill_renew(struct store_db *db, const struct store_drill *drill)
{
    const enum store_status status = store_drill_add_missing(db, drill);
    return status == STORE_NOT_FOUND ? store_drill_renew(db, drill) : status;
}

enum store_status seed_renew_drills(struct store_db *db, int64_t now)
{
    int count = 0;
    const enum store_status status = drills_hand(db, now, drill_renew, &count);
    if (status != STORE_OK) {
        return status;
    }
    if (count == 0) {
        store_audit_waive(db);
        return STORE_OK;
    }
    const struct store_audit audit = {.at = now, .action = "drill.renew", .object_kind = "drill"};
    return store_audit_add(db, &audit);
}
