/* No memory for Argon2 is not a wrong password. */
#include <criterion/criterion.h>
#include <errno.h>
#include <pthread.h>
#include <stdio.h>
#include <string.h>
#include <sys/resource.h>
#include <unistd.h>

#include "auth/password.h"

static struct rlimit before;

/* From here on the process may grow by 8 MiB: Argon2's 19 are not to be had. */
static void memory_short(void)
{
    struct rlimit limit;
    unsigned long pages = 0;
    FILE *file = fopen("/proc/self/statm", "r");
    cr_assert(file != NULL && fscanf(file, "%lu", &pages) == 1 && fclose(file) == 0);
    cr_assert_eq(getrlimit(RLIMIT_AS, &before), 0);
    limit = before;
    limit.rlim_cur = (rlim_t)pages * (rlim_t)sysconf(_SC_PAGESIZE) + ((rlim_t)8 << 20);
    cr_assert_eq(setrlimit(RLIMIT_AS, &limit), 0);
}

static void memory_back(void)
{
    (void)setrlimit(RLIMIT_AS, &before);
}

Test(password, short_memory_is_told_apart)
{
    char hash[PASSWORD_HASH_TEXT];
    cr_assert(password_hash(NULL, "two wide pines", hash));
    memory_short();
    const bool right = password_verify(hash, "two wide pines");
    const int why = errno;
    memory_back();
    cr_assert_not(right);
    cr_assert_eq(why, ENOMEM, "errno is %d", why);
    cr_assert_not(password_verify(hash, "two wide pinez"));
    cr_assert_neq(errno, ENOMEM, "a wrong password");
    errno = ENOMEM;
    cr_assert_not(password_verify("$argon2id$nonsense", "two wide pines"));
    cr_assert_neq(errno, ENOMEM, "no hash");
    errno = ENOMEM;
    cr_assert_not(password_verify(hash, ""));
    cr_assert_neq(errno, ENOMEM);
    cr_assert(password_verify(hash, "two wide pines"));
}

struct seen {
    pthread_mutex_t mutex;
    pthread_cond_t cond;
    int count;
    struct password_outcome last;
};

static void note(const struct password_outcome *outcome, void *argument)
{
    struct seen *seen = argument;
    pthread_mutex_lock(&seen->mutex);
    seen->last = *outcome;
    seen->count++;
    pthread_cond_signal(&seen->cond);
    pthread_mutex_unlock(&seen->mutex);
}

static struct password_outcome wait_for(struct seen *seen, int count)
{
    pthread_mutex_lock(&seen->mutex);
    while (seen->count < count) {
        pthread_cond_wait(&seen->cond, &seen->mutex);
    }
    struct password_outcome out = seen->last;
    pthread_mutex_unlock(&seen->mutex);
    return out;
}

Test(password, the_hash_thread_says_so)
{
    struct seen seen = {.mutex = PTHREAD_MUTEX_INITIALIZER, .cond = PTHREAD_COND_INITIALIZER};
    struct password_pool *pool = password_pool_new(NULL, 0);
    char hash[PASSWORD_HASH_TEXT];
    cr_assert(pool != NULL && password_hash(NULL, "two wide pines", hash));
    cr_assert(password_verify_async(pool, hash, "two wide pinez", note, &seen));
    cr_assert_not(wait_for(&seen, 1).no_memory, "wrong is wrong");
    memory_short();
    const bool taken = password_verify_async(pool, hash, "two wide pines", note, &seen);
    const struct password_outcome verified = wait_for(&seen, 2);
    const bool also = password_verify_async(pool, NULL, "two wide pines", note, &seen);
    const struct password_outcome nobody = wait_for(&seen, 3);
    const bool last = password_hash_async(pool, "two wide pines", note, &seen);
    const struct password_outcome hashed = wait_for(&seen, 4);
    memory_back();
    cr_assert(taken && also && last);
    cr_assert(verified.no_memory && !verified.right);
    cr_assert(nobody.no_memory && !nobody.right, "also for a name that nobody has");
    cr_assert(hashed.no_memory && !hashed.right);
    cr_assert(password_verify_async(pool, hash, "two wide pines", note, &seen));
    cr_assert(wait_for(&seen, 5).right, "and later all is well");
    password_pool_free(pool);
}
