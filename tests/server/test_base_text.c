/* The growing text: its limit, its failure, its NUL; UTF-8 step by step. */
#include <criterion/criterion.h>

#include <stdint.h>
#include <string.h>

#include "base/text.h"

Test(text, grows_and_is_always_ended)
{
    struct arena *arena = arena_new(0);
    struct text text;
    size_t length = 7;
    text_start(&text, arena, TEXT_NO_LIMIT);
    for (int i = 0; i < 5000; i++) {
        text_printf(&text, "%d,", i % 10);
        cr_assert_eq(strlen(text.data), text.length);
        text_put(&text, "ab");
        text_put_n(&text, "cde", 1);
        text_put_char(&text, '.');
        if (i % 100 == 0) {
            cr_assert_not_null(arena_alloc(arena, 40)); /* something taken behind it */
        }
    }
    char *all = text_take(&text, &length);
    cr_assert_not_null(all);
    cr_assert_eq(length, 5000 * 6);
    cr_assert_eq(strlen(all), length);
    cr_assert_eq(memcmp(all, "0,abc.1,abc.", 12), 0);
    arena_free(arena);
}

Test(text, that_nothing_was_put_into_is_empty)
{
    struct arena *arena = arena_new(0);
    struct text text;
    text_start(&text, arena, 0);
    text_put(&text, "");
    char *all = text_take(&text, NULL);
    cr_assert_str_eq(all, "");
    arena_free(arena);
}

Test(text, keeps_its_limit_and_stays_failed)
{
    struct arena *arena = arena_new(0);
    struct text text;
    size_t length = 7;
    text_start(&text, arena, 10);
    text_put(&text, "0123456789");
    cr_assert_not_null(text_take(&text, &length));
    cr_assert_eq(length, 10);
    text_put_char(&text, 'x');
    text_put(&text, "");
    cr_assert_null(text_take(&text, &length));
    cr_assert_eq(length, 0);
    text_start(&text, arena, 1000);
    text_put(&text, "a");
    text_put(&text, NULL);
    text_put(&text, "b");
    text_printf(&text, "c");
    cr_assert_null(text_take(&text, NULL));
    arena_free(arena);
}

Test(text, fails_where_the_arena_does)
{
    struct arena *arena = arena_new(3000);
    struct text text;
    text_start(&text, arena, TEXT_NO_LIMIT);
    for (int i = 0; i < 4000; i++) {
        text_put_char(&text, 'x');
    }
    cr_assert_null(text_take(&text, NULL));
    arena_free(arena);
}

Test(arena, grows_the_last_piece_in_its_place_and_moves_others)
{
    struct arena *arena = arena_new(0);
    char *first = arena_resize(arena, NULL, 0, 100);
    memset(first, 'a', 100);
    cr_assert_eq(arena_resize(arena, first, 100, 500), first);
    memset(first + 100, 'b', 400);
    char *behind = arena_alloc(arena, 10);
    char *moved = arena_resize(arena, first, 500, 900);
    cr_assert_neq(moved, first);
    cr_assert_eq(memcmp(moved, first, 500), 0);
    memset(moved, 'c', 900);
    cr_assert_eq(behind[9], 0);
    cr_assert_null(arena_resize(arena, moved, 900, SIZE_MAX));
    arena_free(arena);
}

/* Every character there is, out and in again; what stands between them is none. */
Test(utf8, takes_every_character_and_no_other)
{
    for (uint32_t code = 0; code <= 0x10ffff; code++) {
        char bytes[4];
        uint32_t back = UINT32_MAX;
        const size_t length = utf8_write(code, bytes);
        const bool surrogate = code >= 0xd800 && code < 0xe000;
        cr_assert_eq(utf8_step(bytes, length, &back), surrogate ? 0 : length, "U+%04X", (unsigned)code);
        if (!surrogate) {
            cr_assert_eq(back, code);
            cr_assert(length == 1 || utf8_step(bytes, length - 1, &back) == 0, "cut U+%04X", (unsigned)code);
        }
    }
}

Test(utf8, refuses_what_is_overlong_outside_or_alone)
{
    static const char *const bad[] = {"\x80",
                                      "\xbf",
                                      "\xc0\x80",
                                      "\xc1\xbf",
                                      "\xe0\x9f\xbf",
                                      "\xed\xa0\x80",
                                      "\xf0\x8f\xbf\xbf",
                                      "\xf4\x90\x80\x80",
                                      "\xf5\x80\x80",
                                      "\xff",
                                      "\xc3",
                                      "\xe2\x82",
                                      "\xc3(",
                                      "\xe2(\x82",
                                      "\xf0\x9f\x8f"};
    uint32_t code;
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        cr_assert_eq(utf8_step(bad[i], SIZE_MAX, &code), 0, "%zu", i);
        cr_assert_not(utf8_valid(bad[i], strlen(bad[i])), "%zu", i);
    }
    cr_assert(utf8_valid("gr\xc3\xbc\xc3\x9f \xe2\x9b\xb3 \xf0\x9f\x8f\x8c", 16));
}
