/* What the invented club's coaches and head share of a student: looks that are planned, students handed over, second
 * opinions, and a fix that was opened although another spoke against it. */
#ifndef LEADSIDE_DEMO_TOGETHER_H
#define LEADSIDE_DEMO_TOGETHER_H

#include "demo/world.h"

/* Inside a write job of its own, when all students are there. */
enum store_status demo_together(struct demo_world *world, struct store_db *db) STORE_CHECKED;

#endif
