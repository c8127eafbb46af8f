/* JSON text appended piece by piece; the buffer doubles inside the arena. */
#include "wire/json/out.h"

#include <math.h>
#include <sodium.h>
#include <stdint.h>
#include <string.h>

#define FIRST_CAPACITY 16384u
#define SINK_CAPACITY ((size_t)64 << 10) /* text handed on at once */
#define BASE64_PIECE ((size_t)3 << 10)   /* bytes; whole groups of three, so that the pieces join */

void json_out_start(struct json_out *out, struct arena *arena)
{
    *out = (struct json_out){.arena = arena};
}

void json_out_start_to(struct json_out *out, struct arena *arena,
                       bool (*sink)(void *context, const char *text, size_t length), void *context)
{
    *out = (struct json_out){.arena = arena, .sink = sink, .context = context};
    out->data = arena_take(arena, SINK_CAPACITY);
    out->capacity = SINK_CAPACITY;
    out->failed = out->data == NULL;
}

bool json_out_flush(struct json_out *out)
{
    if (!out->failed && out->length > 0) {
        out->failed = !out->sink(out->context, out->data, out->length);
        out->length = 0;
    }
    return !out->failed;
}

static bool room(struct json_out *out, size_t more)
{
    if (out->failed) {
        return false;
    }
    if (out->capacity - out->length >= more) {
        return true;
    }
    size_t capacity = out->capacity == 0 ? FIRST_CAPACITY : out->capacity * 2;
    while (capacity - out->length < more) {
        capacity *= 2;
    }
    char *data = arena_take(out->arena, capacity);
    if (data == NULL) {
        out->failed = true;
        return false;
    }
    if (out->length > 0) {
        memcpy(data, out->data, out->length);
    }
    out->data = data;
    out->capacity = capacity;
    return true;
}

static void put(struct json_out *out, const char *bytes, size_t length)
{
    if (out->sink != NULL && out->capacity - out->length < length) {
        (void)json_out_flush(out);
        if (length > out->capacity) {
            out->failed = out->failed || !out->sink(out->context, bytes, length);
            return;
        }
    }
    if (room(out, length)) {
        memcpy(out->data + out->length, bytes, length);
        out->length += length;
    }
}

/* Comma and key before a value. */
static void lead_in(struct json_out *out, const char *key)
{
    if (out->comma) {
        put(out, ",", 1);
    }
    if (key != NULL) {
        put(out, "\"", 1);
        put(out, key, strlen(key));
        put(out, "\":", 2);
    }
    out->comma = true;
}

static void open_mark(struct json_out *out, const char *key, const char *mark)
{
    lead_in(out, key);
    put(out, mark, 1);
    out->comma = false;
}

static void close_mark(struct json_out *out, const char *mark)
{
    put(out, mark, 1);
    out->comma = true;
}

void json_out_object(struct json_out *out, const char *key)
{
    open_mark(out, key, "{");
}

void json_out_end_object(struct json_out *out)
{
    close_mark(out, "}");
}

void json_out_array(struct json_out *out, const char *key)
{
    open_mark(out, key, "[");
}

void json_out_end_array(struct json_out *out)
{
    close_mark(out, "]");
}

static bool needs_escape(char c)
{
    return c == '"' || c == '\\' || (unsigned char)c < 0x20;
}

static void escape_put(struct json_out *out, char c)
{
    static const char digits[] = "0123456789abcdef";
    if (c == '"' || c == '\\') {
        const char pair[2] = {'\\', c};
        put(out, pair, sizeof pair);
    } else if (c == '\n') {
        put(out, "\\n", 2);
    } else {
        const char six[6] = {'\\', 'u', '0', '0', digits[(unsigned char)c >> 4], digits[c & 15]};
        put(out, six, sizeof six);
    }
}

void json_out_text(struct json_out *out, const char *key, const char *text)
{
    if (text == NULL) {
        json_out_null(out, key);
        return;
    }
    lead_in(out, key);
    put(out, "\"", 1);
    const char *run = text;
    for (; *text != '\0'; text++) {
        if (needs_escape(*text)) {
            put(out, run, (size_t)(text - run));
            escape_put(out, *text);
            run = text + 1;
        }
    }
    put(out, run, (size_t)(text - run));
    put(out, "\"", 1);
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
    lead_in(out, key);
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
    put(out, digits + at, sizeof digits - at);
}

void json_out_bool(struct json_out *out, const char *key, bool value)
{
    lead_in(out, key);
    put(out, value ? "true" : "false", value ? 4 : 5);
}

void json_out_null(struct json_out *out, const char *key)
{
    lead_in(out, key);
    put(out, "null", 4);
}

void json_out_base64(struct json_out *out, const char *key, const void *bytes, size_t size)
{
    char text[BASE64_PIECE / 3 * 4 + 1];
    const unsigned char *at = bytes;
    lead_in(out, key);
    put(out, "\"", 1);
    while (size > 0) {
        const size_t piece = size < BASE64_PIECE ? size : BASE64_PIECE;
        (void)sodium_bin2base64(text, sizeof text, at, piece, sodium_base64_VARIANT_ORIGINAL);
        put(out, text, strlen(text));
        at += piece;
        size -= piece;
    }
    put(out, "\"", 1);
}

void json_out_raw(struct json_out *out, const char *key, const char *json, size_t length)
{
    lead_in(out, key);
    put(out, json, length);
}

char *json_out_finish(struct json_out *out, size_t *length)
{
    put(out, "", 1);
    if (out->failed) {
        return NULL;
    }
    *length = out->length - 1;
    return out->data;
}
