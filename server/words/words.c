/* The tables are read once and sorted by key. */
#include "words/words.h"

#include <jansson.h>
#include <math.h>
#include <pthread.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/embed.h"
#include "base/text.h"

#define LANGUAGES_MAX 8
#define VALUES_MAX 8

struct message {
    const char *key, *one, *other; /* one = other where there are no forms by number */
};

struct language {
    char tag[4];
    size_t count;
    struct message *messages;
};

static struct {
    pthread_once_t once;
    struct arena *arena;
    bool whole;
    int count;
    struct language languages[LANGUAGES_MAX];
    struct language drills; /* the shipped drills' English */
} tables = {.once = PTHREAD_ONCE_INIT};

static const struct language nothing = {.tag = "en"}; /* stands in while there are no tables */

static int by_key(const void *a, const void *b)
{
    return strcmp(((const struct message *)a)->key, ((const struct message *)b)->key);
}

/* Without soft hyphens (U+00AD), which only a page can use. */
static const char *plain(const json_t *value)
{
    char *text = arena_strdup(tables.arena, json_is_string(value) ? json_string_value(value) : "");
    for (char *at = text; text != NULL && (at = strstr(at, "\xc2\xad")) != NULL;) {
        memmove(at, at + 2, strlen(at + 2) + 1);
    }
    return text;
}

static bool language_read(struct language *language, json_t *root)
{
    const char *key;
    json_t *value;
    language->messages = arena_alloc(tables.arena, json_object_size(root) * sizeof *language->messages + 1);
    if (language->messages == NULL) {
        return false;
    }
    json_object_foreach(root, key, value)
    {
        json_t *one = json_is_object(value) ? json_object_get(value, "one") : value;
        json_t *other = json_is_object(value) ? json_object_get(value, "other") : value;
        struct message message = {arena_strdup(tables.arena, key), plain(one), plain(other)};
        if (message.key == NULL || message.one == NULL || message.other == NULL) {
            return false;
        }
        language->messages[language->count++] = message;
    }
    qsort(language->messages, language->count, sizeof *language->messages, by_key);
    return true;
}

#define FILE_NAME "en.json" /* as long as all of them: a list of them that lies beside is none */
#define DRILLS_NAME "drills.json"

/* Files are words/<tag>.json, and the drills' beside them. */
static void tables_read(void)
{
    tables.arena = arena_new(0);
    bool good = tables.arena != NULL;
    for (size_t i = 0; good && i < embedded_words_count && tables.count < LANGUAGES_MAX; i++) {
        const struct embedded_file *file = &embedded_words[i];
        const char *slash = strrchr(file->name, '/');
        const char *name = slash == NULL ? file->name : slash + 1;
        const bool drills = strcmp(name, DRILLS_NAME) == 0;
        if (!drills && strlen(name) != strlen(FILE_NAME)) {
            continue;
        }
        struct language *language = drills ? &tables.drills : &tables.languages[tables.count++];
        memcpy(language->tag, name, drills ? 0 : 2);
        json_t *root = json_loadb((const char *)file->data, file->size, 0, NULL);
        good = root != NULL && language_read(language, root);
        json_decref(root);
    }
    tables.whole = good;
}

bool words_load(void)
{
    return pthread_once(&tables.once, tables_read) == 0 && tables.whole;
}

static const struct language *language_of(const char *tag, size_t length)
{
    for (int i = 0; words_load() && i < tables.count; i++) {
        if (strlen(tables.languages[i].tag) == length && strncasecmp(tables.languages[i].tag, tag, length) == 0) {
            return &tables.languages[i];
        }
    }
    return NULL;
}

static const struct language *english_table(void)
{
    const struct language *found = language_of("en", 2);
    return found == NULL ? &nothing : found;
}

/* The weight of a range's parameters, in thousandths; 1000 where none is said. */
static long weight_of(const char *range, size_t length)
{
    for (size_t i = 0; i + 1 < length; i++) {
        if (range[i] == ';') {
            const char *at = range + i + 1 + strspn(range + i + 1, " \t");
            if ((*at == 'q' || *at == 'Q') && at[1] == '=') {
                double weight = strtod(at + 2, NULL);
                return weight >= 0 && weight <= 1 ? lround(1000 * weight) : 0;
            }
        }
    }
    return 1000;
}

const struct language *words_language(const char *text)
{
    const struct language *english = english_table();
    const struct language *best = NULL;
    long most = 0;
    for (const char *at = text == NULL ? "" : text; *at != '\0';) {
        at += strspn(at, ", \t");
        size_t length = strcspn(at, ",");
        /* a range of a place is of its language (RFC 4647, 3.4); "_" and "." are those of LANG */
        const struct language *found = *at == '*' ? english : language_of(at, strcspn(at, "-_.; \t,"));
        long weight = weight_of(at, length);
        if (found != NULL && weight > most) {
            best = found;
            most = weight;
        }
        at += length;
    }
    return best == NULL ? english : best;
}

const char *words_tag(const struct language *language)
{
    return language->tag;
}

