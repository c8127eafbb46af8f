/* The arena: zeroed, aligned, apart, bounded. */
#include <criterion/criterion.h>

#include <stdalign.h>
#include <stdint.h>
#include <string.h>

#include "base/arena.h"

Test(arena, gives_zeroed_aligned_pieces_that_do_not_overlap)
{
    struct arena *arena = arena_new(0);
    unsigned char *taken[200];
    for (int i = 0; i < 200; i++) {
        size_t size = (size_t)(i * 37 + 1);
        taken[i] = arena_alloc(arena, size);
        cr_assert_not_null(taken[i]);
        cr_assert_eq((uintptr_t)taken[i] % alignof(max_align_t), 0);
        for (size_t k = 0; k < size; k++) {
            cr_assert_eq(taken[i][k], 0, "piece %d byte %zu", i, k);
        }
        memset(taken[i], i + 1, size);
    }
    for (int i = 0; i < 200; i++) {
        size_t size = (size_t)(i * 37 + 1);
        cr_assert_eq(taken[i][0], (unsigned char)(i + 1));
        cr_assert_eq(taken[i][size - 1], (unsigned char)(i + 1));
    }
    arena_free(arena);
}

Test(arena, holds_no_more_than_its_limit)
{
    struct arena *arena = arena_new(10000);
    cr_assert_not_null(arena_alloc(arena, 4000));
    cr_assert_null(arena_alloc(arena, 10001));
    size_t taken = 4000;
    while (arena_alloc(arena, 100) != NULL) {
        taken += 100;
        cr_assert_leq(taken, 10000);
    }
    cr_assert_geq(taken, 8000);
    cr_assert_null(arena_alloc(arena, SIZE_MAX));
    arena_free(arena);
    arena_free(NULL);
}

Test(arena, copies_and_prints_text)
{
    struct arena *arena = arena_new(0);
    cr_assert_str_eq(arena_strdup(arena, "grip"), "grip");
    cr_assert_str_eq(arena_strndup(arena, "clubhead", 4), "club");
    cr_assert_str_eq(arena_strdup(arena, ""), "");
    cr_assert_str_eq(arena_printf(arena, "%d of %s", 7, "iron"), "7 of iron");
    char *wide = arena_printf(arena, "%9000d", 1);
    cr_assert_eq(strlen(wide), 9000);
    arena_free(arena);
}
