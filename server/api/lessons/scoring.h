/* A student as the core sees one, and documents judged by the club's rules. Used for swings and for lessons. */
#ifndef LEADSIDE_API_LESSONS_SCORING_H
#define LEADSIDE_API_LESSONS_SCORING_H

#include "api/frame/call.h"
#include "store/lessons/swing.h"
#include "wire/report/pack.h"
#include "wire/swing/read.h"

#define SCORING_OWN_SWINGS 5      /* of one day; fewer say nothing about a player's own spread */
#define SCORING_OWN_SWINGS_MAX 20 /* the newest ones count */

struct scored_student {
    struct store_student student;
    struct score_player player;
    bool unsteady; /* a balance drill needs a word; set where drills are chosen */
};

/* The student as kept now: sex, age, what hurts. */
void scoring_player(const struct store_student *student, int64_t now, struct score_player *out);

/* Reads the call's student. False and already answered when that fails. */
bool scoring_start(struct call *call, struct scored_student *out) __attribute__((warn_unused_result));

/* Which version of the standard is asked for (?standard=); 0 = whatever is newest. False and already answered when it
 * is no number. */
bool scoring_standard_asked(struct call *call, int64_t *out) __attribute__((warn_unused_result));

/* Swings of a junior are kept once a guardian has agreed. False: answered 409. */
bool scoring_may_keep(struct call *call, const struct scored_student *scored) __attribute__((warn_unused_result));

/* The player's own swing-to-swing sd of every measure: pooled within days (of one kind of club each, of the set bits
 * 1 << enum club_class), since learning and a camera set up anew are no part of it, from as much as five swings of one
 * day say; what measuring adds is taken off. Reads the newest reports; leaves the spread as it is when there are too
 * few. instead (may be NULL): the report of one swing that is about to be kept, without text when that swing is about
 * not to count; its recorded_at is filled in. */
enum store_status scoring_own_spread(struct store_db *db, struct arena *arena, const char *student_id, unsigned clubs,
                                     const struct store_report *instead, struct score_player *player)
    __attribute__((warn_unused_result));

/* One report on count documents together: its text and its measures, in the arena, and the standard's number go into
 * out. False when memory is short. */
bool scoring_report(const struct scored_student *scored, const struct rules_cache *rules,
                    struct swing_document *const *documents, int count, struct arena *arena, struct store_report *out)
    __attribute__((warn_unused_result));
/* The same report from what is kept whole of 1...SCORE_SWINGS_MAX swings. On one of them what is kept beside it is what
 * was, and is left to the caller. */
bool scoring_again(const struct scored_student *scored, const struct rules_cache *rules, const struct report_kept *kept,
                   int count, struct arena *arena, struct store_report *out) __attribute__((warn_unused_result));

#endif
