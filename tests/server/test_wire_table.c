/* Tables of spreadsheets: separators, quotes, marks, empty lines, limits, and cells that would be formulas. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "wire/table/table.h"

static struct arena *arena;
static struct table table;
static char why[TABLE_WHY];

static void begin(void)
{
    arena = arena_new(0);
}

static void end(void)
{
    arena_free(arena);
}

TestSuite(wire_table, .init = begin, .fini = end);

static bool read_text(const char *text)
{
    return table_read(text, strlen(text), 4, 3, arena, &table, why);
}

static void cells_are(int row, int number, const char *joined)
{
    char got[256] = "";
    cr_assert_lt(row, table.count);
    for (int i = 0; i < table.rows[row].count; i++) {
        (void)snprintf(got + strlen(got), sizeof got - strlen(got), "%s|", table.rows[row].cells[i]);
    }
    cr_expect_str_eq(got, joined);
    cr_expect_eq(table.rows[row].number, number);
}

Test(wire_table, separators_quotes_and_a_mark)
{
    cr_assert(read_text("\xef\xbb\xbf"
                        "a;\"b;\"\"c\"\"\";d\r\n\r\n1 ; 2;\r\n"),
              "%s", why);
    cr_assert_eq(table.separator, ';');
    cr_assert_eq(table.count, 2);
    cells_are(0, 1, "a|b;\"c\"|d|");
    cells_are(1, 3, "1|2||");
    cr_assert(read_text("a\tb\n\"x\ny\"\tz"));
    cells_are(1, 2, "x\ny|z|");
    cr_assert(read_text("a,b;c\n,,\n\n"));
    cr_assert_eq(table.count, 1, "empty rows are left out");
    cr_assert(read_text(""));
    cr_assert_eq(table.count, 0);
}

Test(wire_table, what_is_refused)
{
    cr_assert_not(read_text("a,b\n\"open"));
    cr_assert_str_eq(why, "row 2: a quote is not closed, or stands within a cell");
    cr_assert_not(read_text("a\xff"));
    cr_assert_not(read_text("1\n2\n3\n4\n5"));
    cr_assert_str_eq(why, "row 5: more rows than one import may have");
    cr_assert(read_text("1\n2\n3\n4"));
    cr_assert_not(read_text("a\na,b,c,d"));
    cr_assert_str_eq(why, "row 2: more cells than there may be columns");
    struct arena *small = arena_new(64);
    cr_assert_not(table_read("a,b\nc,d", 7, 4, 3, small, &table, why));
    cr_assert_str_eq(why, "memory is short");
    arena_free(small);
}

Test(wire_table, no_cell_is_a_formula_and_all_come_back)
{
    static const char *const cells[] = {"=cmd",  "+1", "-1", "@x", "\tx", "\rx", "plain", "a \"quoted\", cell",
                                        "'twas", "",   "'"};
    struct text text;
    size_t length;
    for (size_t i = 0; i < sizeof cells / sizeof *cells; i++) {
        text_start(&text, arena, 1000);
        table_put(&text, cells[i], false);
        table_put(&text, "end", true);
        char *row = text_take(&text, &length);
        cr_assert_not_null(row);
        cr_expect_null(strchr("=+-@\t\r\n", row[1]), "%s", row);
        cr_assert(table_read(row, length, 4, 3, arena, &table, why), "%s", why);
        cr_expect_str_eq(table.rows[0].cells[0], cells[i]);
    }
}
