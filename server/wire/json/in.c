/* A pull reader of strict JSON. Numbers of up to 15 digits take the exact short way (Clinger 1990); others go to
 * strtod, which is correctly rounded. Texts are checked to be UTF-8. */
#include "wire/json/in.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"

void json_in_start(struct json_in *in, const char *text, size_t length)
{
    *in = (struct json_in){.text = text, .length = length};
}

static bool fail(struct json_in *in, const char *what)
{
    if (in->error == NULL) {
        in->error = what;
    }
    return false;
}

static void space_skip(struct json_in *in)
{
    while (in->at < in->length) {
        char c = in->text[in->at];
        if (c != ' ' && c != '\n' && c != '\t' && c != '\r') {
            return;
        }
        in->at++;
    }
}

/* The next character after white space; 0 at the end. A NUL in the text is no JSON either. */
static char look(struct json_in *in)
{
    space_skip(in);
    return in->at < in->length ? in->text[in->at] : '\0';
}

enum json_kind json_in_peek(struct json_in *in)
{
    if (in->error != NULL) {
        return JSON_KIND_NONE;
    }
    char c = look(in);
    switch (c) {
    case '\0':
        return JSON_KIND_NONE;
    case '{':
        return JSON_KIND_OBJECT;
    case '[':
        return JSON_KIND_ARRAY;
    case '"':
        return JSON_KIND_TEXT;
    default:
        return c == '-' || (c >= '0' && c <= '9') ? JSON_KIND_NUMBER : JSON_KIND_OTHER;
    }
}

bool json_in_open(struct json_in *in, char mark)
{
    if (in->error != NULL) {
        return false;
    }
    if (look(in) != mark) {
        return fail(in, mark == '{' ? "an object was expected" : "an array was expected");
    }
    if (in->depth >= JSON_IN_DEPTH_MAX) {
        return fail(in, "it is nested too deeply");
    }
    in->depth++;
    in->at++;
    return true;
}

/* Before a member: takes the comma, or the closing mark and gives false. */
static bool member_next(struct json_in *in, int *count, char close)
{
    if (in->error != NULL) {
        return false;
    }
    char c = look(in);
    if (c == close) {
        in->at++;
        in->depth--;
        return false;
    }
    if (*count > 0) {
        if (c != ',') {
            return fail(in, close == '}' ? "a comma or } was expected" : "a comma or ] was expected");
        }
        in->at++;
        c = look(in);
        if (c == close) {
            return fail(in, "a value was expected after the comma");
        }
    }
    if (c == '\0') {
        return fail(in, "it ends too soon");
    }
    ++*count;
    return true;
}

bool json_in_next_key(struct json_in *in, int *count, char *key, size_t size)
{
    if (!member_next(in, count, '}')) {
        return false;
    }
    if (look(in) != '"') {
        return fail(in, "a key in quotes was expected");
    }
    if (!json_in_text(in, key, size)) {
        return false;
    }
    if (look(in) != ':') {
        return fail(in, "a colon was expected after the key");
    }
    in->at++;
    return true;
}

bool json_in_next_item(struct json_in *in, int *count)
{
    return member_next(in, count, ']');
}

/* Where a text is put: NULL = only checked. */
struct sink {
    char *out;
    size_t size, used;
};

static bool put(struct json_in *in, struct sink *to, const char *bytes, size_t length)
{
    if (to->out == NULL) {
        return true;
    }
    if (length >= to->size - to->used) {
        return fail(in, "a text is longer than anything known here");
    }
    memcpy(to->out + to->used, bytes, length);
    to->used += length;
    return true;
}

static bool put_code(struct json_in *in, struct sink *to, uint32_t code)
{
    char bytes[4];
    return put(in, to, bytes, utf8_write(code, bytes));
}

static bool hex4(struct json_in *in, uint32_t *code)
{
    if (in->length - in->at < 4) {
        return fail(in, "it ends within an escape");
    }
    *code = 0;
    for (int i = 0; i < 4; i++) {
        char c = in->text[in->at++];
        uint32_t digit;
        if (c >= '0' && c <= '9') {
            digit = (uint32_t)(c - '0');
        } else if (c >= 'a' && c <= 'f') {
            digit = (uint32_t)(c - 'a') + 10;
        } else if (c >= 'A' && c <= 'F') {
            digit = (uint32_t)(c - 'A') + 10;
        } else {
            return fail(in, "an escape needs four hexadecimal digits");
        }
        *code = *code << 4 | digit;
    }
    return true;
}

