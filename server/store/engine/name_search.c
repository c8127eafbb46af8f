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
    const size_t length = mbstowcs(out, text, NAME_MAX_LETTERS - 1);
    if (length == (size_t)-1) {
        return false;
    }
    for (size_t i = 0; i < length; i++) {
        out[i] = (wchar_t)towlower((wint_t)out[i]);
    }
    out[length] = L'\0';
    return true;
}

static void name_has(sqlite3_context *context, int count, sqlite3_value **values)
{
    (void)count;
    wchar_t name[NAME_MAX_LETTERS];
    wchar_t part[NAME_MAX_LETTERS];
    const char *const texts[] = {(const char *)sqlite3_value_text(values[0]),
                                 (const char *)sqlite3_value_text(values[1])};
    const locale_t before = uselocale(sqlite3_user_data(context)); /* this thread's alone */
    const bool read = texts[0] && texts[1] && small_letters(texts[0], name) && small_letters(texts[1], part);
    (void)uselocale(before);
    sqlite3_result_int(context, read && wcsstr(name, part) != NULL);
}

static void locale_free(void *letters)
{
    if (letters) {
        freelocale(letters);
    }
}

bool name_search_install(sqlite3 *handle)
{
    return sqlite3_create_function_v2(handle, "name_has", 2, SQLITE_UTF8 | SQLITE_DETERMINISTIC | SQLITE_DIRECTONLY,
                                      newlocale(LC_CTYPE_MASK, "C.UTF-8", (locale_t)0), name_has, NULL, NULL,
                                      locale_free) == SQLITE_OK;
}
