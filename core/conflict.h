/* Does one thing asked of a player work against another, or against what the ball does? */
#ifndef LEADSIDE_CORE_CONFLICT_H
#define LEADSIDE_CORE_CONFLICT_H

#include "core/flight.h"
#include "core/names.h"
#include "core/practice.h"
#include "core/standard.h"

/* What may speak against a new fix. */
#define CONFLICT_NAMES(X)                                                                                              \
    X(CONFLICT_OPPOSITE_MEASURE, "opposite_measure") /* the same measure the other way as an open fix */               \
    X(CONFLICT_DRILL_AGAINST, "drill_against")       /* a drill of the one works against the other */                  \
    X(CONFLICT_TWO_FIXES_OPEN, "two_fixes_open")     /* another is open */                                             \
    X(CONFLICT_ANOTHER_FIRST, "another_first")       /* the report puts another first */                               \
    X(CONFLICT_SORE_AREA, "sore_area")               /* a drill loads what hurts, or is ruled out for it */            \
    X(CONFLICT_UNSTEADY, "unsteady")                 /* a balance drill for who may fall */                            \
    X(CONFLICT_BALL_FLIGHT, "ball_flight")           /* the ball does not do what this fault makes it do */

enum conflict { CONFLICT_NAMES(NAMES_ENUM) CONFLICT_COUNT };

const char *conflict_name(enum conflict value);

/* Mending the one moves a measure away from where mending the other moves it: both need the same measure, one being too
 * high and one too low. *item (set when true) is that measure. */
bool conflict_faults(const struct standard *standard, enum fault_id one, enum fault_id other, enum measure_item *item);

/* A drill made for a fault that is the opposite of this one, and not for this one as well. */
bool conflict_drill(const struct standard *standard, const struct drill *drill, enum fault_id fault,
                    enum measure_item *item);

/* The ball speaks against the fault: each flight that is typical of it is contradicted in a part that was seen
 * (flight_weigh); a fault without a typical flight has none against it. */
bool conflict_flight(const struct standard *standard, enum fault_id fault, const struct flight_class *flight);

#endif
