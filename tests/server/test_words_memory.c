/* Too little memory for the tables of words, at every allocation that reading them makes: the load says so, and what is
 * said is then the key. Tables are read once a process, so each try is a process of its own. The arena's allocations
 * come here because the program is linked with --wrap, jansson's because it is told to. */
#include <criterion/criterion.h>
#include <jansson.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <unistd.h>

#include "words/words.h"

#define NEVER (-1)
#define TRIES_MAX 200

enum outcome { LOADED = 0, REFUSED = 1, WRONG = 2 };

void *__real_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t count, size_t size);

static long arena_left = NEVER, trees_left = NEVER; /* so many are given yet */

static bool refused(long *left)
{
    *left -= *left > 0;
    return *left == 0;
}

void *__wrap_malloc(size_t size)
{
    return refused(&arena_left) ? NULL : __real_malloc(size);
}

void *__wrap_calloc(size_t count, size_t size)
{
    return refused(&arena_left) ? NULL : __real_calloc(count, size);
}

static void *tree_malloc(size_t size)
{
    return refused(&trees_left) ? NULL : __real_malloc(size);
}

static enum outcome load(void)
{
    const bool loaded = words_load();
    const bool again = words_load();
    arena_left = trees_left = NEVER;
    struct arena *arena = arena_new(0);
    const char *said = words_say(&(struct speaker){arena, words_language("de")}, "dose.check", "n", "3", NULL);
    const bool key = said != NULL && strcmp(said, "dose.check") == 0;
    arena_free(arena);
    return again != loaded || key == loaded ? WRONG : loaded ? LOADED : REFUSED;
}

/* In a process of its own, where the n-th allocation and all after it fail. */
static enum outcome tried(long arena, long trees)
{
    int status = 0;
    const pid_t child = fork();
    if (child == 0) {
        json_set_alloc_funcs(tree_malloc, free);
        arena_left = arena;
        trees_left = trees;
        _exit(load());
    }
    const bool ended = child > 0 && waitpid(child, &status, 0) == child;
    return ended && WIFEXITED(status) ? (enum outcome)WEXITSTATUS(status) : WRONG;
}

Test(words_memory, is_enough_when_nothing_fails)
{
    cr_assert_eq(tried(NEVER, NEVER), LOADED);
}

Test(words_memory, is_short_for_the_tables)
{
    long n = 1;
    enum outcome outcome = REFUSED;
    for (; n < TRIES_MAX && outcome == REFUSED; n++) {
        outcome = tried(n, NEVER);
    }
    cr_assert_eq(outcome, LOADED, "where allocation %ld fails", n - 1);
    cr_assert_gt(n, 5, "the arena was never short");
}

Test(words_memory, is_short_for_the_trees)
{
    long n = 1, tries = 0;
    enum outcome outcome = REFUSED;
    for (; tries < TRIES_MAX && outcome == REFUSED; tries++, n += 1 + n / 4) {
        outcome = tried(NEVER, n);
    }
    cr_assert_eq(outcome, LOADED, "after %ld tries", tries);
    cr_assert_gt(tries, 20, "the trees were never short");
}
