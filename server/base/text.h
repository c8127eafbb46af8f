/* The one growing text, and the one step through UTF-8. A text lives in an arena, knows the most bytes it may hold, is
 * always ended by a NUL, and once it failed (memory short, or too long) takes nothing more: look once, at the end.
 *
 *     struct text text;
 *     text_start(&text, arena, 4096);
 *     text_printf(&text, "%d of ", done), text_put(&text, name);
 *     char *all = text_take(&text, &length);   NULL when it failed
 */
#ifndef LEADSIDE_BASE_TEXT_H
#define LEADSIDE_BASE_TEXT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include "base/arena.h"

#define TEXT_NO_LIMIT (SIZE_MAX / 4) /* the arena's own limit is enough */

struct text {
    struct arena *arena;
    char *data; /* NULL until something is put */
    size_t length, capacity;
    size_t most; /* bytes, without the NUL */
    bool failed;
};

void text_start(struct text *text, struct arena *arena, size_t most);
/* Makes room for so many more bytes and the NUL. False when the text failed. */
bool text_grow(struct text *text, size_t more);

/* Where `more` bytes may be written by hand, to be followed by text_wrote with those that were; NULL when it failed. */
static inline char *text_room(struct text *text, size_t more)
{
    return text->capacity - text->length > more || text_grow(text, more) ? text->data + text->length : NULL;
}

static inline void text_wrote(struct text *text, size_t bytes)
{
    text->length += bytes;
    text->data[text->length] = '\0';
}

static inline void text_put_n(struct text *text, const char *bytes, size_t length)
{
    char *to = text_room(text, length);
    if (to != NULL && length > 0) {
        memcpy(to, bytes, length);
        text_wrote(text, length);
    }
}

static inline void text_put_char(struct text *text, char c)
{
    text_put_n(text, &c, 1);
}

/* NULL fails the text: whoever made the string was short of memory. */
void text_put(struct text *text, const char *string);
void text_printf(struct text *text, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* The finished text, which lives as long as the arena; its bytes, without the NUL, in *length (may be NULL). NULL with
 * 0 when it failed. */
char *text_take(struct text *text, size_t *length) __attribute__((warn_unused_result));

/* ---- UTF-8 (RFC 3629) ---- */

/* Bytes of the character that stands first, and which it is; 0 for none: cut, overlong, a surrogate, past U+10FFFF.
 * left > 0; SIZE_MAX will do for text that a NUL ends. */
size_t utf8_step(const char *text, size_t left, uint32_t *code);
/* Writes the character, which is one (no surrogate); gives its bytes. */
size_t utf8_write(uint32_t code, char out[4]);
bool utf8_valid(const char *text, size_t length);

#endif
