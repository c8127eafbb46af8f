/* Objects, lists and limited values over the pull reader. */
#include "wire/json/fields.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

struct json_fields json_fields_start(const char *json, size_t length, struct arena *arena, struct wire_error *error)
{
    struct json_fields fields = {.arena = arena, .error = error};
    *error = (struct wire_error){"", ""};
    json_in_start(&fields.in, json, length);
    return fields;
}

bool json_fields_refuse(struct json_fields *fields, const struct wire_at *place, const char *format, ...)
{
    if (fields->failed) {
        return false;
    }
    fields->failed = true;
    char what[sizeof fields->error->what];
    va_list args;
    va_start(args, format);
    int wrote = vsnprintf(what, sizeof what, format, args);
    va_end(args);
    return wire_fail(fields->error, place, "%s", wrote < 0 ? "" : what);
}

/* Turns an error of the JSON itself into a complaint with line and column. Always false. */
static bool refuse_json(struct json_fields *fields, const struct wire_at *place)
{
    int line;
    int column;
    json_in_where(&fields->in, &line, &column);
    return json_fields_refuse(fields, place, "%s (line %d, column %d)",
                              fields->in.error != NULL ? fields->in.error : "not JSON", line, column);
}

/* A container was left: at its closing mark, or because of an error. */
static bool closed(struct json_fields *fields, const struct wire_at *place)
{
    return !fields->failed && (fields->in.error == NULL || refuse_json(fields, place));
}

bool json_fields_finish(struct json_fields *fields)
{
    return !fields->failed && (json_in_finish(&fields->in) || refuse_json(fields, NULL));
}

/* False when something else than this kind of value stands next. */
static bool kind_check(struct json_fields *fields, const struct wire_at *place, enum json_kind wanted,
                       const char *complaint)
{
    if (fields->failed) {
        return false;
    }
    enum json_kind kind = json_in_peek(&fields->in);
    return kind == wanted || kind == JSON_KIND_NONE || json_fields_refuse(fields, place, "%s", complaint);
}

static bool open_object(struct json_fields *fields, const struct wire_at *place)
{
    return kind_check(fields, place, JSON_KIND_OBJECT, "must be an object") &&
           (json_in_open(&fields->in, '{') || refuse_json(fields, place));
}

static bool open_list(struct json_fields *fields, const struct wire_at *place)
{
    return kind_check(fields, place, JSON_KIND_ARRAY, "must be an array") &&
           (json_in_open(&fields->in, '[') || refuse_json(fields, place));
}

bool json_fields_number(struct json_fields *fields, const struct wire_at *place, double low, double high, double *out)
{
    if (!kind_check(fields, place, JSON_KIND_NUMBER, "must be a number")) {
        return false;
    }
    if (!json_in_number(&fields->in, out)) {
        return refuse_json(fields, place);
    }
    return (isfinite(*out) && *out >= low && *out <= high) ||
           json_fields_refuse(fields, place, "must be from %.12g to %.12g, not %.6g", low, high, *out);
}

bool json_fields_text(struct json_fields *fields, const struct wire_at *place, char *out, size_t size)
{
    return kind_check(fields, place, JSON_KIND_TEXT, "must be a text") &&
           (json_in_text(&fields->in, out, size) || refuse_json(fields, place));
}

bool json_fields_word(struct json_fields *fields, const struct wire_at *place, const char *word)
{
    char text[JSON_FIELDS_TEXT];
    return json_fields_text(fields, place, text, sizeof text) &&
           (strcmp(text, word) == 0 || json_fields_refuse(fields, place, "must be \"%s\", not \"%s\"", word, text));
}

/* The usual list: numbers alone, as many as wanted, all within their limits. Takes nothing when it is another. */
static bool numbers_quick(struct json_fields *fields, int least, int most, const double (*limits)[2], double *out,
                          int *count)
{
    double value[JSON_IN_NUMBERS_MAX];
    const struct json_in before = fields->in;
    const int taken = fields->failed ? 0 : json_in_numbers(&fields->in, most, value);
    bool good = taken >= least && taken > 0;
    for (int i = 0; good && i < taken; i++) {
        good = value[i] >= limits[i][0] && value[i] <= limits[i][1];
        out[i] = value[i];
    }
    if (!good) {
        fields->in = before;
    }
    *count = taken;
    return good;
}

