/* See load.h. Every piece that is taken while reading stands in a list of its thread's; the first that can't be had
 * ends the reading by a jump, for jansson itself looks at what it got only here and there, and the list is given back.
 */
#include "wire/json/load.h"

#include <setjmp.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include "base/arena.h"

struct piece {
    struct piece *next, **at; /* at: what points here; NULL = in no list */
};
_Static_assert(sizeof(struct piece) % _Alignof(max_align_t) == 0, "what follows must be aligned for any type");

static _Thread_local struct {
    struct piece *first;
    jmp_buf *out; /* NULL: nobody reads */
} reading;

static void *take(size_t size)
{
    struct piece *piece = size > SIZE_MAX - sizeof *piece ? NULL : arena_malloc(sizeof *piece + size);
    if (piece == NULL) {
        if (reading.out != NULL) {
            longjmp(*reading.out, 1);
        }
        return NULL;
    }
    *piece = (struct piece){0};
    if (reading.out != NULL) {
        piece->next = reading.first;
        piece->at = &reading.first;
        if (piece->next != NULL) {
            piece->next->at = &piece->next;
        }
        reading.first = piece;
    }
    return piece + 1;
}

static void give(void *memory)
{
    if (memory == NULL) {
        return;
    }
    struct piece *piece = (struct piece *)memory - 1;
    if (piece->at != NULL) {
        *piece->at = piece->next;
        if (piece->next != NULL) {
            piece->next->at = piece->at;
        }
    }
    free(piece);
}

/* Ends the list; what is in it is freed, or is somebody's from now on. */
static void end(bool freed)
{
    struct piece *piece = reading.first;
    reading.first = NULL;
    reading.out = NULL;
    while (piece != NULL) {
        struct piece *next = piece->next;
        piece->at = NULL;
        if (freed) {
            free(piece);
        }
        piece = next;
    }
}

void json_load_prepare(void)
{
    json_set_alloc_funcs(take, give);
}

void json_text_free(char *text)
{
    json_malloc_t unused;
    json_free_t own;
    json_get_alloc_funcs(&unused, &own);
    if (text != NULL) {
        own(text);
    }
}

json_t *json_load(const char *text, size_t length, size_t flags, json_error_t *error)
{
    jmp_buf out;
    if (setjmp(out) != 0) {
        end(true);
        if (error != NULL) {
            *error = (json_error_t){.text = "memory is short"};
        }
        return NULL;
    }
    reading.first = NULL;
    reading.out = &out;
    json_t *value = json_loadb(text, length, flags, error);
    end(false);
    return value;
}
