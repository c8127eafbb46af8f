/* The threads that try a standard on the club's swings, one for each core, or score them anew, two for each: one waits
 * for the disk meanwhile. At idle priority, each with its own reader. They go through the swings page by page, and
 * twice a second keep how far all of them have come: a server that is killed goes on from there. */
#ifndef LEADSIDE_API_CLUB_STANDARD_WORK_H
#define LEADSIDE_API_CLUB_STANDARD_WORK_H

#include <stdbool.h>

struct api;
struct standard_work;

/* How many threads there are at most. */
int standard_work_threads(void);
/* Goes on with a job that was running when the server ended. NULL when memory is short. */
struct standard_work *standard_work_new(struct api *api) __attribute__((warn_unused_result));
/* The store takes no more writes, or soon won't: ends within a page. NULL is fine. */
void standard_work_free(struct standard_work *work);
/* Is there a job, or may there be one? */
bool standard_work_busy(struct standard_work *work);
/* A job was begun or ended: looks what there is to do. */
void standard_work_look(struct standard_work *work);

#endif
