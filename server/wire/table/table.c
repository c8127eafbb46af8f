/* See table.h. libcsv does the reading. */
#include "wire/table/table.h"

#include <csv.h>
#include <stdio.h>
#include <string.h>

#define FORMULA "=+-@\t\r\n"

struct reading {
    struct arena *arena;
    struct table *table;
    int rows_most, cells_most;
    size_t rows_room, cells_room;
    const char **cells;
    int count;  /* of the row that is read */
    int number; /* of the row that is read */
    int last;   /* the character that ended the row before */
    bool no_memory, many_rows, many_cells;
};

/* What it was before table_put kept it from being a formula. */
static const char *unguarded(const char *cell)
{
    return cell[0] == '\'' && cell[1] != '\0' && strchr(FORMULA, cell[1]) != NULL ? cell + 1 : cell;
}

static bool room(struct reading *reading, void **items, size_t *have, size_t item, size_t wanted)
{
    if (wanted <= *have) {
        return true;
    }
    const size_t next = *have == 0 ? 16 : *have * 2;
    void *grown = arena_resize(reading->arena, *items, *have * item, next * item);
    if (grown == NULL) {
        reading->no_memory = true;
        return false;
    }
    *items = grown;
    *have = next;
    return true;
}

static bool stopped(const struct reading *reading)
{
    return reading->no_memory || reading->many_rows || reading->many_cells;
}

static void take_cell(void *bytes, size_t length, void *context)
{
    struct reading *reading = context;
    if (stopped(reading)) {
        return;
    }
    reading->many_cells = reading->count >= reading->cells_most;
    if (reading->many_cells || !room(reading, (void **)&reading->cells, &reading->cells_room, sizeof *reading->cells,
                                     (size_t)reading->count + 1)) {
        return;
    }
    const char *copy = arena_strndup(reading->arena, bytes, length);
    if (copy == NULL) {
        reading->no_memory = true;
        return;
    }
    reading->cells[reading->count++] = unguarded(copy);
}

static void row_keep(struct reading *reading)
{
    struct table *table = reading->table;
    bool empty = true;
    for (int i = 0; i < reading->count; i++) {
        empty = empty && reading->cells[i][0] == '\0';
    }
    if (empty) {
        return;
    }
    reading->many_rows = table->count >= reading->rows_most;
    const char **cells =
        reading->many_rows ? NULL : arena_alloc(reading->arena, (size_t)reading->count * sizeof *cells);
    if (cells == NULL ||
        !room(reading, (void **)&table->rows, &reading->rows_room, sizeof *table->rows, (size_t)table->count + 1)) {
        reading->no_memory = !reading->many_rows;
        return;
    }
    memcpy(cells, reading->cells, (size_t)reading->count * sizeof *cells);
    table->rows[table->count++] =
        (struct table_row){.number = reading->number, .cells = cells, .count = reading->count};
}

/* Empty lines are told as well; the second character of a CR LF is not one. */
static void take_row(int end, void *context)
{
    struct reading *reading = context;
    const bool same_line = reading->count == 0 && reading->last == '\r' && end == '\n';
    reading->last = end;
    if (stopped(reading) || same_line) {
        return;
    }
    row_keep(reading);
    reading->number += !stopped(reading);
    reading->count = 0;
}

static char separator_of(const char *text, size_t length)
{
    int commas = 0;
    int semicolons = 0;
    int tabs = 0;
    bool quoted = false;
    for (size_t i = 0; i < length && (quoted || (text[i] != '\n' && text[i] != '\r')); i++) {
        quoted = quoted != (text[i] == '"');
        commas += !quoted && text[i] == ',';
        semicolons += !quoted && text[i] == ';';
        tabs += !quoted && text[i] == '\t';
    }
    return semicolons > commas && semicolons >= tabs ? ';' : tabs > commas ? '\t' : ',';
}

static bool refuse(char why[TABLE_WHY], const char *what, int row)
{
    if (row > 0) {
        (void)snprintf(why, TABLE_WHY, "row %d: %s", row, what);
    } else {
        (void)snprintf(why, TABLE_WHY, "%s", what);
    }
    return false;
}

static int only_space(unsigned char c)
{
    return c == ' '; /* a tab may separate */
}

bool table_read(const char *text, size_t length, int rows, int cells, struct arena *arena, struct table *out,
                char why[TABLE_WHY])
{
    struct csv_parser parser;
    struct reading reading = {.arena = arena, .table = out, .rows_most = rows, .cells_most = cells, .number = 1};
    *out = (struct table){.count = 0};
    if (length >= 3 && memcmp(text, "\xef\xbb\xbf", 3) == 0) {
        text += 3;
        length -= 3;
    }
    if (!utf8_valid(text, length) || memchr(text, '\0', length) != NULL) {
        return refuse(why, "the file is not UTF-8: save it as \"CSV UTF-8\"", 0);
    }
    out->separator = separator_of(text, length);
    if (csv_init(&parser, CSV_STRICT | CSV_STRICT_FINI | CSV_REPALL_NL) != 0) {
        return refuse(why, "memory is short", 0);
    }
    csv_set_delim(&parser, (unsigned char)out->separator);
    csv_set_space_func(&parser, only_space);
    const bool good = csv_parse(&parser, text, length, take_cell, take_row, &reading) == length &&
                      csv_fini(&parser, take_cell, take_row, &reading) == 0;
    csv_free(&parser);
    return reading.no_memory    ? refuse(why, "memory is short", 0)
           : reading.many_rows  ? refuse(why, "more rows than one import may have", reading.number)
           : reading.many_cells ? refuse(why, "more cells than there may be columns", reading.number)
           : !good              ? refuse(why, "a quote is not closed, or stands within a cell", reading.number)
                                : true;
}

void table_put(struct text *out, const char *cell, bool last)
{
    text_put_char(out, '"');
    if (cell != NULL && cell[0] != '\0' && strchr(FORMULA, cell[0]) != NULL) {
        text_put_char(out, '\'');
    }
    for (; cell != NULL && *cell != '\0'; cell++) {
        if (*cell == '"') {
            text_put_char(out, '"');
        }
        text_put_char(out, *cell);
    }
    text_put(out, last ? "\"\r\n" : "\",");
}
