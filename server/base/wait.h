/* Waiting for a condition with an end: by the monotonic clock, so that a wall clock that is set back puts nothing off.
 */
#ifndef LEADSIDE_BASE_WAIT_H
#define LEADSIDE_BASE_WAIT_H

#include <pthread.h>
#include <stdbool.h>
#include <stdint.h>

/* Instead of pthread_cond_init, for every condition that is given to wait_until. */
void wait_init(pthread_cond_t *condition);
/* The end of a wait that begins now. */
struct timespec wait_end(int64_t ms);
/* With the mutex held. False when the end has come; may return true with nothing changed, as pthread_cond_wait. */
bool wait_until(pthread_cond_t *condition, pthread_mutex_t *mutex, const struct timespec *end);

#endif
