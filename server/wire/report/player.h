/* A student as the core sees one, from what the club keeps of a person. */
#ifndef LEADSIDE_WIRE_REPORT_PLAYER_H
#define LEADSIDE_WIRE_REPORT_PLAYER_H

#include <stdbool.h>
#include <stdint.h>

#include "core/score.h"

#define JUNIOR_AGE_MAX 17

/* What is said of a lesson's swings where they are not. */
#define PLAYER_ONE_HAND "All swings of a lesson must be by one student, all right-handed or all left-handed."

struct player_known {
    const char *birth_date; /* "2011-05-02"; NULL = not known */
    int birth_year;         /* 0 = not known */
    bool junior;
    const char *sex; /* NULL = not said */
    unsigned pain;   /* enum area bits */
    struct maybe height_m;
};

/* Whole years, to the day where the date of birth is known (UTC). With the year alone the younger of the two ages it
 * may be as long as that is a junior's (protection and hours of sport go by it), the older one from then on. -1: not
 * known. now: ms since 1970. */
int player_age(const char *birth_date, int birth_year, int64_t now);

/* Sex, age, height, what hurts; a junior of unknown age counts as 17. Nothing else is known: no spread, any kit and
 * place. */
void player_score(const struct player_known *player, int64_t now, struct score_player *out);

/* What a report notes where a document is of the other hand than its student is recorded with ("left", "right", NULL =
 * right); NULL where it is not. */
const char *player_hand_note(const char *recorded, enum hand hand);

#endif
