/* One invented student's twelve weeks: lessons, swings with their reports, a fix, homework and how it went. */
#ifndef LEADSIDE_DEMO_SEASON_H
#define LEADSIDE_DEMO_SEASON_H

#include "demo/world.h"

#define DEMO_SEASON_MS (INT64_C(84) * 24 * 3600 * 1000)

/* What becomes of a student. */
enum demo_fate { DEMO_IMPROVES, DEMO_STUCK, DEMO_FORGOTTEN, DEMO_NEW, DEMO_FATE_COUNT };

struct demo_student {
    char id[UUID_TEXT], coach[UUID_TEXT], account[UUID_TEXT];
    char name[64];
    int age;
    bool female, left;
    double height_m;
    unsigned pain;
    enum demo_fate fate;
};

/* Inside the student's own write job. */
enum store_status demo_season(struct demo_world *world, struct store_db *db,
                              const struct demo_student *who) STORE_CHECKED;

#endif
