/* What speaks against a fix that is new, or opened again: the other open fixes, the report it is opened from, the
 * student's body, the ball. Two coaches never pull one student in opposite directions without knowing it. */
#ifndef LEADSIDE_API_PRACTICE_FIX_CONFLICTS_H
#define LEADSIDE_API_PRACTICE_FIX_CONFLICTS_H

#include "api/practice/fix_drills.h"
#include "core/flight.h"
#include "store/practice/fix.h"

/* What a coach asks for, and what is there. */
struct fix_asked {
    const struct store_fix *fix; /* overrule, together and reason as the coach said them */
    enum fault_id fault;
    const char *first; /* what the report puts first; "" = nothing, or no report was named */
    struct flight_class flight;
    const struct scored_student *scored;
    const struct fix_drills *drills;
    struct store_fix_list open; /* the others, filled by fix_conflicts_ask */
};

/* Every conflict. *json: the list as JSON text in the arena, NULL when there is none. False: answered, with 409
 * `fix-conflict` and all of them where one needs a reason that was not given. */
bool fix_conflicts_ask(struct call *call, struct fix_asked *asked, const char **json);

/* In the write's job: are the others that are open still those that were asked about? Else refused. */
enum store_status fix_conflicts_check(struct store_db *db, struct write *write,
                                      const struct fix_asked *asked) STORE_CHECKED;

#endif
