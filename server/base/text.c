/* The text doubles inside its arena; UTF-8 is read strictly and in one place. */
#include "base/text.h"

#include <stdarg.h>
#include <stdio.h>

#define FIRST_CAPACITY 256u

void text_start(struct text *text, struct arena *arena, size_t most)
{
    *text = (struct text){.arena = arena, .most = most};
}

static bool fail(struct text *text)
{
    text->failed = true;
    text->capacity = text->length; /* so that nobody finds room again */
    return false;
}

bool text_grow(struct text *text, size_t more)
{
    if (text->failed || more > text->most - text->length) {
        return fail(text);
    }
    size_t capacity = text->capacity == 0 ? FIRST_CAPACITY : text->capacity * 2;
    while (capacity <= text->length + more) {
        capacity *= 2;
    }
    capacity = capacity > text->most ? text->most + 1 : capacity;
    char *data = arena_resize(text->arena, text->data, text->capacity, capacity);
    if (data == NULL) {
        return fail(text);
    }
    data[text->length] = '\0';
    text->data = data;
    text->capacity = capacity;
    return true;
}

void text_put(struct text *text, const char *string)
{
    if (string == NULL) {
        (void)fail(text);
        return;
    }
    text_put_n(text, string, strlen(string));
}

void text_printf(struct text *text, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    va_list again;
    va_copy(again, arguments);
    const int length = vsnprintf(NULL, 0, format, arguments);
    va_end(arguments);
    char *to = length < 0 ? NULL : text_room(text, (size_t)length);
    if (to != NULL) {
        (void)vsnprintf(to, (size_t)length + 1, format, again);
        text->length += (size_t)length;
    }
    if (length < 0) {
        (void)fail(text);
    }
    va_end(again);
}

char *text_take(struct text *text, size_t *length)
{
    const bool good = !text->failed && text_room(text, 0) != NULL;
    if (length != NULL) {
        *length = good ? text->length : 0;
    }
    return good ? text->data : NULL;
}

size_t utf8_step(const char *text, size_t left, uint32_t *code)
{
    const unsigned char *bytes = (const unsigned char *)text;
    const unsigned char lead = bytes[0];
    if (lead < 0x80) {
        *code = lead;
        return 1;
    }
    const size_t length = lead >= 0xf0 ? 4 : lead >= 0xe0 ? 3 : 2;
    if (lead < 0xc2 || lead > 0xf4 || left < length) {
        return 0;
    }
    static const uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000};
    uint32_t value = lead & (0x7fU >> length);
    for (size_t i = 1; i < length; i++) {
        if ((bytes[i] & 0xc0) != 0x80) {
            return 0;
        }
        value = value << 6 | (bytes[i] & 0x3fU);
    }
    if (value < least[length] || value > 0x10ffff || (value >= 0xd800 && value < 0xe000)) {
        return 0;
    }
    *code = value;
    return length;
}

size_t utf8_write(uint32_t code, char out[4])
{
    if (code < 0x80) {
        out[0] = (char)code;
        return 1;
    }
    const size_t length = code < 0x800 ? 2 : code < 0x10000 ? 3 : 4;
    static const unsigned char leads[] = {0, 0, 0xc0, 0xe0, 0xf0};
    for (size_t i = length - 1; i > 0; i--) {
        out[i] = (char)(0x80 | (code & 0x3f));
        code >>= 6;
    }
    out[0] = (char)(leads[length] | code);
    return length;
}

bool utf8_valid(const char *text, size_t length)
{
    uint32_t code;
    for (size_t at = 0, step; at < length; at += step) {
        step = utf8_step(text + at, length - at, &code);
        if (step == 0) {
            return false;
        }
    }
    return true;
}
