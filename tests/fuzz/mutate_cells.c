/* A mutator of tables of text: it changes cells and lines, so that what comes out is still a table. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "fuzz.h"

/* xorshift: every choice comes from libFuzzer's seed. */
static uint32_t choose(uint32_t *state, uint32_t below)
{
    uint32_t x = *state;
    x ^= x << 13U;
    x ^= x >> 17U;
    x ^= x << 5U;
    *state = x;
    return below == 0 ? 0 : x % below;
}

struct piece {
    size_t from, to;
};

static bool parts(uint8_t byte, bool lines)
{
    return byte == '\n' || (!lines && (byte == '\t' || byte == '\r'));
}

/* The line or the cell about a place, without what parts it from the next. */
static struct piece about(const uint8_t *data, size_t size, size_t at, bool lines)
{
    struct piece piece = {at, at};
    while (piece.from > 0 && !parts(data[piece.from - 1], lines)) {
        piece.from--;
    }
    while (piece.to < size && !parts(data[piece.to], lines)) {
        piece.to++;
    }
    return piece;
}

/* Writes text over a piece; gives the new size, or 0 when it does not fit. */
static size_t replace(uint8_t *data, size_t size, size_t max_size, struct piece piece, const char *text, size_t length)
{
    const size_t rest = size - piece.to;
    if (piece.from + length + rest > max_size) {
        return 0;
    }
    memmove(data + piece.from + length, data + piece.to, rest);
    memcpy(data + piece.from, text, length);
    return piece.from + length + rest;
}

static size_t cell_change(uint8_t *data, size_t size, size_t max_size, uint32_t *state)
{
    static const char *const odd[] = {"", "0", "-0", "nan", "inf", "1e5", "-1e9", "1e-300", "x", " 1 ", "1,5", "99999"};
    char text[64];
    const struct piece cell = about(data, size, choose(state, (uint32_t)size), false);
    const size_t length = cell.to - cell.from;
    if (choose(state, 8) == 0 || length == 0 || length >= sizeof text) {
        const char *word = odd[choose(state, sizeof odd / sizeof *odd)];
        return replace(data, size, max_size, cell, word, strlen(word));
    }
    memcpy(text, data + cell.from, length);
    text[length] = '\0';
    char *end;
    const double value = strtod(text, &end);
    if (*end != '\0') { /* a name: often another one of the file's */
        const struct piece other = about(data, size, choose(state, (uint32_t)(size < 600 ? size : 600)), false);
        if (other.to - other.from >= sizeof text) {
            return 0;
        }
        memcpy(text, data + other.from, other.to - other.from);
        return replace(data, size, max_size, cell, text, other.to - other.from);
    }
    const double steps[] = {value * (0.9 + choose(state, 1000) / 5000.0),
                            value + choose(state, 200) - 100.0,
                            -value,
                            value + 1,
                            value * 0.001,
                            value * 1000};
    const int wrote = snprintf(text, sizeof text, "%.6g", steps[choose(state, 6)]);
    return replace(data, size, max_size, cell, text, (size_t)wrote);
}

/* A line goes, is doubled, or is written over by another one. */
static size_t line_change(uint8_t *data, size_t size, size_t max_size, uint32_t *state)
{
    struct piece line = about(data, size, choose(state, (uint32_t)size), true);
    const struct piece other = about(data, size, choose(state, (uint32_t)size), true);
    const uint32_t kind = choose(state, 3);
    if (kind == 0) {
        line.to += line.to < size;
        return replace(data, size, max_size, line, "", 0);
    }
    const size_t length = other.to - other.from;
    char *text = malloc(length + 1);
    if (text == NULL) {
        return 0;
    }
    memcpy(text, data + other.from, length);
    text[length] = '\n';
    if (kind == 1) {
        line.to = line.from;
    }
    const size_t wrote = replace(data, size, max_size, line, text, length + (kind == 1));
    free(text);
    return wrote;
}

size_t fuzz_cells_mutate(uint8_t *data, size_t size, size_t max_size, uint32_t seed)
{
    uint32_t state = seed * 2654435761U | 1U;
    const uint32_t kind = choose(&state, 8);
    if (size == 0 || kind == 0) {
        return 0; /* bytes need their turn too */
    }
    return kind == 1 ? line_change(data, size, max_size, &state) : cell_change(data, size, max_size, &state);
}
