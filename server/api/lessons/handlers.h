/* The handlers of this aisle, file by file: swings, stills, lessons, notes, marker names.
 * Each answers its call exactly once, or parks it; routes.c has them on its rows. */
#ifndef LEADSIDE_API_LESSONS_HANDLERS_H
#define LEADSIDE_API_LESSONS_HANDLERS_H

struct call;

/* notes.c */
void notes_list(struct call *call);
void notes_get(struct call *call);
void notes_create(struct call *call);

/* swings.c */
void swings_create(struct call *call);
void swings_list(struct call *call);
void swings_get(struct call *call);
void swings_report(struct call *call);
void swings_file(struct call *call);

/* edits.c */
void swings_correct(struct call *call);
void swings_void(struct call *call);
void swings_move(struct call *call);

/* revisions.c */
void revisions_list(struct call *call);
void revisions_get(struct call *call);

/* opinions.c */
void opinions_list(struct call *call);
void opinions_put(struct call *call);

/* stills.c */
void stills_list(struct call *call);
void stills_get(struct call *call);
void stills_put(struct call *call);
void stills_remove(struct call *call);

/* lessons.c */
void lessons_create(struct call *call);
void lessons_list(struct call *call);
void lessons_report(struct call *call);

/* markers.c */
void markers_get(struct call *call);
void markers_put(struct call *call);

#endif
