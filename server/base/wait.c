/* See wait.h. */
#include "base/wait.h"

#include <errno.h>
#include <time.h>

void wait_init(pthread_cond_t *condition)
{
    pthread_condattr_t monotonic;
    pthread_condattr_init(&monotonic);
    pthread_condattr_setclock(&monotonic, CLOCK_MONOTONIC);
    pthread_cond_init(condition, &monotonic);
    pthread_condattr_destroy(&monotonic);
}

struct timespec wait_end(int64_t ms)
{
    struct timespec end;
    clock_gettime(CLOCK_MONOTONIC, &end);
    end.tv_sec += (time_t)(ms / 1000);
    end.tv_nsec += (long)(ms % 1000) * 1000000L;
    if (end.tv_nsec >= 1000000000L) {
        end.tv_sec++;
        end.tv_nsec -= 1000000000L;
    }
    return end;
}

bool wait_until(pthread_cond_t *condition, pthread_mutex_t *mutex, const struct timespec *end)
{
    return pthread_cond_timedwait(condition, mutex, end) != ETIMEDOUT;
}
