/* The messages of server/words/<language>/ as the program itself speaks them; pages fetch the same tables. English is
 * complete and fills what another language leaves out. */
#ifndef LEADSIDE_WORDS_WORDS_H
#define LEADSIDE_WORDS_WORDS_H

#include <stdbool.h>

#include "base/arena.h"

struct language; /* a table, there as long as the program runs */

/* Reads the tables, once; false when memory is too short for them. The first word said reads them too, so whoever must
 * not be without them calls this at the start. Without them a key is said itself. */
bool words_load(void) __attribute__((warn_unused_result));

/* Who is spoken to. What is said lives in the arena, or for ever; NULL as a language is English. */
struct speaker {
    struct arena *arena;
    const struct language *language;
};

/* The best of our languages for an Accept-Language header (RFC 9110, 12.5.4) or a single tag such as "de-AT"; English
 * where there is none, or text is NULL. Never NULL. */
const struct language *words_language(const char *text);
/* "en" */
const char *words_tag(const struct language *language);
/* "de, en or he": all of them. NULL when memory is short. */
const char *words_tags(const struct speaker *speaker) __attribute__((warn_unused_result));

/* The message of a key, its {names} filled from name, value, name, value, ..., NULL. Where a message has forms by
 * number the value of "n" chooses. A key that no table has is said itself. NULL when memory is short, or a value is
 * NULL. */
const char *words_say(const struct speaker *speaker, const char *key, ...)
    __attribute__((sentinel, warn_unused_result));
/* The same of the key that begins so and ends in a code: "fault." and "crowding". */
const char *words_say_code(const struct speaker *speaker, const char *beginning, const char *code)
    __attribute__((warn_unused_result));

/* A text that may be the English of a message: then in the speaker's language, else as it stands; "" of NULL. */
const char *words_translated(const struct speaker *speaker, const char *key, const char *text)
    __attribute__((warn_unused_result));

/* A number with the language's decimal mark, never -0. */
const char *words_number(const struct speaker *speaker, double value, int decimals) __attribute__((warn_unused_result));
/* "a", "a, b and c"; with any "a, b or c"; "" of none. NULL when a phrase is. */
const char *words_list(const struct speaker *speaker, const char *const *phrases, int count, int any)
    __attribute__((warn_unused_result));
/* A phrase at the beginning of a sentence. NULL stays NULL. */
const char *words_capital(const struct speaker *speaker, const char *text) __attribute__((warn_unused_result));

#endif
