/* The invented club's world: ids, audit rows, the standard and the drills that all its students share. */
#include "demo/world.h"

#include <sodium.h>
#include <stdio.h>

#include "base/ids.h"
#include "base/times.h"
#include "demo/document.h"
#include "store/club/audit.h"
#include "wire/rules/drill_read.h"
#include "wire/rules/standard_read.h"

void demo_id(struct demo_world *world, int64_t at, char out[UUID_TEXT])
{
    uint8_t random[10];
    for (int i = 0; i < 10; i++) {
        random[i] = (uint8_t)demo_random_bits(&world->random);
    }
    /* A counter in front keeps ids of one millisecond in the order they were made. */
    world->made++;
    random[0] = (uint8_t)(world->made >> 8);
    random[1] = (uint8_t)world->made;
    uuid7_format(at, random, out);
}

enum store_status demo_audit(struct store_db *db, const char *action, const char *kind, const char *id,
                             const char *student_id, const char *by, int64_t at)
{
    struct store_audit audit = {.at = at, .action = action, .object_kind = kind};
    (void)snprintf(audit.object_id, sizeof audit.object_id, "%s", id);
    (void)snprintf(audit.student_id, sizeof audit.student_id, "%s", student_id);
    (void)snprintf(audit.account_id, sizeof audit.account_id, "%s", by);
    uint8_t random[10];
    randombytes_buf(random, sizeof random);
    uuid7_format(at, random, audit.id); /* rows are found by time by their ids */
    return store_audit_add(db, &audit);
}

bool demo_world_prepare(struct demo_world *world)
{
    if (world->arena == NULL) {
        return false;
    }
    world->standard = standard_default(world->arena);
    world->drills = drills_default(world->arena, &world->drill_count);
    world->documents = arena_alloc(world->arena, DEMO_SWINGS * sizeof *world->documents);
    return world->standard != NULL && world->drills != NULL && world->documents != NULL;
}
