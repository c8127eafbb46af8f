/* The drills of a new fix: those of the coach's own list, or what fits fault and body best; each with its dose. */
#ifndef LEADSIDE_API_PRACTICE_FIX_DRILLS_H
#define LEADSIDE_API_PRACTICE_FIX_DRILLS_H

#include "api/frame/body.h"
#include "api/lessons/scoring.h"
#include "api/practice/fix_two.h"
#include "store/practice/homework.h"

struct fix_drill {
    const char *id, *reason; /* reason: why a drill for a sore area, or one for balance, all the same */
};

struct fix_drills {
    bool given; /* by the coach */
    int count;
    struct fix_drill chosen[FIX_DRILLS_MAX];
    struct store_homework homework[FIX_DRILLS_MAX];
};

/* The body's "drills", which may be missing. What is refused shows in the body. */
void fix_drills_read(struct tree *tree, struct fix_drills *drills);

/* Checks the drills that were given, or chooses some, and makes the fix's homework of them. False: answered. */
bool fix_drills_take(struct call *call, const struct store_fix *fix, enum fault_id fault, struct scored_student *scored,
                     struct fix_drills *drills);

#endif