bool json_fields_numbers(struct json_fields *fields, const struct wire_at *place, int least, int most,
                         const double (*limits)[2], const char *shape, double *out, int *count)
{
    int taken = 0;
    if (numbers_quick(fields, least, most, limits, out, count == NULL ? &taken : count)) {
        return true;
    }
    if (!open_list(fields, place)) {
        return false;
    }
    for (taken = 0; json_in_next_item(&fields->in, &taken);) {
        const struct wire_at here = wire_index(place, taken - 1);
        if (taken > most) {
            return json_fields_refuse(fields, place, "%s", shape);
        }
        if (!json_fields_number(fields, &here, limits[taken - 1][0], limits[taken - 1][1], &out[taken - 1])) {
            return false;
        }
    }
    if (count != NULL) {
        *count = taken;
    }
    return closed(fields, place) && (taken >= least || json_fields_refuse(fields, place, "%s", shape));
}

bool json_fields_list(struct json_fields *fields, const struct wire_at *place, int max, const char *what, int *length,
                      json_fields_take *take, void *to)
{
    int count = 0;
    *length = 0;
    if (!open_list(fields, place)) {
        return false;
    }
    while (json_in_next_item(&fields->in, &count)) {
        const struct wire_at here = wire_index(place, count - 1);
        if (count > max) {
            return json_fields_refuse(fields, place, "has more than %d %s", max, what);
        }
        if (!take(fields, &here, count - 1, to)) {
            return false;
        }
        *length = count;
    }
    return closed(fields, place);
}

/* The key's index in the table, -1 when it is refused. Keys mostly stand in the table's order: looked for from `from`
 * on first. */
static int key_find(struct json_fields *fields, const struct wire_at *place, const struct json_field *table,
                    const char *key, int from, unsigned *seen)
{
    int found = from;
    if (table[from].name == NULL || strcmp(table[from].name, key) != 0) {
        for (found = 0; table[found].name != NULL && strcmp(table[found].name, key) != 0; found++) {
        }
    }
    const struct wire_at here = wire_key(place, key);
    if (table[found].name == NULL) {
        json_fields_refuse(fields, &here, "is not a key this document knows");
        return -1;
    }
    if (*seen & 1U << found) {
        json_fields_refuse(fields, &here, "is given twice");
        return -1;
    }
    *seen |= 1U << found;
    return found;
}

static bool field_read(struct json_fields *fields, const struct wire_at *place, const struct json_field *field, int key,
                       json_fields_take *take, void *to)
{
    const struct wire_at here = wire_key(place, field->name);
    if (field->low >= field->high) {
        return take(fields, &here, key, to);
    }
    char *at = to;
    const bool good = json_fields_number(fields, &here, field->low, field->high, (double *)(void *)(at + field->value));
    if (field->given != field->value) {
        *(bool *)(at + field->given) = good;
    }
    return good;
}

bool json_fields_object(struct json_fields *fields, const struct wire_at *place, const struct json_field *table,
                        json_fields_take *take, void *to, unsigned *seen)
{
    char text[JSON_FIELDS_TEXT];
    unsigned taken = 0;
    int count = 0;
    int key = -1;
    if (!open_object(fields, place)) {
        return false;
    }
    while (!fields->failed && json_in_next_key(&fields->in, &count, text, sizeof text)) {
        key = key_find(fields, place, table, text, key + 1, &taken);
        if (key < 0 || !field_read(fields, place, &table[key], key, take, to)) {
            return false;
        }
    }
    if (!closed(fields, place)) {
        return false;
    }
    for (int i = 0; table[i].name != NULL; i++) {
        if (table[i].required && !(taken & 1U << i)) {
            return json_fields_refuse(fields, place, "needs \"%s\"", table[i].name);
        }
    }
    if (seen != NULL) {
        *seen = taken;
    }
    return true;
}

bool json_fields_map(struct json_fields *fields, const struct wire_at *place, json_fields_take *take, void *to)
{
    char key[JSON_FIELDS_TEXT];
    int count = 0;
    if (!open_object(fields, place)) {
        return false;
    }
    while (json_in_next_key(&fields->in, &count, key, sizeof key)) {
        const struct wire_at here = wire_key(place, key);
        if (!take(fields, &here, count - 1, to)) {
            return false;
        }
    }
    return closed(fields, place);
}
