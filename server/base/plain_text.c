/* See plain_text.h. */
#include "base/plain_text.h"

#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include "base/text.h"

struct span {
    uint32_t first, last;
};

/* Characters without a shape, and those that turn the writing round: Unicode 15.0, DerivedCoreProperties.txt and
 * PropList.txt, but for joiners and for variation selectors (U+180B–180D, 180F, FE00–FE0F, E0100–E01EF). */
static const struct span unseen[] = {
    {0x00ad, 0x00ad}, {0x034f, 0x034f}, {0x061c, 0x061c},   {0x115f, 0x1160},   {0x17b4, 0x17b5},   {0x180e, 0x180e},
    {0x200b, 0x200b}, {0x200e, 0x200f}, {0x2028, 0x202e},   {0x2060, 0x206f},   {0x3164, 0x3164},   {0xfeff, 0xfeff},
    {0xffa0, 0xffa0}, {0xfff0, 0xfffb}, {0x1bca0, 0x1bca3}, {0x1d173, 0x1d17a}, {0xe0000, 0xe00ff}, {0xe01f0, 0xe0fff},
};

static const struct span blank[] = {
    {0x20, 0x20},     {0xa0, 0xa0},     {0x1680, 0x1680}, {0x2000, 0x200a},
    {0x202f, 0x202f}, {0x205f, 0x205f}, {0x2800, 0x2800}, {0x3000, 0x3000},
};

static bool within(const struct span *spans, size_t count, uint32_t code)
{
    for (size_t i = 0; i < count; i++) {
        if (code >= spans[i].first && code <= spans[i].last) {
            return true;
        }
    }
    return false;
}

#define WITHIN(spans, code) within(spans, sizeof(spans) / sizeof *(spans), code)
static bool is_control(uint32_t code)
{
    return code < 0x20 || (code >= 0x7f && code < 0xa0) || (code >= 0xfdd0 && code <= 0xfdef) ||
           (code & 0xfffe) == 0xfffe;
}

/* Arabic, the scripts of India and their like, and emoji join by them; Latin, Greek and Cyrillic never do. */
static bool may_join(uint32_t before)
{
    return before >= 0x600 && (before < 0x2000 || before > 0x206f) && !WITHIN(blank, before);
}

static bool refuse(char why[PLAIN_WHY], const char *what, uint32_t code)
{
    (void)snprintf(why, PLAIN_WHY, "must not hold the %s character U+%04X", what, (unsigned)code);
    return false;
}

static bool fine_in_name(uint32_t code, uint32_t before, char why[PLAIN_WHY])
{
    const bool joiner = code == 0x200c || code == 0x200d;
    if (is_control(code)) {
        return refuse(why, "control", code);
    }
    return (!WITHIN(unseen, code) && (!joiner || may_join(before))) || refuse(why, "invisible", code);
}

static bool fine_in_prose(uint32_t code, char after, char why[PLAIN_WHY])
{
    const bool line = code == '\n' || code == '\t' || (code == '\r' && after == '\n');
    return line || !is_control(code) || refuse(why, "control", code);
}

bool plain_text_check(const char *text, enum plain_text_kind kind, char why[PLAIN_WHY])
{
    uint32_t before = 0;
    bool seen = false;
    while (*text != '\0') {
        uint32_t code;
        const size_t step = utf8_step(text, SIZE_MAX, &code);
        if (step == 0) {
            (void)snprintf(why, PLAIN_WHY, "must be UTF-8 text");
            return false;
        }
        text += step;
        if (kind == PLAIN_NAME ? !fine_in_name(code, before, why) : !fine_in_prose(code, *text, why)) {
            return false;
        }
        seen = seen || !WITHIN(blank, code);
        before = code;
    }
    if (kind == PLAIN_NAME && !seen) {
        (void)snprintf(why, PLAIN_WHY, "must not be blank");
    }
    return kind != PLAIN_NAME || seen;
}