static bool unicode_escape(struct json_in *in, struct sink *to)
{
    uint32_t code = 0;
    if (!hex4(in, &code)) {
        return false;
    }
    if (code == 0) {
        return fail(in, "a text may not hold U+0000");
    }
    if (code >= 0xdc00 && code <= 0xdfff) {
        return fail(in, "half a surrogate pair");
    }
    if (code >= 0xd800 && code <= 0xdbff) {
        uint32_t low = 0;
        if (in->length - in->at < 6 || in->text[in->at] != '\\' || in->text[in->at + 1] != 'u') {
            return fail(in, "half a surrogate pair");
        }
        in->at += 2;
        if (!hex4(in, &low)) {
            return false;
        }
        if (low < 0xdc00 || low > 0xdfff) {
            return fail(in, "half a surrogate pair");
        }
        code = 0x10000 + ((code - 0xd800) << 10) + (low - 0xdc00);
    }
    return put_code(in, to, code);
}

static bool escape(struct json_in *in, struct sink *to)
{
    if (in->at >= in->length) {
        return fail(in, "it ends within an escape");
    }
    static const char from[] = "\"\\/bfnrt";
    static const char into[] = "\"\\/\b\f\n\r\t";
    char c = in->text[in->at++];
    if (c == 'u') {
        return unicode_escape(in, to);
    }
    const char *found = c == '\0' ? NULL : strchr(from, c);
    return found == NULL ? fail(in, "no such escape") : put(in, to, into + (found - from), 1);
}

/* Bytes from here on that stand for themselves and are one character each. */
static size_t plain_run(const struct json_in *in)
{
    size_t at = in->at;
    for (; at < in->length; at++) {
        const unsigned char c = (unsigned char)in->text[at];
        if (c < 0x20 || c >= 0x80 || c == '"' || c == '\\') {
            break;
        }
    }
    return at - in->at;
}

static bool put_run(struct json_in *in, struct sink *to, size_t run)
{
    const bool good = put(in, to, in->text + in->at, run);
    in->at += run;
    return good;
}

static bool text_read(struct json_in *in, struct sink *to)
{
    in->at++;
    while (in->at < in->length) {
        if (!put_run(in, to, plain_run(in)) || in->at >= in->length) {
            break;
        }
        const unsigned char c = (unsigned char)in->text[in->at];
        if (c == '"') {
            in->at++;
            return true;
        }
        if (c < 0x20) {
            return fail(in, "a text may not hold a bare control character");
        }
        if (c == '\\') {
            in->at++;
            if (!escape(in, to)) {
                return false;
            }
            continue;
        }
        uint32_t code;
        const size_t bytes = utf8_step(in->text + in->at, in->length - in->at, &code);
        if (bytes == 0) {
            return fail(in, "a text that is not UTF-8");
        }
        if (!put_run(in, to, bytes)) {
            return false;
        }
    }
    return fail(in, "it ends within a text");
}

/* The usual text: short, and every byte stands for itself. Takes nothing when it is another. */
static bool text_quick(struct json_in *in, char *out, size_t size)
{
    const char *from = in->text + in->at + 1;
    const size_t left = in->length - in->at - 1;
    const size_t most = left < size ? left : size;
    for (size_t i = 0; i < most; i++) {
        const unsigned char c = (unsigned char)from[i];
        if (c == '"') {
            out[i] = '\0';
            in->at += i + 2;
            return true;
        }
        if (c < 0x20 || c >= 0x80 || c == '\\') {
            return false;
        }
        out[i] = (char)c;
    }
    return false;
}

bool json_in_text(struct json_in *in, char *out, size_t size)
{
    if (json_in_peek(in) != JSON_KIND_TEXT) {
        return fail(in, "a text was expected");
    }
    if (text_quick(in, out, size)) {
        return true;
    }
    struct sink to = {out, size, 0};
    if (!text_read(in, &to)) {
        return false;
    }
    out[to.used] = '\0';
    return true;
}

static const double powers[] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
                                1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

struct digits {
    uint64_t mantissa;
    int count;    /* significant digits taken */
    int exponent; /* of ten */
};

static bool digits_take(struct json_in *in, struct digits *to, bool fraction)
{
    const char *const text = in->text;
    const size_t start = in->at;
    const size_t end = in->length;
    struct digits sum = *to;
    size_t at = start;
    for (; at < end && text[at] >= '0' && text[at] <= '9'; at++) {
        if (sum.count < 19) {
            sum.mantissa = sum.mantissa * 10 + (uint64_t)(text[at] - '0');
        }
        sum.count += sum.count > 0 || text[at] != '0';
        sum.exponent -= fraction;
    }
    in->at = at;
    *to = sum;
    return at > start ? true : fail(in, "a digit was expected");
}

