/* The messages as the program says them: which language, which form, what is filled in, and what stands in for a gap.
 */
#include <criterion/criterion.h>

#include "words/words.h"

Test(words, are_chosen_by_the_weights_of_a_header)
{
    static const struct {
        const char *header, *tag;
    } rows[] = {{NULL, "en"},
                {"", "en"},
                {"de", "de"},
                {"DE-at", "de"},
                {"de_DE.UTF-8", "de"},
                {"fr", "en"},
                {"fr, de;q=0.3", "de"},
                {"fr;q=1, de;q=0.3, en;q=0.7", "en"},
                {"en;q=0.7,de;q=0.8", "de"},
                {"en;q=0.8, de;q=0.8", "en"},
                {"de;q=0.8, en;q=0.8", "de"},
                {"de-CH ; q=0.9 , en-GB;q=0.91", "en"},
                {"*", "en"},
                {"de, *;q=0.5", "de"},
                {"de;q=0", "en"},
                {"de;q=0.000, *", "en"},
                {"en;q=0, de;q=0.001", "de"},
                {"de;q=nan, en;q=0.1", "en"},
                {"de;q=2, en;q=0.1", "en"},
                {"deu", "en"},
                {"d", "en"},
                {"he-IL, en;q=0.5", "he"},
                {",,;q=1,de", "de"}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        cr_assert_str_eq(words_tag(words_language(rows[i].header)), rows[i].tag, "%s", rows[i].header);
    }
}

Test(words, are_filled_and_take_the_form_of_their_number)
{
    struct arena *arena = arena_new(0);
    const struct speaker english = {arena, NULL};
    const struct speaker german = {arena, words_language("de")};
    cr_assert_str_eq(words_say(&english, "dose.check", "n", "1", NULL), "Check yourself at every try.");
    cr_assert_str_eq(words_say(&english, "dose.check", "n", "3", NULL), "Check yourself every 3 tries.");
    cr_assert_str_eq(words_say(&german, "dose.check", "n", "1", NULL), "Prüfen Sie sich bei jedem Versuch.");
    cr_assert_str_eq(words_say(&german, "dose.check", "n", "11", NULL), "Prüfen Sie sich alle 11 Versuche.");
    cr_assert_str_eq(words_say(&english, "measure.between", "high", "{low}", "low", "1", NULL), "1 to {low}");
    cr_assert_str_eq(words_say(&english, "measure.between", "low", "1", NULL), "1 to {high}");
    cr_assert_str_eq(words_say_code(&german, "severity.", "strong"), "stark");
    cr_assert_null(words_say(&english, "measure.between", "low", NULL, "high", "2", NULL), "a value that is not there");
    arena_free(arena);
}

Test(words, say_a_key_that_nobody_has_and_no_soft_hyphen)
{
    struct arena *arena = arena_new(0);
    const struct speaker german = {arena, words_language("de")};
    cr_assert_str_eq(words_say(&german, "no.such.key", NULL), "no.such.key");
    cr_assert_str_eq(words_say_code(&german, "checkpoint.", "address"), "Ansprechen");
    cr_assert_str_eq(words_say_code(&german, "checkpoint.", "arm_back"), "vorderer Arm waagerecht im Rückschwung");
    arena_free(arena);
}

Test(words, write_numbers_lists_and_beginnings_as_the_language_does)
{
    static const char *const three[] = {"a", "b", "c"};
    struct arena *arena = arena_new(0);
    const struct speaker english = {arena, NULL};
    const struct speaker german = {arena, words_language("de")};
    cr_assert_str_eq(words_number(&english, 1.25, 2), "1.25");
    cr_assert_str_eq(words_number(&german, 1.25, 2), "1,25");
    cr_assert_str_eq(words_number(&german, -0.04, 1), "0,0");
    cr_assert_str_eq(words_number(&german, 1234, 0), "1234");
    cr_assert_str_eq(words_list(&english, three, 3, 0), "a, b and c");
    cr_assert_str_eq(words_list(&german, three, 3, 1), "a, b oder c");
    cr_assert_str_eq(words_list(&german, three, 2, 0), "a und b");
    cr_assert_str_eq(words_list(&german, three, 1, 0), "a");
    cr_assert_str_eq(words_list(&german, three, 0, 0), "");
    cr_assert_str_eq(words_tags(&german), "de, en oder he");
    cr_assert_str_eq(words_capital(&german, "überkreuzt"), "Überkreuzt");
    cr_assert_str_eq(words_capital(&german, "ein"), "Ein");
    cr_assert_str_eq(words_capital(&german, "÷"), "÷");
    cr_assert_str_eq(words_capital(&german, ""), "");
    arena_free(arena);
}

Test(words, give_nothing_rather_than_a_part_when_memory_is_short)
{
    struct arena *small = arena_new(64);
    while (arena_alloc(small, 1) != NULL) {
    }
    const struct speaker speaker = {small, NULL};
    cr_assert_null(words_say(&speaker, "measure.between", "low", "1", "high", "2", NULL));
    cr_assert_null(words_say_code(&speaker, "severity.", "strong"));
    cr_assert_null(words_number(&speaker, 1, 0));
    cr_assert_null(words_capital(&speaker, "a"));
    arena_free(small);
}
