/* JSON text appended piece by piece; the buffer doubles inside the arena. */
#include "wire/json/out.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

#define FIRST_CAPACITY ((size_t)16 << 10)
#define SINK_CAPACITY ((size_t)64 << 10) /* text handed on at once */
#define ESCAPE_MAX 6                     /* bytes of one escaped character */

void json_out_start(struct json_out *out, struct arena *arena)
{
    json_out_start_to(out, arena, NULL, NULL);
}

void json_out_start_to(struct json_out *out, struct arena *arena,
                       bool (*sink)(void *context, const char *text, size_t length), void *context)
{
    *out = (struct json_out){.sink = sink, .context = context};
    text_start(&out->text, arena, TEXT_NO_LIMIT);
    (void)text_grow(&out->text, (sink == NULL ? FIRST_CAPACITY : SINK_CAPACITY) - 1);
}

static bool hand_on(struct json_out *out, const char *bytes, size_t length)
{
    if (!out->text.failed && length > 0 && !out->sink(out->context, bytes, length)) {
        text_put(&out->text, NULL);
    }
    return !out->text.failed;
}

bool json_out_flush(struct json_out *out)
{
    const bool good = hand_on(out, out->text.data, out->text.length);
    if (good) {
        out->text.length = 0;
    }
    return good;
}

/* Where so many bytes may be written, to be followed by wrote; NULL when the writer failed. */
static char *room(struct json_out *out, size_t more)
{
    if (out->sink != NULL && out->text.capacity - out->text.length <= more) {
        (void)json_out_flush(out);
    }
    return text_room(&out->text, more);
}

static void wrote(struct json_out *out, const char *to)
{
    out->text.length = (size_t)(to - out->text.data);
}

/* Comma and key before a value, with room for so many bytes of it; NULL when the writer failed. */
static char *lead_in(struct json_out *out, const char *key, size_t more)
{
    const size_t length = key == NULL ? 0 : strlen(key);
    char *to = room(out, length + 4 + more);
    if (to == NULL) {
        return NULL;
    }
    if (out->comma) {
        *to++ = ',';
    }
    if (key != NULL) {
        *to++ = '"';
        memcpy(to, key, length); // NOLINT(bugprone-not-null-terminated-result): the text goes on
        to += length;
        *to++ = '"';
        *to++ = ':';
    }
    out->comma = true;
    return to;
}

/* A value, or a mark, as it stands. What is too long for a sink's buffer goes past it. */
static void value_put(struct json_out *out, const char *key, const char *bytes, size_t length)
{
    const bool past = out->sink != NULL && length >= SINK_CAPACITY / 2;
    char *to = lead_in(out, key, past ? 0 : length);
    if (to == NULL) {
        return;
    }
    if (!past && length > 0) {
        memcpy(to, bytes, length);
        to += length;
    }
    wrote(out, to);
    if (past && json_out_flush(out)) {
        (void)hand_on(out, bytes, length);
    }
}

static void close_mark(struct json_out *out, char mark)
{
    char *to = room(out, 1);
    if (to != NULL) {
        *to++ = mark;
        wrote(out, to);
    }
    out->comma = true;
}

void json_out_object(struct json_out *out, const char *key)
{
    value_put(out, key, "{", 1);
    out->comma = false;
}

void json_out_end_object(struct json_out *out)
{
    close_mark(out, '}');
}

void json_out_array(struct json_out *out, const char *key)
{
    value_put(out, key, "[", 1);
    out->comma = false;
}

void json_out_end_array(struct json_out *out)
{
    close_mark(out, ']');
}

static bool needs_escape(char c)
{
    return c == '"' || c == '\\' || (unsigned char)c < 0x20;
}

static char *escape_write(char *to, char c)
{
    static const char digits[] = "0123456789abcdef";
    *to++ = '\\';
    if (c == '"' || c == '\\' || c == '\n') {
        *to++ = (char)(c == '\n' ? 'n' : c);
        return to;
    }
    to[0] = 'u';
    to[1] = '0';
    to[2] = '0';
    to[3] = digits[(unsigned char)c >> 4];
    to[4] = digits[c & 15];
    return to + 5;
}

void json_out_text(struct json_out *out, const char *key, const char *text)
{
    if (text == NULL) {
        json_out_null(out, key);
        return;
    }
    size_t left = strlen(text);
    char *to = lead_in(out, key, left + 2);
    if (to == NULL) {
        return;
    }
    *to++ = '"';
    for (; left > 0; left--, text++) {
        if (!needs_escape(*text)) {
            *to++ = *text;
            continue;
        }
        wrote(out, to);
        to = room(out, ESCAPE_MAX + left);
        if (to == NULL) {
            return;
        }
        to = escape_write(to, *text);
    }
    *to++ = '"';
    wrote(out, to);
}

static const double scales[] = {1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9};

/* The number's digits without its point; false when it becomes null. */
static bool scale_up(double value, int decimals, uint64_t *scaled)
{
    if (decimals < 0 || decimals > 9 || !isfinite(value) || fabs(value) * scales[decimals] > 9e15) {
        return false;
    }
    *scaled = (uint64_t)(fabs(value) * scales[decimals] + 0.5);
    return true;
}

/* Both parts are exact, so the quotient is the double nearest to the written decimal, as a reader makes it. */
bool json_out_as_read(double value, int decimals, double *out)
{
    uint64_t scaled = 0;
    if (!scale_up(value, decimals, &scaled)) {
        return false;
    }
    const double read = (double)scaled / scales[decimals];
    *out = value < 0 && scaled > 0 ? -read : read;
    return true;
}

void json_out_number(struct json_out *out, const char *key, double value, int decimals)
{
    uint64_t scaled = 0;
    if (!scale_up(value, decimals, &scaled)) {
        json_out_null(out, key);
        return;
    }
    char digits[32];
    size_t at = sizeof digits;
    int left = decimals;
    while (left > 0 && scaled % 10 == 0) {
        scaled /= 10;
        left--;
    }
    bool negative = value < 0 && scaled > 0;
    for (int i = 0; i < left; i++) {
        digits[--at] = (char)('0' + scaled % 10);
        scaled /= 10;
    }
    if (left > 0) {
        digits[--at] = '.';
    }
    do {
        digits[--at] = (char)('0' + scaled % 10);
        scaled /= 10;
    } while (scaled > 0);
    if (negative) {
        digits[--at] = '-';
    }
    value_put(out, key, digits + at, sizeof digits - at);
}

void json_out_bool(struct json_out *out, const char *key, bool value)
{
    value_put(out, key, value ? "true" : "false", value ? 4 : 5);
}

void json_out_null(struct json_out *out, const char *key)
{
    value_put(out, key, "null", 4);
}

void json_out_raw(struct json_out *out, const char *key, const char *json, size_t length)
{
    value_put(out, key, json, length);
}

void json_out_more(struct json_out *out, const char *json, size_t length)
{
    char *to = room(out, length);
    if (to != NULL) {
        memcpy(to, json, length);
        wrote(out, to + length);
    }
}

char *json_out_finish(struct json_out *out, size_t *length)
{
    char *all = text_take(&out->text, length);
    if (all != NULL) {
        all[*length] = '\0';
    }
    return all;
}
