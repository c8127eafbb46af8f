/* The readers of tree.h, on jansson. */
#include "wire/json/tree.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/plain_text.h"
#include "base/times.h"
#include "wire/json/load.h"

json_t *tree_parse(const char *text, size_t length, struct wire_error *error)
{
    json_error_t why;
    if (memchr(text, '\0', length) != NULL) { /* jansson passes over one behind a number or a word */
        (void)wire_fail(error, NULL, "not JSON: it holds a NUL");
        return NULL;
    }
    json_t *value = json_load(text, length, JSON_REJECT_DUPLICATES, &why);
    if (value == NULL) {
        (void)wire_fail(error, NULL, "not JSON: line %d, column %d: %.100s", why.line, why.column, why.text);
    }
    return value;
}

static bool refuse(struct tree *tree, const struct wire_at *at, const char *format, va_list arguments)
{
    struct wire_error error = {"", ""};
    if (!tree->failed) {
        tree->failed = true;
        (void)vsnprintf(error.what, sizeof error.what, format, arguments);
        (void)wire_fail(tree->error, at, "%s", error.what);
    }
    return false;
}

bool tree_refuse(struct tree *tree, const char *key, const char *format, ...)
{
    const struct wire_at here = wire_key(tree->at, key);
    va_list arguments;
    va_start(arguments, format);
    (void)refuse(tree, key == NULL ? tree->at : &here, format, arguments);
    va_end(arguments);
    return false;
}

bool tree_refuse_at(struct tree *tree, const struct wire_at *at, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    (void)refuse(tree, at, format, arguments);
    va_end(arguments);
    return false;
}

bool tree_keys(struct tree *tree, const char *const *keys)
{
    if (tree->failed || !json_is_object(tree->value)) {
        return tree_refuse(tree, NULL, "must be an object");
    }
    /* jansson's iteration wants a mutable object but does not change it. */
    json_t *object = (json_t *)tree->value;
    for (void *iter = json_object_iter(object); iter != NULL; iter = json_object_iter_next(object, iter)) {
        const char *key = json_object_iter_key(iter);
        const char *const *known = keys;
        while (*known != NULL && strcmp(*known, key) != 0) {
            known++;
        }
        if (*known == NULL) {
            return tree_refuse(tree, key, "unknown key");
        }
    }
    return true;
}

bool tree_has(const struct tree *tree, const char *key)
{
    return json_object_get(tree->value, key) != NULL;
}

bool tree_given(const struct tree *tree, const char *key)
{
    const json_t *value = json_object_get(tree->value, key);
    return value != NULL && !json_is_null(value);
}

/* The member; NULL when it is not there, which is refused where it must be, or after a refusal. */
static const json_t *member(struct tree *tree, const char *key, bool required)
{
    const json_t *value = tree->failed ? NULL : json_object_get(tree->value, key);
    if (value == NULL && required) {
        (void)tree_refuse(tree, key, "missing");
    }
    return value;
}

bool tree_number(struct tree *tree, const char *key, bool required, double low, double high, double *out, bool *given)
{
    const json_t *value = member(tree, key, required);
    if (value == NULL) {
        return !tree->failed;
    }
    if (!json_is_number(value)) {
        return tree_refuse(tree, key, "must be a number");
    }
    const double number = json_number_value(value);
    if (!isfinite(number) || number < low || number > high) {
        return tree_refuse(tree, key, "must be %g to %g", low, high);
    }
    *out = number;
    if (given != NULL) {
        *given = true;
    }
    return true;
}

bool tree_number_clear(struct tree *tree, const char *key, double low, double high, double *out, bool *has)
{
    if (json_is_null(json_object_get(tree->value, key))) {
        *has = false;
        *out = 0;
        return !tree->failed;
    }
    return tree_number(tree, key, false, low, high, out, has);
}

bool tree_integer(struct tree *tree, const char *key, bool required, int low, int high, int *out)
{
    const json_t *value = member(tree, key, required);
    if (value == NULL) {
        return !tree->failed;
    }
    if (!json_is_integer(value) || json_integer_value(value) < low || json_integer_value(value) > high) {
        return tree_refuse(tree, key, "must be a whole number, %d to %d", low, high);
    }
    *out = (int)json_integer_value(value);
    return true;
}

bool tree_boolean(struct tree *tree, const char *key, bool required, bool *out)
{
    const json_t *value = member(tree, key, required);
    if (value == NULL) {
        return !tree->failed;
    }
    if (!json_is_boolean(value)) {
        return tree_refuse(tree, key, "must be true or false");
    }
    *out = json_is_true(value);
    return true;
}