static bool exponent_take(struct json_in *in, int *exponent)
{
    int sign = 1;
    int value = 0;
    size_t start;
    in->at++;
    if (in->at < in->length && (in->text[in->at] == '+' || in->text[in->at] == '-')) {
        sign = in->text[in->at++] == '-' ? -1 : 1;
    }
    for (start = in->at; in->at < in->length && in->text[in->at] >= '0' && in->text[in->at] <= '9'; in->at++) {
        value = value > 9999 ? value : value * 10 + (in->text[in->at] - '0');
    }
    *exponent += sign * value;
    return in->at > start ? true : fail(in, "a digit was expected");
}

static bool number_slow(struct json_in *in, size_t start, double *out)
{
    char copy[JSON_IN_NUMBER_MAX + 1];
    size_t length = in->at - start;
    if (length > JSON_IN_NUMBER_MAX) {
        return fail(in, "a number with too many digits");
    }
    memcpy(copy, in->text + start, length);
    copy[length] = '\0';
    *out = strtod(copy, NULL);
    return isfinite(*out) ? true : fail(in, "a number too large");
}

bool json_in_number(struct json_in *in, double *out)
{
    if (json_in_peek(in) != JSON_KIND_NUMBER) {
        return fail(in, "a number was expected");
    }
    size_t start = in->at;
    bool negative = in->text[in->at] == '-';
    in->at += negative;
    struct digits digits = {0, 0, 0};
    bool zero_first = in->at < in->length && in->text[in->at] == '0';
    size_t whole = in->at;
    if (!digits_take(in, &digits, false)) {
        return false;
    }
    if (zero_first && in->at - whole > 1) {
        return fail(in, "a number may not begin with a zero");
    }
    if (in->at < in->length && in->text[in->at] == '.') {
        in->at++;
        if (!digits_take(in, &digits, true)) {
            return false;
        }
    }
    if (in->at < in->length && (in->text[in->at] == 'e' || in->text[in->at] == 'E') &&
        !exponent_take(in, &digits.exponent)) {
        return false;
    }
    if (digits.count > 15 || digits.exponent < -22 || digits.exponent > 22) {
        return number_slow(in, start, out);
    }
    double value = (double)digits.mantissa;
    value = digits.exponent < 0 ? value / powers[-digits.exponent] : value * powers[digits.exponent];
    *out = negative ? -value : value;
    return true;
}

int json_in_numbers(struct json_in *in, int most, double *out)
{
    int count = 0;
    int taken = 0;
    if (!json_in_open(in, '[')) {
        return 0;
    }
    while (json_in_next_item(in, &count)) {
        if (count > most || !json_in_number(in, &out[count - 1])) {
            return 0;
        }
        taken = count;
    }
    return in->error == NULL ? taken : 0;
}

static bool word_take(struct json_in *in, const char *word)
{
    size_t length = strlen(word);
    if (in->length - in->at < length || memcmp(in->text + in->at, word, length) != 0) {
        return false;
    }
    in->at += length;
    return true;
}

bool json_in_null(struct json_in *in)
{
    return json_in_peek(in) == JSON_KIND_OTHER && word_take(in, "null");
}

bool json_in_skip(struct json_in *in)
{
    int count = 0;
    double number;
    struct sink nowhere = {NULL, 0, 0};
    switch (json_in_peek(in)) {
    case JSON_KIND_TEXT:
        return text_read(in, &nowhere);
    case JSON_KIND_NUMBER:
        return json_in_number(in, &number);
    case JSON_KIND_ARRAY:
        json_in_open(in, '[');
        while (json_in_next_item(in, &count)) {
            json_in_skip(in);
        }
        return in->error == NULL;
    case JSON_KIND_OBJECT:
        json_in_open(in, '{');
        while (member_next(in, &count, '}')) {
            if (look(in) != '"' || !text_read(in, &nowhere) || look(in) != ':') {
                return fail(in, "a key in quotes and a colon were expected");
            }
            in->at++;
            json_in_skip(in);
        }
        return in->error == NULL;
    case JSON_KIND_OTHER:
        return word_take(in, "true") || word_take(in, "false") || word_take(in, "null") || fail(in, "no such word");
    default:
        return fail(in, "it ends too soon");
    }
}

bool json_in_finish(struct json_in *in)
{
    space_skip(in);
    return in->error == NULL && (in->at == in->length || fail(in, "something follows the document"));
}

void json_in_where(const struct json_in *in, int *line, int *column)
{
    *line = 1;
    *column = 1;
    for (size_t i = 0; i < in->at && i < in->length; i++) {
        if (in->text[i] == '\n') {
            ++*line;
            *column = 1;
        } else {
            ++*column;
        }
    }
}
