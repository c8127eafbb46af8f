/* A request's memory: everything taken from an arena is freed with it. Not thread-safe; one owner at a time. */
#ifndef LEADSIDE_BASE_ARENA_H
#define LEADSIDE_BASE_ARENA_H

#include <stddef.h>

struct arena;

/* malloc that counts when there was nothing: every arena's, and jansson's. */
void *arena_malloc(size_t size) __attribute__((warn_unused_result));
/* How often this thread got no memory from it. Whoever finds it grown over a piece of work trusts nothing that came of
 * the work: some of it may be missing without a word. */
unsigned arena_shortages(void);

/* NULL when memory is short. limit = most bytes it may ever hold (0 = no limit). */
struct arena *arena_new(size_t limit);
void arena_free(struct arena *arena);

/* Zeroed, aligned for any type; NULL past the limit or when memory is short. */
void *arena_alloc(struct arena *arena, size_t size) __attribute__((warn_unused_result));
/* The same without the zeroes, for what is written over at once. */
void *arena_take(struct arena *arena, size_t size) __attribute__((warn_unused_result));
/* What was taken (NULL, 0 before) with another size, in its place when nothing was taken after it. Grows only. */
void *arena_resize(struct arena *arena, void *taken, size_t size, size_t wanted) __attribute__((warn_unused_result));
size_t arena_held(const struct arena *arena); /* bytes taken from the system */
char *arena_strdup(struct arena *arena, const char *text) __attribute__((warn_unused_result));
char *arena_strndup(struct arena *arena, const char *text, size_t length) __attribute__((warn_unused_result));
char *arena_printf(struct arena *arena, const char *format, ...)
    __attribute__((format(printf, 2, 3), warn_unused_result));

#endif
