/* The one front door: swings of one player + a house standard -> a report. Pure, reentrant, allocates nothing.
 * A report is a few kilobytes; the caller owns it. */
#ifndef LEADSIDE_CORE_SCORE_H
#define LEADSIDE_CORE_SCORE_H

#include "core/camera.h"
#include "core/fault.h"
#include "core/finder/check.h"
#include "core/firstfix.h"
#include "core/flight.h"
#include "core/measure/measure.h"
#include "core/practice.h"
#include "core/standard.h"
#include "core/swing.h"

#define SCORE_SWINGS_MAX 50
#define SCORE_DRILLS_MAX 2

struct score_player {
    enum sex sex;
    int age_years; /* < 0: unknown */
    struct maybe height_m;
    unsigned pain;       /* enum area bits */
    unsigned kit, place; /* 0 = any */
    /* The student's own swing-to-swing sd, once five swings are known; not given = the standard's default. */
    struct maybe spread[MEASURE_COUNT];
};

struct report {
    int swing_count;
    bool habit;           /* three swings or more: speaks of the player's habit; else of these swings only */
    struct player player; /* what ranges were chosen by; club any = unknown, or of several kinds */
    struct measure_set measures;
    int observed_in[MEASURE_COUNT];            /* in how many swings */
    struct judged_range ranges[MEASURE_COUNT]; /* that applied; the mean of the swings' clubs' where they differ */
    double severity[MEASURE_COUNT];            /* the worse side */
    struct camera_findings camera;
    struct mark_findings marks;                             /* that do not fit the others, of each swing */
    const struct motion_summary *motions[SCORE_SWINGS_MAX]; /* of each swing, NULL = none; borrowed from the swings */
    struct flight_class flight;
    struct fault_result faults[FAULT_COUNT];
    struct first_fixes fixes;
    bool unsteady; /* a balance drill needs the coach's word */
    int drill_count[FIRSTFIX_MAX];
    struct practice_pick drills[FIRSTFIX_MAX][SCORE_DRILLS_MAX]; /* indices into the drills given */
};

/* What ranges are chosen by, of a player with this kind of club. */
struct player score_class(const struct score_player *player, enum club_class club);

/* Scores 1...SCORE_SWINGS_MAX swings together: measures averaged, random part sqrt((sd^2 + spread^2) / n) for three
 * swings or more (sd / sqrt(n) for fewer: those speak of themselves), systematic part whole. Faults are judged with the
 * spread from the first swing on, for a fix is for the player's next swings: more of the same never says less. Each
 * swing goes by its own club's range: a mean value is held against the mean of the ranges, whatever the order.
 * drills may be NULL with drill_count 0. */
void score_swings(const struct swing *const *swings, int count, const struct standard *standard,
                  const struct score_player *player, const struct drill *drills, int drill_count, struct report *out);

/* What no standard changes of one swing: with it the swing is judged again without its pictures and marks. */
struct score_kept {
    enum club_class club;
    struct measure_set measures; /* of each: value, both sd, source, marks, clipped, guessed, suspect */
    bool has_flight;
    struct swing_flight flight;
    int seen_count; /* each fault named, with a word */
    struct seen_fault seen[FAULT_COUNT];
    struct camera_findings camera;
    struct mark_findings marks;
    const struct motion_summary *motion; /* NULL = none; borrowed */
};

/* Of a report on this swing alone. */
void score_keep(const struct report *report, const struct swing *swing, struct score_kept *out);
/* The report that score_swings would give on the same swings, to the last digit. */
void score_again(const struct score_kept *const *kept, int count, const struct standard *standard,
                 const struct score_player *player, const struct drill *drills, int drill_count, struct report *out);

#endif
