/* What the readers of a swing document's parts share: paths, complaints, keys and limited numbers. */
#include "wire/swing/parts.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

bool swing_refuse(struct swing_reader *reader, const struct wire_at *place, const char *format, ...)
{
    if (reader->failed) {
        return false;
    }
    reader->failed = true;
    char what[sizeof reader->error->what];
    va_list args;
    va_start(args, format);
    int wrote = vsnprintf(what, sizeof what, format, args);
    va_end(args);
    return wire_fail(reader->error, place, "%s", wrote < 0 ? "" : what);
}

bool swing_refuse_json(struct swing_reader *reader, const struct wire_at *place)
{
    int line;
    int column;
    json_in_where(&reader->in, &line, &column);
    return swing_refuse(reader, place, "%s (line %d, column %d)",
                        reader->in.error != NULL ? reader->in.error : "not JSON", line, column);
}

int swing_key(struct swing_reader *reader, const struct wire_at *place, const char *const *names, unsigned *seen,
              int *count)
{
    char key[KEY_TEXT];
    if (reader->failed) {
        return -1;
    }
    if (!json_in_next_key(&reader->in, count, key, sizeof key)) {
        if (reader->in.error != NULL) {
            swing_refuse_json(reader, place);
        }
        return -1;
    }
    for (int i = 0; names[i] != NULL; i++) {
        if (names[i][0] != key[0] || strcmp(names[i], key) != 0) {
            continue;
        }
        struct wire_at here = {place, names[i], 0};
        if (*seen & 1U << i) {
            swing_refuse(reader, &here, "is given twice");
            return -1;
        }
        *seen |= 1U << i;
        return i;
    }
    struct wire_at here = {place, key, 0};
    swing_refuse(reader, &here, "is not a key this document knows");
    return -1;
}

bool swing_open(struct swing_reader *reader, const struct wire_at *place, char mark)
{
    enum json_kind wanted = mark == '{' ? JSON_KIND_OBJECT : JSON_KIND_ARRAY;
    if (reader->failed) {
        return false;
    }
    enum json_kind kind = json_in_peek(&reader->in);
    if (kind != wanted && kind != JSON_KIND_NONE) {
        return swing_refuse(reader, place, mark == '{' ? "must be an object" : "must be an array");
    }
    return json_in_open(&reader->in, mark) || swing_refuse_json(reader, place);
}

bool swing_number(struct swing_reader *reader, const struct wire_at *place, double low, double high, double *out)
{
    if (reader->failed) {
        return false;
    }
    enum json_kind kind = json_in_peek(&reader->in);
    if (kind != JSON_KIND_NUMBER && kind != JSON_KIND_NONE) {
        return swing_refuse(reader, place, "must be a number");
    }
    if (!json_in_number(&reader->in, out)) {
        return swing_refuse_json(reader, place);
    }
    if (!isfinite(*out) || *out < low || *out > high) {
        return swing_refuse(reader, place, "must be from %.12g to %.12g, not %.6g", low, high, *out);
    }
    return true;
}

bool swing_maybe(struct swing_reader *reader, const struct wire_at *place, double low, double high, struct maybe *out)
{
    out->given = swing_number(reader, place, low, high, &out->value);
    return out->given;
}

bool swing_text(struct swing_reader *reader, const struct wire_at *place, char *out, size_t size)
{
    if (reader->failed) {
        return false;
    }
    enum json_kind kind = json_in_peek(&reader->in);
    if (kind != JSON_KIND_TEXT && kind != JSON_KIND_NONE) {
        return swing_refuse(reader, place, "must be a text");
    }
    return json_in_text(&reader->in, out, size) || swing_refuse_json(reader, place);
}

bool swing_need(struct swing_reader *reader, const struct wire_at *place, const char *const *names, unsigned seen,
                unsigned required)
{
    for (int i = 0; !reader->failed && names[i] != NULL; i++) {
        if ((required & ~seen) & 1U << i) {
            swing_refuse(reader, place, "needs \"%s\"", names[i]);
        }
    }
    return !reader->failed;
}
