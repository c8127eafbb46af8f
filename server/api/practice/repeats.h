/* How well each measure repeats in this club: from swings that its students made in one lesson. */
#ifndef LEADSIDE_API_PRACTICE_REPEATS_H
#define LEADSIDE_API_PRACTICE_REPEATS_H

#include "api/frame/call.h"
#include "core/reliability.h"
#include "wire/report/pick.h"

struct repeats_measure {
    bool known;           /* anything can be told */
    bool enough;          /* RELIABILITY_ENOUGH students, and the spread is more than what measuring adds */
    enum club_class club; /* of the kind of club that most of them were made with */
    struct reliability of;
    double spread; /* swing-to-swing sd of a player, what measuring adds taken off; 0 = nothing is left */
};

struct repeats {
    struct repeats_measure of[MEASURE_COUNT];
};

/* On a heavy thread: the first three swings of each student's newest lesson that has three, of one kind of club; at
 * most 2 000 students. Of a measure those count whose three values were seen by the same means, and are no limits. */
enum store_status repeats_gather(struct call *call, struct repeats *out) STORE_CHECKED;

/* Measures of a report by its number. *readable: it is one. */
enum store_status repeats_pick(struct store_db *db, int64_t report, const enum measure_item *items, int count,
                               struct report_pick *out, enum club_class *club, bool *readable) STORE_CHECKED;

#endif
