/* Which passwords are taken. What is refused by comparison with the list is the list's; the rest is our own: names, one
 * piece repeated, few different characters, runs along a keyboard. No kind of character is asked for (ASVS 4.0, 2.1.9).
 */
#include <string.h>

#include "auth/password.h"
#include "base/embed.h"
#include "base/text.h"

#define BASE_MIN 4      /* letters and digits of an entry that signs and digits around it don't make better */
#define WORDS_MAX 24    /* of names */
#define DISTINCT_MIN 5  /* different bytes */
#define LONGEST_NAME 64 /* bytes of a word of a name that is looked at */

/* Characters of UTF-8 text, -1 when it is malformed or holds a control character. */
static int count_characters(const char *text)
{
    int count = 0;
    uint32_t code;
    for (size_t step; *text != '\0'; text += step, count++) {
        step = utf8_step(text, SIZE_MAX, &code);
        if (step == 0 || code < 0x20 || code == 0x7f) {
            return -1;
        }
    }
    return count;
}

static char lower(char c)
{
    return (char)(c >= 'A' && c <= 'Z' ? c + ('a' - 'A') : c);
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* A letter, or part of a character beyond ASCII, which is taken for one. */
static bool is_letter(char c)
{
    char small = lower(c);
    return (small >= 'a' && small <= 'z') || (unsigned char)c >= 0x80;
}

/* ---- the list ---- */

/* Is the folded text a line of the list, which is sorted by bytes? */
static bool listed(const char *text, size_t length)
{
    if (embedded_passwords_count != 1) {
        return false;
    }
    const char *data = (const char *)embedded_passwords[0].data;
    size_t low = 0;
    size_t high = embedded_passwords[0].size;
    while (low < high) {
        size_t line = low + (high - low) / 2;
        while (line > low && data[line - 1] != '\n') {
            line--;
        }
        const char *end = memchr(data + line, '\n', high - line);
        size_t size = end == NULL ? high - line : (size_t)(end - data) - line;
        int order = memcmp(text, data + line, length < size ? length : size);
        if (order == 0 && length == size) {
            return true;
        }
        if (order < 0 || (order == 0 && length < size)) {
            high = line;
        } else {
            low = line + size + 1;
        }
    }
    return false;
}

/* As it stands, or when signs are left out and digits at both ends: "Pass-word 2026!". */
static bool is_common(const char *password, size_t length)
{
    char text[PASSWORD_LENGTH_MAX] = {0};
    size_t size = 0;
    for (size_t i = 0; i < length; i++) {
        text[i] = lower(password[i]);
    }
    if (listed(text, length)) {
        return true;
    }
    for (size_t i = 0; i < length; i++) {
        if (is_letter(password[i]) || is_digit(password[i])) {
            text[size++] = lower(password[i]);
        }
    }
    const char *from = text;
    if (size >= BASE_MIN && listed(from, size)) {
        return true;
    }
    while (size > 0 && is_digit(from[size - 1])) {
        size--;
    }
    if (size >= BASE_MIN && listed(from, size)) {
        return true;
    }
    while (size > 0 && is_digit(*from)) {
        from++;
        size--;
    }
    return size >= BASE_MIN && listed(from, size);
}

/* ---- names ---- */

struct words {
    char text[WORDS_MAX][LONGEST_NAME];
    size_t size[WORDS_MAX];
    int count;
};

/* The words of a name, small, letters only. */
static void add_words(struct words *words, const char *name)
{
    size_t size = 0;
    for (const char *at = name; at != NULL; at++) {
        bool letter = is_letter(*at);
        if (letter && size < LONGEST_NAME && words->count < WORDS_MAX) {
            words->text[words->count][size++] = lower(*at);
        } else if (!letter && size > 0) {
            words->size[words->count++] = size;
            size = 0;
        }
        if (*at == '\0') {
            break;
        }
    }
}

/* Is the text nothing but words of the list, one after another? reached[i]: the first i bytes are. */
static bool made_of(const struct words *words, const char *text, size_t length)
{
    bool reached[PASSWORD_LENGTH_MAX + 1] = {true};
    for (size_t i = 0; i < length; i++) {
        for (int k = 0; reached[i] && k < words->count; k++) {
            size_t size = words->size[k];
            if (size <= length - i && memcmp(text + i, words->text[k], size) == 0) {
                reached[i + size] = true;
            }
        }
    }
    return length > 0 && reached[length];
}

/* Names in any order, with digits and signs between. */
static bool is_named(const char *password, size_t length, const struct password_about *about)
{
    struct words words = {.count = 0};
    char letters[PASSWORD_LENGTH_MAX] = {0};
    size_t size = 0;
    add_words(&words, "leadside golf club academy coach");
    if (about != NULL) {
        add_words(&words, about->sign_in);
        add_words(&words, about->club);
        add_words(&words, about->name);
    }
    for (size_t i = 0; i < length; i++) {
        if (is_letter(password[i])) {
            letters[size++] = lower(password[i]);
        }
    }
    return made_of(&words, letters, size);
}

static bool is_sign_in(const char *password, size_t length, const struct password_about *about)
{
    if (about == NULL || about->sign_in == NULL || strlen(about->sign_in) != length) {
        return false;
    }
    for (size_t i = 0; i < length; i++) {
        if (lower(password[i]) != lower(about->sign_in[i])) {
            return false;
        }
    }
    return true;
}

/* ---- patterns ---- */

/* One piece again and again (the last may be cut short), or very few different characters. */
static bool is_repeated(const char *password, size_t length)
{
    bool seen[256] = {false};
    int distinct = 0;
    for (size_t i = 0; i < length; i++) {
        unsigned char c = (unsigned char)lower(password[i]);
        distinct += !seen[c];
        seen[c] = true;
    }
    for (size_t period = 1; period <= length / 2; period++) {
        size_t i = period;
        while (i < length && lower(password[i]) == lower(password[i - period])) {
            i++;
        }
        if (i == length) {
            return true;
        }
    }
    return distinct < DISTINCT_MIN;
}

/* Do these two follow each other, either way, in the alphabet, the digits or a row of a keyboard? */
static bool is_step(char a, char b)
{
    static const char *const rows[] = {
        "abcdefghijklmnopqrstuvwxyz", "12345678901", "qwertyuiop", "asdfghjkl", "zxcvbnm", "qwertzuiop", "yxcvbnm"};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        for (const char *at = rows[i]; at[1] != '\0'; at++) {
            if ((at[0] == a && at[1] == b) || (at[0] == b && at[1] == a)) {
                return true;
            }
        }
    }
    return false;
}