const char *words_tags(const struct speaker *speaker)
{
    const char *tags[LANGUAGES_MAX];
    int count = 0;
    for (; words_load() && count < tables.count; count++) {
        tags[count] = tables.languages[count].tag;
    }
    return words_list(speaker, tags, count, true);
}

static const struct message *message_in(const struct language *language, const struct message *wanted)
{
    return language->count == 0 ? NULL : bsearch(wanted, language->messages, language->count, sizeof *wanted, by_key);
}

static const struct message *message_of(const struct language *language, const char *key)
{
    const struct message wanted = {.key = key};
    const struct language *english = english_table();
    const struct language *first = language == NULL ? english : language;
    const struct message *found = message_in(first, &wanted);
    return found != NULL || first == english ? found : message_in(english, &wanted);
}

/* The message with its {names} filled; one that nobody gave stays as it stands. */
static const char *filled(struct arena *arena, const char *message, const char *const (*values)[2], int count)
{
    struct text text;
    text_start(&text, arena, TEXT_NO_LIMIT);
    text_put(&text, "");
    while (*message != '\0') {
        size_t before = strcspn(message, "{");
        text_put_n(&text, message, before);
        message += before;
        size_t name = strcspn(message, "}");
        if (*message == '\0' || message[name] == '\0') {
            break;
        }
        int i = 0;
        while (i < count && (strlen(values[i][0]) != name - 1 || strncmp(values[i][0], message + 1, name - 1) != 0)) {
            i++;
        }
        if (i < count) {
            text_put(&text, values[i][1]);
        } else {
            text_put_n(&text, message, name + 1);
        }
        message += name + 1;
    }
    text_put(&text, message);
    return text_take(&text, NULL);
}

const char *words_say(const struct speaker *speaker, const char *key, ...)
{
    const char *values[VALUES_MAX][2];
    int count = 0;
    bool one = false;
    bool whole = true;
    va_list given;
    va_start(given, key);
    for (const char *name = va_arg(given, const char *); name != NULL && count < VALUES_MAX;
         name = va_arg(given, const char *)) {
        const char *value = va_arg(given, const char *);
        whole = whole && value != NULL;
        one = one || (whole && strcmp(name, "n") == 0 && strcmp(value, "1") == 0);
        values[count][0] = name;
        values[count++][1] = value;
    }
    va_end(given);
    const struct message *message = message_of(speaker->language, key);
    if (!whole || message == NULL) {
        return whole ? arena_strdup(speaker->arena, key) : NULL;
    }
    const char *text = one ? message->one : message->other;
    return strchr(text, '{') == NULL ? text : filled(speaker->arena, text, (const char *const(*)[2])values, count);
}

const char *words_say_code(const struct speaker *speaker, const char *beginning, const char *code)
{
    const char *key = arena_printf(speaker->arena, "%s%s", beginning, code);
    return key == NULL ? NULL : words_say(speaker, key, NULL);
}

const char *words_translated(const struct speaker *speaker, const char *key, const char *text)
{
    if (key == NULL || text == NULL || !words_load() || speaker->language == NULL) {
        return key == NULL ? NULL : text == NULL ? "" : text;
    }
    const struct message wanted = {.key = key};
    const struct message *english = message_in(&tables.drills, &wanted);
    const bool ours = english != NULL && strcmp(english->other, text) == 0;
    const struct message *theirs = ours ? message_in(speaker->language, &wanted) : NULL;
    return theirs == NULL ? text : theirs->other;
}

const char *words_number(const struct speaker *speaker, double value, int decimals)
{
    double tens = pow(10, decimals);
    double rounded = round(value * tens) / tens;
    char *text = arena_printf(speaker->arena, "%.*f", decimals, rounded == 0 ? 0 : rounded);
    char *point = text == NULL ? NULL : strchr(text, '.');
    const char *mark = words_say(speaker, "number.point", NULL);
    if (point != NULL && mark != NULL) {
        *point = mark[0];
    }
    return mark == NULL ? NULL : text;
}

const char *words_list(const struct speaker *speaker, const char *const *phrases, int count, int any)
{
    const char *text = "";
    for (int i = 0; i < count && text != NULL; i++) {
        if (phrases[i] == NULL) {
            return NULL;
        }
        const char *key = i < count - 1 ? "list.more" : any ? "list.or" : "list.and";
        text = i == 0 ? phrases[i] : words_say(speaker, key, "list", text, "more", phrases[i], NULL);
    }
    return text;
}

const char *words_capital(const struct speaker *speaker, const char *text)
{
    char *copy = text == NULL ? NULL : arena_strdup(speaker->arena, text);
    if (copy == NULL) {
        return NULL;
    }
    unsigned char first = (unsigned char)copy[0];
    unsigned char second = first == 0 ? 0 : (unsigned char)copy[1];
    if (first >= 'a' && first <= 'z') {
        copy[0] = (char)(first - 'a' + 'A');
    } else if (first == 0xc3 && second >= 0xa0 && second != 0xb7) { /* a letter of Latin-1 */
        copy[1] = (char)(second - 0x20);
    }
    return copy;
}
