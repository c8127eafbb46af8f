/* Bump allocation in blocks that double: a request takes a few, and gives all back at once. */
#include "base/arena.h"

#include <stdalign.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FIRST_BLOCK 4096u
#define LARGEST_BLOCK ((size_t)256 * 1024)

struct block {
    struct block *next;
    size_t size, used;
    max_align_t data[];
};

struct arena {
    struct block *blocks; /* the newest first; only it is filled */
    size_t held, limit, next_size;
};

static _Thread_local unsigned shortages;

void *arena_malloc(size_t size)
{
    void *memory = malloc(size);
    shortages += memory == NULL;
    return memory;
}

unsigned arena_shortages(void)
{
    return shortages;
}

struct arena *arena_new(size_t limit)
{
    struct arena *arena = arena_malloc(sizeof *arena);
    if (arena == NULL) {
        return NULL;
    }
    *arena = (struct arena){.limit = limit, .next_size = FIRST_BLOCK};
    return arena;
}

void arena_free(struct arena *arena)
{
    if (arena == NULL) {
        return;
    }
    struct block *block = arena->blocks;
    while (block != NULL) {
        struct block *next = block->next;
        free(block);
        block = next;
    }
    free(arena);
}

/* A block that has room for size bytes, within the limit; an oversized request gets a block of its own size. */
static struct block *block_add(struct arena *arena, size_t size)
{
    size_t wanted = size > arena->next_size ? size : arena->next_size;
    if (arena->limit != 0) {
        size_t left = arena->limit - arena->held;
        if (size > left) {
            return NULL;
        }
        if (wanted > left) {
            wanted = left;
        }
    }
    if (wanted > SIZE_MAX - sizeof(struct block)) {
        return NULL;
    }
    struct block *block = arena_malloc(sizeof *block + wanted);
    if (block == NULL) {
        return NULL;
    }
    block->size = wanted;
    block->used = 0;
    block->next = arena->blocks;
    arena->blocks = block;
    arena->held += wanted;
    if (arena->next_size < LARGEST_BLOCK) {
        arena->next_size *= 2;
    }
    return block;
}

void *arena_take(struct arena *arena, size_t size)
{
    const size_t align = alignof(max_align_t);
    if (size > SIZE_MAX - align) {
        return NULL;
    }
    size = size == 0 ? align : (size + align - 1) / align * align;
    struct block *block = arena->blocks;
    if (block == NULL || block->size - block->used < size) {
        block = block_add(arena, size);
        if (block == NULL) {
            return NULL;
        }
    }
    void *taken = (unsigned char *)block->data + block->used;
    block->used += size;
    return taken;
}

void *arena_resize(struct arena *arena, void *taken, size_t size, size_t wanted)
{
    const size_t align = alignof(max_align_t);
    struct block *block = arena->blocks;
    const size_t rounded = (size + align - 1) / align * align;
    const size_t more = wanted <= SIZE_MAX - align ? (wanted + align - 1) / align * align - rounded : SIZE_MAX;
    if (rounded > 0 && (unsigned char *)taken + rounded == (unsigned char *)block->data + block->used &&
        more <= block->size - block->used) {
        block->used += more;
        return taken;
    }
    void *larger = arena_take(arena, wanted);
    if (larger != NULL && size > 0) {
        memcpy(larger, taken, size);
    }
    return larger;
}

size_t arena_held(const struct arena *arena)
{
    return arena->held;
}

void *arena_alloc(struct arena *arena, size_t size)
{
    void *taken = arena_take(arena, size);
    if (taken != NULL) {
        memset(taken, 0, size);
    }
    return taken;
}

char *arena_strndup(struct arena *arena, const char *text, size_t length)
{
    if (length == SIZE_MAX) {
        return NULL;
    }
    char *copy = arena_take(arena, length + 1);
    if (copy != NULL) {
        if (length > 0) {
            memcpy(copy, text, length);
        }
        copy[length] = '\0';
    }
    return copy;
}

char *arena_strdup(struct arena *arena, const char *text)
{
    return arena_strndup(arena, text, strlen(text));
}

char *arena_printf(struct arena *arena, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    va_list again;
    va_copy(again, args);
    int length = vsnprintf(NULL, 0, format, args);
    va_end(args);
    char *text = length < 0 ? NULL : arena_take(arena, (size_t)length + 1);
    if (text != NULL) {
        vsnprintf(text, (size_t)length + 1, format, again);
    }
    va_end(again);
    return text;
}