/* Two steps of three go along a row. */
static bool is_run(const char *password, size_t length)
{
    size_t steps = 0;
    for (size_t i = 1; i < length; i++) {
        steps += is_step(lower(password[i - 1]), lower(password[i]));
    }
    return length > 1 && steps * 3 >= (length - 1) * 2;
}

enum password_fault password_check(const char *password, const struct password_about *about)
{
    size_t length = strnlen(password, PASSWORD_LENGTH_MAX + 1);
    if (length > PASSWORD_LENGTH_MAX) {
        return PASSWORD_TOO_LONG;
    }
    int characters = count_characters(password);
    if (characters < 0) {
        return PASSWORD_NOT_TEXT;
    }
    if (characters < PASSWORD_LENGTH_MIN) {
        return PASSWORD_TOO_SHORT;
    }
    if (is_sign_in(password, length, about) || is_named(password, length, about)) {
        return PASSWORD_IS_NAME;
    }
    if (is_common(password, length)) {
        return PASSWORD_COMMON;
    }
    if (is_repeated(password, length)) {
        return PASSWORD_REPEATED;
    }
    return is_run(password, length) ? PASSWORD_RUN : PASSWORD_FINE;
}

const char *password_fault_text(enum password_fault fault)
{
    switch (fault) {
    case PASSWORD_FINE:
        return "The password is fine.";
    case PASSWORD_TOO_SHORT:
        return "A password needs at least 12 characters; three or four words are best.";
    case PASSWORD_TOO_LONG:
        return "A password may have 128 bytes at most.";
    case PASSWORD_NOT_TEXT:
        return "A password must be UTF-8 text without control characters.";
    case PASSWORD_IS_NAME:
        return "A password must not be made of names: yours, the club's or the program's.";
    case PASSWORD_COMMON:
        return "This password is one of the commonest, with or without digits around it: choose three or four words.";
    case PASSWORD_REPEATED:
        return "A password must not be one piece repeated: choose three or four words.";
    case PASSWORD_RUN:
        return "A password must not run along the keyboard or the alphabet: choose three or four words.";
    }
    return "The password can't be used.";
}
