/* Does the ball do on the course what it does on the range? Where it starts, how it curves and how it is struck,
 * counted day by day in both places and set side by side.
 *
 * Another pattern is said of what differs by both of two tests, the exact one and the one that knows that days differ
 * (core/counts.h), of three kinds of count by Holm 1979, and only where one class stands out by itself: told of about
 * one in twenty at most who play the same in both places (simulated: .9 % to 5.7 %, the more the more alike a day's
 * shots). */
#ifndef LEADSIDE_CORE_TRANSFER_H
#define LEADSIDE_CORE_TRANSFER_H

#include "core/counts.h"
#include "core/flight.h"

#define TRANSFER_ASPECT_NAMES(X)                                                                                       \
    X(TRANSFER_START, "start")                                                                                         \
    X(TRANSFER_CURVE, "curve")                                                                                         \
    X(TRANSFER_STRIKE, "strike")

enum transfer_aspect { TRANSFER_ASPECT_NAMES(NAMES_ENUM) TRANSFER_ASPECT_COUNT };

#define TRANSFER_PLACE_NAMES(X)                                                                                        \
    X(TRANSFER_COURSE, "course")                                                                                       \
    X(TRANSFER_RANGE, "range")

enum transfer_place { TRANSFER_PLACE_NAMES(NAMES_ENUM) TRANSFER_PLACE_COUNT };

#define TRANSFER_VERDICT_NAMES(X)                                                                                      \
    X(TRANSFER_TOO_FEW, "too_few")                                                                                     \
    X(TRANSFER_NO_DIFFERENCE, "no_sure_difference")                                                                    \
    X(TRANSFER_ANOTHER, "another_pattern")

enum transfer_verdict { TRANSFER_VERDICT_NAMES(NAMES_ENUM) TRANSFER_VERDICT_COUNT };

/* In either place; less says nothing (common practice). */
#define TRANSFER_SHOTS_MIN 20
#define TRANSFER_DAYS_MIN 2
#define TRANSFER_LEVEL 0.05
#define TRANSFER_DAYS_MAX 240
/* What is taken for known of days before any is seen: two shots of one day have .03 in common, as sure as eight degrees
 * of freedom of days of eleven shots say (common practice). */
#define TRANSFER_DAYS_BEFORE                                                                                           \
    {                                                                                                                  \
        .excess = 2.4, .weight = 80, .freedom = 8                                                                      \
    }

/* Left, straight, right; flush, thin (topped as well), fat, off_centre (heel, toe). NULL beyond the last. */
const char *transfer_class_name(enum transfer_aspect aspect, int at);

/* One day in one place. */
struct transfer_day {
    enum transfer_place place;
    struct counts_row counts[TRANSFER_ASPECT_COUNT];
};

/* Counts a shot; what was not seen of it is left out. */
void transfer_count(struct transfer_day *day, const struct flight_class *shot);

struct transfer_finding {
    enum transfer_verdict verdict;
    struct counts_row counts[TRANSFER_PLACE_COUNT];
    /* meaningless when there are too few: */
    double p;                            /* that one pattern gives what differs as much */
    int stands_out;                      /* the class that differs most surely */
    struct counts_difference difference; /* of its share, on the course - on the range */
};

struct transfer {
    enum transfer_verdict verdict; /* another pattern: of one aspect at least */
    int days[TRANSFER_PLACE_COUNT];
    double same_day; /* how much two shots of one day have in common, 0...1 */
    struct transfer_finding findings[TRANSFER_ASPECT_COUNT];
};

/* At most TRANSFER_DAYS_MAX days, none of them twice in one place; at most COUNTS_ROW_MAX shots in each place. */
void transfer_compare(const struct transfer_day *days, int count, struct transfer *out);

const char *transfer_aspect_name(enum transfer_aspect value);   /* "start", "curve", "strike" */
const char *transfer_place_name(enum transfer_place value);     /* "course", "range" */
const char *transfer_verdict_name(enum transfer_verdict value); /* "too_few", ... */

#endif
