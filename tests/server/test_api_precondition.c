/* Conditional requests: entity-tags as RFC 9110 has them (8.8.3, 13.1.1, 13.1.2). */
#include <criterion/criterion.h>

#include "api/frame/precondition.h"

static const char *const words[] = {"absent", "matches", "differs", "malformed"};

struct row {
    const char *field, *tag;
    enum precondition strong, weak; /* If-Match by version; If-None-Match */
};

Test(api_precondition, fields_are_judged_as_the_rfc_has_it)
{
    static const struct row rows[] = {
        {NULL, "\"3\"", PRECONDITION_ABSENT, PRECONDITION_ABSENT},
        {"*", "\"3\"", PRECONDITION_MATCHES, PRECONDITION_MATCHES},
        {"\"3\"", "\"3\"", PRECONDITION_MATCHES, PRECONDITION_MATCHES},
        {"\"4\"", "\"3\"", PRECONDITION_DIFFERS, PRECONDITION_DIFFERS},
        {"\"33\"", "\"3\"", PRECONDITION_DIFFERS, PRECONDITION_DIFFERS},
        {"\"\"", "\"3\"", PRECONDITION_DIFFERS, PRECONDITION_DIFFERS},
        {"\"xyzzy\"", "\"3\"", PRECONDITION_DIFFERS, PRECONDITION_DIFFERS},
        {"\"1\", \"3\"", "\"3\"", PRECONDITION_MATCHES, PRECONDITION_MATCHES},
        {"\"1\",,\t\"3\" ,", "\"3\"", PRECONDITION_MATCHES, PRECONDITION_MATCHES},
        {"\"1,3\"", "\"3\"", PRECONDITION_DIFFERS, PRECONDITION_DIFFERS},
        {"W/\"3\"", "\"3\"", PRECONDITION_DIFFERS, PRECONDITION_MATCHES},
        {"W/\"2\", \"3\"", "\"3\"", PRECONDITION_MATCHES, PRECONDITION_MATCHES},
        /* with a hash: the version is what an edit is about, all of it what a reading is about */
        {"\"3-0a\"", "\"3\"", PRECONDITION_MATCHES, PRECONDITION_DIFFERS},
        {"\"3-0a\"", "\"3-0a\"", PRECONDITION_MATCHES, PRECONDITION_MATCHES},
        {"\"3-0a\"", "\"3-0b\"", PRECONDITION_MATCHES, PRECONDITION_DIFFERS},
        {"\"3\"", "\"3-0b\"", PRECONDITION_MATCHES, PRECONDITION_DIFFERS},
        {"\"2-0b\"", "\"3-0b\"", PRECONDITION_DIFFERS, PRECONDITION_DIFFERS},
        {"", "\"3\"", PRECONDITION_MALFORMED, PRECONDITION_MALFORMED},
        {" , ", "\"3\"", PRECONDITION_MALFORMED, PRECONDITION_MALFORMED},
        {"3", "\"3\"", PRECONDITION_MALFORMED, PRECONDITION_MALFORMED},
        {"\"3", "\"3\"", PRECONDITION_MALFORMED, PRECONDITION_MALFORMED},
        {"\"", "\"3\"", PRECONDITION_MALFORMED, PRECONDITION_MALFORMED},
        {"w/\"3\"", "\"3\"", PRECONDITION_MALFORMED, PRECONDITION_MALFORMED},
        {"W/", "\"3\"", PRECONDITION_MALFORMED, PRECONDITION_MALFORMED},
        {"\"3\" \"4\"", "\"3\"", PRECONDITION_MALFORMED, PRECONDITION_MALFORMED},
        {"*, \"3\"", "\"3\"", PRECONDITION_MALFORMED, PRECONDITION_MALFORMED},
        {"\"a b\"", "\"3\"", PRECONDITION_MALFORMED, PRECONDITION_MALFORMED},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const struct row *row = &rows[i];
        const enum precondition strong = precondition_judge(row->field, row->tag, false, true);
        const enum precondition weak = precondition_judge(row->field, row->tag, true, false);
        cr_expect_eq(strong, row->strong, "If-Match: %s beside %s: %s", row->field, row->tag, words[strong]);
        cr_expect_eq(weak, row->weak, "If-None-Match: %s beside %s: %s", row->field, row->tag, words[weak]);
    }
}

Test(api_precondition, a_tag_tells_apart_what_it_is_made_of)
{
    char plain[PRECONDITION_TAG];
    char first[PRECONDITION_TAG];
    char second[PRECONDITION_TAG];
    precondition_tag(7, NULL, 0, plain);
    precondition_tag(7, "{}", 2, first);
    precondition_tag(7, "[]", 2, second);
    cr_assert_str_eq(plain, "\"7\"");
    cr_assert_eq(strncmp(first, "\"7-", 3), 0);
    cr_assert_str_neq(first, second);
    cr_assert_eq(precondition_judge(first, first, false, false), PRECONDITION_MATCHES);
}