bool tree_text_borrow(struct tree *tree, const char *key, bool required, size_t max, const char **out)
{
    const json_t *value = member(tree, key, required);
    if (value == NULL) {
        return !tree->failed;
    }
    if (!json_is_string(value) || json_string_length(value) == 0 || json_string_length(value) > max) {
        return tree_refuse(tree, key, "must be text of 1 to %zu bytes", max);
    }
    *out = json_string_value(value);
    return true;
}

static bool plain_text(struct tree *tree, const char *key, bool required, size_t max, enum plain_text_kind kind,
                       const char **out)
{
    char why[PLAIN_WHY];
    const char *borrowed = NULL;
    if (!tree_text_borrow(tree, key, required, max, &borrowed) || borrowed == NULL) {
        return !tree->failed;
    }
    if (!plain_text_check(borrowed, kind, why)) {
        return tree_refuse(tree, key, "%s", why);
    }
    *out = arena_strdup(tree->arena, borrowed);
    return *out != NULL || tree_refuse(tree, key, "out of memory");
}

bool tree_text(struct tree *tree, const char *key, bool required, size_t max, const char **out)
{
    return plain_text(tree, key, required, max, PLAIN_PROSE, out);
}

bool tree_name(struct tree *tree, const char *key, bool required, size_t max, const char **out)
{
    return plain_text(tree, key, required, max, PLAIN_NAME, out);
}

static bool is_cleared(const struct tree *tree, const char *key)
{
    const json_t *value = json_object_get(tree->value, key);
    return json_is_null(value) || (json_is_string(value) && json_string_length(value) == 0);
}

bool tree_text_clear(struct tree *tree, const char *key, size_t max, const char **out, bool *given)
{
    if (given != NULL) {
        *given = tree_has(tree, key);
    }
    if (is_cleared(tree, key)) {
        *out = NULL;
        return !tree->failed;
    }
    return tree_text(tree, key, false, max, out);
}

bool tree_time(struct tree *tree, const char *key, bool required, int64_t *out)
{
    const char *text = NULL;
    if (!required && is_cleared(tree, key)) {
        *out = 0;
        return !tree->failed;
    }
    if (!tree_text(tree, key, required, 40, &text) || text == NULL || time_parse(text, out)) {
        return !tree->failed;
    }
    return tree_refuse(tree, key, "must be a time with its zone, like 2026-05-02T09:14:05Z");
}

bool tree_uuid(struct tree *tree, const char *key, bool required, char out[UUID_TEXT])
{
    const char *text = NULL;
    if (!tree_text(tree, key, required, 64, &text) || text == NULL) {
        return !tree->failed;
    }
    if (!uuid_valid(text)) {
        return tree_refuse(tree, key, "must be an id");
    }
    memcpy(out, text, UUID_TEXT);
    return true;
}

bool tree_object(struct tree *tree, const char *key, bool required, const char *const *keys, tree_take *take, void *to)
{
    const struct tree outer = *tree;
    const struct wire_at here = wire_key(tree->at, key);
    tree->value = member(tree, key, required);
    tree->at = &here;
    if (tree->value != NULL && tree_keys(tree, keys)) {
        tree->failed = !take(tree, 0, to) || tree->failed;
    }
    tree->value = outer.value;
    tree->at = outer.at;
    return !tree->failed;
}

bool tree_list(struct tree *tree, const char *key, bool required, int most, const char *shape, tree_take *take,
               void *to, int *count)
{
    const struct tree outer = *tree;
    const struct wire_at list = wire_key(tree->at, key);
    const json_t *value = member(tree, key, required);
    const size_t length = json_array_size(value);
    if (value != NULL && (!json_is_array(value) || length > (size_t)most)) {
        return shape != NULL ? tree_refuse(tree, key, "%s", shape)
                             : tree_refuse(tree, key, "must be a list of at most %d entries", most);
    }
    if (count != NULL) {
        *count = (int)length;
    }
    for (size_t i = 0; i < length && !tree->failed; i++) {
        const struct wire_at here = wire_index(&list, (int)i);
        tree->value = json_array_get(value, i);
        tree->at = &here;
        tree->failed = !take(tree, (int)i, to) || tree->failed;
    }
    tree->value = outer.value;
    tree->at = outer.at;
    return !tree->failed;
}

const char *tree_here(const struct tree *tree)
{
    return json_string_value(tree->value);
}
