/* A table of a spreadsheet. What is read keeps to its limits; written again it holds no formula, and is read as the
 * same. */
#include <string.h>

#include "fuzz.h"
#include "wire/table/table.h"

#define ROWS 50
#define CELLS 8

static void put(struct text *text, const char *cell, bool last)
{
    const size_t before = text->length;
    table_put(text, cell, last);
    fuzz_require(text->failed || strchr("=+-@\t\r\n", text->data[before + 1]) == NULL, "no cell is a formula");
}

static void again(const struct table *table, struct arena *arena)
{
    struct text text;
    struct table twice;
    size_t length;
    char why[TABLE_WHY];
    text_start(&text, arena, TEXT_NO_LIMIT);
    for (int i = 0; i < table->count; i++) {
        for (int k = 0; k < table->rows[i].count; k++) {
            put(&text, table->rows[i].cells[k], k + 1 == table->rows[i].count);
        }
    }
    const char *written = text_take(&text, &length);
    if (table->count == 0) {
        return;
    }
    fuzz_require(written != NULL && table_read(written, length, ROWS, CELLS, arena, &twice, why),
                 "what was written is read");
    fuzz_require(twice.count == table->count, "with as many rows");
    for (int i = 0; i < table->count; i++) {
        fuzz_require(twice.rows[i].count == table->rows[i].count, "as many cells");
        for (int k = 0; k < table->rows[i].count; k++) {
            fuzz_require(strcmp(twice.rows[i].cells[k], table->rows[i].cells[k]) == 0, "and the same in them");
        }
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct arena *arena = arena_new(FUZZ_ARENA_LIMIT);
    struct table table;
    char why[TABLE_WHY] = "";
    fuzz_require(arena != NULL, "memory");
    const bool good = table_read((const char *)data, size, ROWS, CELLS, arena, &table, why);
    fuzz_count("fuzz_table", good);
    if (good) {
        int last = 0;
        fuzz_require(table.count <= ROWS, "no more rows than asked for");
        for (int i = 0; i < table.count; i++) {
            fuzz_require(table.rows[i].count >= 1 && table.rows[i].count <= CELLS && table.rows[i].number > last,
                         "rows keep their bounds and their order");
            last = table.rows[i].number;
        }
        again(&table, arena);
    } else {
        fuzz_require(why[0] != '\0', "a refusal says why");
    }
    arena_free(arena);
    return 0;
}
