/* A student as the core sees one, and documents judged by the club's book. Used for swings and for lessons. */
#ifndef LEADSIDE_API_SCORING_H
#define LEADSIDE_API_SCORING_H

#include "api/internal.h"
#include "wire/report_write.h"
#include "wire/swing_read.h"

#define SCORING_OWN_SWINGS 5      /* fewer say nothing about a player's own spread */
#define SCORING_OWN_SWINGS_MAX 20 /* the newest ones count */

#define JUNIOR_AGE_MAX 17 /* years reached this year */

struct scoring {
    struct store_student student;
    struct score_player player;
    bool unsteady; /* a balance drill needs a word; set where drills are chosen */
};

/* Whole years reached this year; -1 when the year of birth is not known. */
int scoring_age(int birth_year, int64_t now);

/* The student as kept now: sex, age, what hurts. Ages are whole years reached this year, juniors never above 17. */
void scoring_player(const struct store_student *student, int64_t now, struct score_player *out);

/* Reads the call's student. False and already answered when that fails. */
bool scoring_start(struct call *call, struct scoring *out) __attribute__((warn_unused_result));

/* The player's own swing-to-swing sd of every measure seen in five swings or more of one kind of club (what measuring
 * adds is taken off). Reads the newest reports; leaves the spread as it is when there are too few. */
enum store_status scoring_own_spread(struct store_db *db, struct arena *arena, const char *student_id,
                                     enum club_class club, struct score_player *player)
    __attribute__((warn_unused_result));

/* One report on count documents together, as JSON in the arena; NULL when memory is short. */
char *scoring_report(const struct scoring *scoring, const struct api_book *book,
                     struct swing_document *const *documents, int count, struct arena *arena, size_t *length)
    __attribute__((warn_unused_result));

#endif
