/* Names and notes: what can't be seen doesn't belong in them. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "base/plain_text.h"

static bool name(const char *text)
{
    char why[PLAIN_WHY];
    return plain_text_check(text, PLAIN_NAME, why);
}

static bool prose(const char *text)
{
    char why[PLAIN_WHY];
    return plain_text_check(text, PLAIN_PROSE, why);
}

Test(plain_text, names_that_people_have)
{
    static const char *const fine[] = {
        "Linnet Tallowmere",
        "Zoë O'Brien-Łukasz",
        "Нина Ёлкина",
        "Ελένη Παππά",
        "陳大文",
        "葛\xf3\xa0\x84\x80城", /* a variant of a character, U+E0100 */
        "محمد العربي",
        "علی\xe2\x80\x8cرضا", /* Persian, with U+200C between letters */
        "ශ්\xe2\x80\x8dරී",     /* Sinhala, with U+200D */
        "ნინო",
        "बच्चा",
        "👩\xe2\x80\x8d🏫 Coach",
        "Bay\xc2\xa0Three",
        "  Wren  ",
        "J. R.",
    };
    for (size_t i = 0; i < sizeof fine / sizeof *fine; i++) {
        cr_assert(name(fine[i]), "row %zu: %s", i, fine[i]);
        cr_assert(prose(fine[i]), "row %zu", i);
    }
}

Test(plain_text, what_no_name_holds)
{
    static const struct {
        const char *text, *why;
    } table[] = {
        {"\x01", "must not hold the control character U+0001"},
        {"Ann\na", "must not hold the control character U+000A"},
        {"Ann\ta", "must not hold the control character U+0009"},
        {"Ann\x7f", "must not hold the control character U+007F"},
        {"Ann\xc2\x85", "must not hold the control character U+0085"},
        {"Ann\xef\xb7\x90", "must not hold the control character U+FDD0"},
        {"Ann\xf0\x9f\xbf\xbf", "must not hold the control character U+1FFFF"},
        {"Ann\xe2\x80\xae"
         "exe",
         "must not hold the invisible character U+202E"},
        {"Ann\xe2\x80\xaa", "must not hold the invisible character U+202A"},
        {"Ann\xe2\x81\xa6", "must not hold the invisible character U+2066"},
        {"Ann\xe2\x81\xa9", "must not hold the invisible character U+2069"},
        {"Ann\xe2\x80\x8e", "must not hold the invisible character U+200E"},
        {"Ann\xe2\x80\x8f", "must not hold the invisible character U+200F"},
        {"\xef\xbb\xbf"
         "Ann",
         "must not hold the invisible character U+FEFF"},
        {"An\xe2\x80\x8bn", "must not hold the invisible character U+200B"},
        {"An\xe2\x80\x8dn", "must not hold the invisible character U+200D"},
        {"Ник\xe2\x80\x8cо", "must not hold the invisible character U+200C"},
        {"\xe2\x80\x8d"
         "Ann",
         "must not hold the invisible character U+200D"},
        {"علی\xe2\x80\x8c\xe2\x80\x8cرضا", "must not hold the invisible character U+200C"},
        {"An\xc2\xadn", "must not hold the invisible character U+00AD"},
        {"Ann\xe2\x80\xa8", "must not hold the invisible character U+2028"},
        {"\xe3\x85\xa4", "must not hold the invisible character U+3164"},
        {"Ann\xf3\xa0\x81\x81", "must not hold the invisible character U+E0041"},
        {" ", "must not be blank"},
        {"\xc2\xa0\xe3\x80\x80", "must not be blank"},
        {"", "must not be blank"},
        {"Ann\xed\xa0\x80", "must be UTF-8 text"}, /* a lone surrogate */
        {"Ann\xc0\x80", "must be UTF-8 text"},     /* NUL in two bytes */
        {"Ann\xe2\x80", "must be UTF-8 text"},
        {"Ann\xff", "must be UTF-8 text"},
        {"Ann\xf4\x90\x80\x80", "must be UTF-8 text"},
        {"Ann\xe0\x80\xae", "must be UTF-8 text"},
    };
    char why[PLAIN_WHY];
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        cr_assert_not(plain_text_check(table[i].text, PLAIN_NAME, why), "row %zu", i);
        cr_assert_str_eq(why, table[i].why, "row %zu: %s", i, why);
    }
}

Test(plain_text, prose)
{
    char text[8] = "a?b";
    cr_assert(prose("First line\nsecond\tline\r\nthird"));
    cr_assert(prose(""));
    cr_assert(prose("שלום \xe2\x80\x8f(1)"), "a mark of direction is fine in running text");
    cr_assert_not(prose("a\rb"), "a carriage return alone is no line end");
    for (int c = 1; c < 0x20; c++) {
        text[1] = (char)c;
        cr_assert_eq(prose(text), c == '\n' || c == '\t', "U+%04X", c);
    }
    cr_assert_not(prose("a\x7f"));
    cr_assert_not(prose("a\xc2\x9b"), "the C1 control that begins a terminal's command");
    cr_assert_not(prose("a\xef\xbf\xbe"));
    cr_assert_not(prose("a\xff"));
}
