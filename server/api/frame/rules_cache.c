/* The house standard and the drills in use, parsed once and shared by every request that scores. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "api/frame/call.h"
#include "api/practice/drill_row.h"
#include "store/club/version.h"
#include "wire/rules/standard_read.h"

static void rules_free(struct rules_cache *rules)
{
    if (rules != NULL) {
        arena_free(rules->arena);
        free(rules);
    }
}

static bool read_standard(struct rules_cache *rules, struct store_db *db)
{
    struct store_version row;
    struct wire_error error;
    struct standard *standard = arena_alloc(rules->arena, sizeof *standard);
    if (standard == NULL || store_version_current(db, STORE_STANDARD, rules->arena, &row) != STORE_OK ||
        !standard_read(row.json, row.json_size, rules->arena, standard, &error)) {
        return false;
    }
    rules->number = row.number;
    rules->standard = standard;
    return true;
}

static bool append_drills(struct rules_cache *rules, const struct store_drill_list *list)
{
    size_t held = (size_t)rules->drill_count;
    struct drill *drills = arena_alloc(rules->arena, (held + list->count + 1) * sizeof *drills);
    if (drills == NULL) {
        return false;
    }
    if (held > 0) {
        memcpy(drills, rules->drills, held * sizeof *drills);
    }
    for (size_t i = 0; i < list->count; i++) {
        const struct store_drill *row = &list->items[i];
        if (drill_row_read(row->id, row->name, row->json, rules->arena, &drills[held])) {
            held++;
        }
    }
    rules->drills = drills;
    rules->drill_count = (int)held;
    return true;
}

static bool read_drills(struct rules_cache *rules, struct store_db *db)
{
    struct store_drill_list list = {0};
    struct store_page page = {.limit = STORE_PAGE_MAX};
    do {
        if (store_drill_list(db, false, &page, rules->arena, &list) != STORE_OK || !append_drills(rules, &list)) {
            return false;
        }
        page.after = list.count > 0 ? list.items[list.count - 1].id : NULL;
    } while (list.more && page.after != NULL);
    return true;
}

const struct drill *rules_drill(const struct rules_cache *rules, const char *id)
{
    for (int i = 0; id != NULL && i < rules->drill_count; i++) {
        if (strcmp(rules->drills[i].id, id) == 0) {
            return &rules->drills[i];
        }
    }
    return NULL;
}

/* Homework is fetched far more often than drills change. */
static bool write_sheets(struct rules_cache *rules)
{
    const size_t count = (size_t)rules->drill_count;
    bool good = true;
    rules->drill_sheets = arena_alloc(rules->arena, (count + 1) * sizeof *rules->drill_sheets);
    for (size_t i = 0; i < count && good && rules->drill_sheets != NULL; i++) {
        struct arena *arena = arena_new(0);
        const struct drill *drill = &rules->drills[i];
        const char *sheet = arena == NULL ? NULL : drill_row_sheet(drill, rules_drill(rules, drill->next), arena);
        rules->drill_sheets[i] = sheet == NULL ? NULL : arena_strdup(rules->arena, sheet);
        good = rules->drill_sheets[i] != NULL;
        arena_free(arena);
    }
    return good && rules->drill_sheets != NULL;
}

static struct rules_cache *rules_parse(struct store_db *db, unsigned rules_edits)
{
    const unsigned shortages = arena_shortages();
    struct rules_cache *rules = calloc(1, sizeof *rules);
    if (rules == NULL) {
        return NULL;
    }
    rules->edits = rules_edits; /* of before reading: a change meanwhile is read again */
    rules->arena = arena_new(0);
    atomic_init(&rules->users, 1); /* the api's own */
    if (rules->arena == NULL || !read_standard(rules, db) || !read_drills(rules, db) || !write_sheets(rules) ||
        arena_shortages() != shortages) { /* a drill that could not be read would be missing until the next change */
        rules_free(rules);
        return NULL;
    }
    return rules;
}

static void let_go(struct rules_cache *rules)
{
    if (rules != NULL && atomic_fetch_sub(&rules->users, 1) == 1) {
        rules_free(rules);
    }
}

const struct rules_cache *rules_borrow(struct api *api, struct store_db *db, unsigned rules_edits)
{
    if (db == NULL) {
        return NULL;
    }
    pthread_mutex_lock(&api->rules_lock);
    struct rules_cache *rules = api->rules;
    if (rules == NULL || (int)(rules_edits - rules->edits) > 0) {
        struct rules_cache *fresh = rules_parse(db, rules_edits);
        if (fresh != NULL) {
            let_go(rules);
            api->rules = fresh;
        }
        rules = fresh;
    }
    if (rules != NULL) {
        atomic_fetch_add(&rules->users, 1);
    }
    pthread_mutex_unlock(&api->rules_lock);
    return rules;
}

void rules_return(struct api *api, const struct rules_cache *rules)
{
    (void)api;
    /* Only the count is changed; the caller sees it as constant. */
    let_go((struct rules_cache *)rules);
}
