/* Tables as spreadsheets exchange them (RFC 4180): read with commas, semicolons or tabs, a byte-order mark and quotes;
 * written so that no cell is taken for a formula. */
#ifndef LEADSIDE_WIRE_TABLE_TABLE_H
#define LEADSIDE_WIRE_TABLE_TABLE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"

#define TABLE_WHY 160

struct table_row {
    int number; /* as a spreadsheet counts: 1 = the first; empty ones count and are left out */
    const char **cells;
    int count;
};

struct table {
    char separator; /* ',', ';' or a tab: whichever the first row has most of */
    struct table_row *rows;
    int count;
};

/* At most `rows` rows of at most `cells` cells; all of it in the arena. A cell that table_put has kept from being a
 * formula is what it was before. False: why is a sentence without a full stop, with the row. */
bool table_read(const char *text, size_t length, int rows, int cells, struct arena *arena, struct table *out,
                char why[TABLE_WHY]) __attribute__((warn_unused_result));

/* One cell in quotes, NULL as an empty one, then a comma or, of the last of a row, the end of the line. Text that a
 * spreadsheet would work out (it begins with = + - @, a tab or a line's end) gets an apostrophe in front. */
void table_put(struct text *out, const char *cell, bool last);

#endif
