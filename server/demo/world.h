/* What the invented club's students share: its people, standard and drills, the dice, and ids that come out the same.
 */
#ifndef LEADSIDE_DEMO_WORLD_H
#define LEADSIDE_DEMO_WORLD_H

#include "core/practice.h"
#include "core/standard.h"
#include "demo/club.h"
#include "demo/random.h"
#include "wire/swing/read.h"

#define DEMO_SWINGS 3

struct demo_world {
    struct demo_random random;
    int64_t now;
    struct arena *arena; /* the whole run's */
    const struct standard *standard;
    int64_t standard_number;
    const struct drill *drills;
    int drill_count;
    struct swing_document *documents; /* DEMO_SWINGS of them, used again for every lesson */
    char head[UUID_TEXT];
    char coaches[DEMO_COACHES][UUID_TEXT];
    unsigned made; /* ids so far */
    struct demo_counts counts;
};

/* Reads the built-in standard and drills; false when memory is short. */
bool demo_world_prepare(struct demo_world *world) __attribute__((warn_unused_result));
/* A repeatable id that sorts by `at`. */
void demo_id(struct demo_world *world, int64_t at, char out[UUID_TEXT]);
enum store_status demo_audit(struct store_db *db, const char *action, const char *kind, const char *id,
                             const char *student_id, const char *by, int64_t at) STORE_CHECKED;

#endif
