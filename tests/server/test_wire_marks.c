/* The body that corrects marks: its document is taken as it stands, and anything else is refused at its place. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "wire/swing/marks.h"

static struct arena *arena;

static void setup(void)
{
    arena = arena_new(0);
}

static void teardown(void)
{
    arena_free(arena);
}

TestSuite(wire_marks, .init = setup, .fini = teardown);

Test(wire_marks, the_document_is_taken_to_the_byte)
{
    static const char body[] =
        " {\"reason\": \"one\\nframe\", \"document\" :\n { \"a\": [1, {\"b\": \"}\"}],\t\"c\":null } }\n";
    static const char document[] = "{ \"a\": [1, {\"b\": \"}\"}],\t\"c\":null }";
    struct swing_marks marks;
    struct wire_error error;
    cr_assert(swing_marks_read(body, sizeof body - 1, arena, &marks, &error), "%s: %s", error.path, error.what);
    cr_assert_eq(marks.document_size, sizeof document - 1);
    cr_assert_eq(memcmp(marks.document, document, sizeof document - 1), 0);
    cr_assert_str_eq(marks.reason, "one\nframe");
}

Test(wire_marks, anything_else_is_refused_at_its_place)
{
    static const struct {
        const char *body, *path, *what;
    } bad[] = {
        {"", "", "object"},
        {"[]", "", "object"},
        {"{}", "", "document"},
        {"{\"document\":{}}", "", "reason"},
        {"{\"reason\":\"x\"}", "", "document"},
        {"{\"document\":{},\"reason\":\"\"}", "reason", "empty"},
        {"{\"document\":{},\"reason\":5}", "reason", "text"},
        {"{\"document\":{},\"reason\":\"a\\u0001\"}", "reason", ""},
        {"{\"document\":[],\"reason\":\"x\"}", "document", "swing document"},
        {"{\"document\":null,\"reason\":\"x\"}", "document", "swing document"},
        {"{\"document\":{\"a\":},\"reason\":\"x\"}", "", ""},
        {"{\"document\":{\"a\":1,\"reason\":\"x\"}", "", ""},
        {"{\"document\":{},\"document\":{},\"reason\":\"x\"}", "document", "twice"},
        {"{\"document\":{},\"reason\":\"x\",\"more\":1}", "more", "not a key"},
        {"{\"document\":{},\"reason\":\"x\"}{", "", "follows"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        struct swing_marks marks;
        struct wire_error error;
        cr_assert_not(swing_marks_read(bad[i].body, strlen(bad[i].body), arena, &marks, &error), "%s", bad[i].body);
        cr_assert_str_eq(error.path, bad[i].path, "%s: %s", bad[i].body, error.what);
        cr_assert_not_null(strstr(error.what, bad[i].what), "%s: %s", bad[i].body, error.what);
    }
    char deep[400] = "{\"reason\":\"x\",\"document\":";
    for (int i = 0; i < 60; i++) {
        strcat(deep, "{\"a\":");
    }
    struct swing_marks marks;
    struct wire_error error;
    cr_assert_not(swing_marks_read(deep, strlen(deep), arena, &marks, &error));
    cr_assert_not_null(strstr(error.what, "deep"), "%s", error.what);
}

Test(wire_marks, a_reason_has_its_length)
{
    char body[2200];
    for (int size = 2000; size <= 2001; size++) {
        struct swing_marks marks;
        struct wire_error error;
        snprintf(body, sizeof body, "{\"document\":{},\"reason\":\"%0*d\"}", size, 1);
        cr_assert_eq(swing_marks_read(body, strlen(body), arena, &marks, &error), size == 2000, "%s", error.what);
    }
}
