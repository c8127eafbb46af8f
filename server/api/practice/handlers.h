/* The handlers of this aisle, file by file: fixes, drills, homework, progress, rounds, calendar feeds.
 * Each answers its call exactly once, or parks it; routes.c has them on its rows. */
#ifndef LEADSIDE_API_PRACTICE_HANDLERS_H
#define LEADSIDE_API_PRACTICE_HANDLERS_H

struct call;

/* calendar.c */
void calendar_create(struct call *call);
void calendar_remove(struct call *call);
void calendar_get(struct call *call);

/* progress.c */
void progress_get(struct call *call);

/* retests.c */
void retests_list(struct call *call);
void retests_due(struct call *call);
void retests_move(struct call *call);

/* fix_open.c */
void fixes_create(struct call *call);

/* fixes.c */
void fixes_list(struct call *call);
void fixes_get(struct call *call);
void fixes_update(struct call *call);

/* drills.c */
void drills_list(struct call *call);
void drills_get(struct call *call);
void drills_create(struct call *call);
void drills_update(struct call *call);

/* homework.c */
void homework_mine(struct call *call);
void homework_of_student(struct call *call);
void homework_get(struct call *call);

/* homework_tick.c */
void homework_done(struct call *call);
void homework_undo(struct call *call);
void homework_update(struct call *call);

/* effect.c */
void drills_effect(struct call *call);

/* rounds.c */
void rounds_create(struct call *call);
void rounds_list(struct call *call);
void rounds_get(struct call *call);
void rounds_remove(struct call *call);

/* transfer.c */
void transfer_get(struct call *call);

/* repeats.c */
void reliability_get(struct call *call);

#endif
