/* One invented student's twelve weeks: lessons, swings with their reports, a fix, homework and how it went. */
#ifndef LEADSIDE_DEMO_SEASON_H
#define LEADSIDE_DEMO_SEASON_H

#include "core/practice.h"
#include "core/standard.h"
#include "demo/club.h"
#include "demo/random.h"

#define DEMO_SEASON_MS (INT64_C(84) * 24 * 3600 * 1000)

/* What becomes of a student. */
enum demo_fate { DEMO_IMPROVES, DEMO_STUCK, DEMO_FORGOTTEN, DEMO_NEW, DEMO_FATE_COUNT };

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

struct demo_student {
    char id[UUID_TEXT], coach[UUID_TEXT], account[UUID_TEXT];
    char name[64];
    int age;
    bool female, left;
    double height_m;
    unsigned pain;
    enum demo_fate fate;
};

/* Reads the built-in standard and drills; false when memory is short. */
bool demo_world_prepare(struct demo_world *world) __attribute__((warn_unused_result));
/* A repeatable id that sorts by `at`. */
void demo_id(struct demo_world *world, int64_t at, char out[UUID_TEXT]);
enum store_status demo_audit(struct store_db *db, const char *action, const char *kind, const char *id,
                             const char *student_id, const char *by, int64_t at) STORE_CHECKED;
/* Inside the student's own write job. */
enum store_status demo_season(struct demo_world *world, struct store_db *db,
                              const struct demo_student *who) STORE_CHECKED;

#endif
