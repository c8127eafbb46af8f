/* See name_search.h. The C library knows capitals of every script; SQLite's own lower() those of English alone. */
#include "store/engine/name_search.h"

#include <locale.h>
#include <stdlib.h>
#include <wchar.h>
#include <wctype.h>

#define NAME_MAX_LETTERS 256

/* In small letters, cut to fit; false when it is not UTF-8. */
static bool small_letters(const char *text, wchar_t out[NAME_MAX_LETTERS])
{
    size_t length = 0;
    for (; length < NAME_MAX_LETTERS - 1 && text[length] != '\0' && (unsigned char)text[length] < 128; length++) {
        const char letter = text[length]; /* an English one needs no locale */
        out[length] = letter >= 'A' && letter <= 'Z' ? letter - 'A' + 'a' : letter;
    }
    if (length < NAME_MAX_LETTERS - 1 && text[length] != '\0') {
        length = mbstowcs(out, text, NAME_MAX_LETTERS - 1);
        for (size_t i = 0; length != (size_t)-1 && i < length; i++) {
            out[i] = (wchar_t)towlower((wint_t)out[i]);
        }
    }
    if (length == (size_t)-1) {
        return false;
    }
    out[length] = L'\0';
    return true;
}

static bool name_read(sqlite3_context *context, sqlite3_value *value, wchar_t out[NAME_MAX_LETTERS])
{
    const char *text = (const char *)sqlite3_value_text(value);
    const locale_t before = uselocale(sqlite3_user_data(context)); /* this thread's alone */
    const bool read = text != NULL && small_letters(text, out);
    (void)uselocale(before);
    return read;
}

/* The part is the same for every row of a statement: its small letters are kept. */
static const wchar_t *part_read(sqlite3_context *context, sqlite3_value *value)
{
    wchar_t *part = sqlite3_get_auxdata(context, 1);
    if (part == NULL) {
        part = sqlite3_malloc(NAME_MAX_LETTERS * sizeof *part);
        if (part == NULL || !name_read(context, value, part)) {
            sqlite3_free(part);
            return NULL;
        }
        sqlite3_set_auxdata(context, 1, part, sqlite3_free);
        part = sqlite3_get_auxdata(context, 1); /* NULL when memory is short */
    }
    return part;
}

static void name_has(sqlite3_context *context, int count, sqlite3_value **values)
{
    (void)count;
    wchar_t name[NAME_MAX_LETTERS];
    const wchar_t *part = part_read(context, values[1]);
    sqlite3_result_int(context, part && name_read(context, values[0], name) && wcsstr(name, part) != NULL);
}

static void locale_free(void *letters)
{
    if (letters) {
        freelocale(letters);
    }
}

bool name_search_install(sqlite3 *handle)
{
    const locale_t letters = newlocale(LC_CTYPE_MASK, "C.UTF-8", (locale_t)0);
    return letters != (locale_t)0 &&
           sqlite3_create_function_v2(handle, "name_has", 2, SQLITE_UTF8 | SQLITE_DETERMINISTIC | SQLITE_DIRECTONLY,
                                      letters, name_has, NULL, NULL, locale_free) == SQLITE_OK;
}
