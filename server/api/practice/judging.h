/* What all that judge a change of a fault's measure share: the progress, a look again, the effect of a drill. */
#ifndef LEADSIDE_API_PRACTICE_JUDGING_H
#define LEADSIDE_API_PRACTICE_JUDGING_H

#include "api/frame/call.h"
#include "core/change.h"
#include "wire/report/pick.h"

#define JUDGING_SWINGS 3 /* fewer say little of a player's habit */
#define JUDGING_SECOND_LOOK_MS                                                                                         \
    (4 * DAY_MS) /* after the fix was opened: before practice has done much (common practice) */

/* The measures of the fault's required signs, the heaviest first; how many. */
int judging_items(const struct fault_rule *rule, enum measure_item items[SIGNS_MAX]);

/* A camera and markers stand anew every day; a scale, another instrument and a camera's rate stay what they are. */
bool judging_placed(enum measure_source source);

/* A report's value as the player's habit: of few swings the player's own spread is in its error. */
struct change_set judging_set(const struct report_pick *pick, double spread);

/* Seen, no limit, and neither guessed nor suspect. */
bool judging_shows(const struct measure *measure);

/* The first readings of the club's players seen the same way. */
struct judging_like {
    enum measure_item item;
    enum club_class club;
    enum measure_source source;
    double spread; /* of a player's swings, in the measure's unit */
};

/* *known: there are enough of them. */
enum store_status judging_club(struct call *call, const struct judging_like *like, struct change_prior *out,
                               bool *known) STORE_CHECKED;

/* While there are few: the middle of what is fine, where nine of ten players are taken to lie. */
struct change_prior judging_middle(const struct measure_range *range, double spread);

#endif
