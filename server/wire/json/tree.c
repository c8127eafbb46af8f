/* The field readers of tree.h, on jansson. */
#include "wire/json/tree.h"

#include <math.h>
#include <string.h>

#include "base/plain_text.h"

json_t *wire_parse(const char *text, size_t length, struct wire_error *error)
{
    json_error_t why;
    json_t *value = json_loadb(text, length, JSON_REJECT_DUPLICATES, &why);
    if (value == NULL) {
        (void)wire_fail(error, NULL, "not JSON: line %d, column %d: %.100s", why.line, why.column, why.text);
    }
    return value;
}

bool wire_object(const json_t *value, const char *const *keys, const struct wire_at *at, struct wire_error *error)
{
    if (!json_is_object(value)) {
        return wire_fail(error, at, "must be an object");
    }
    /* jansson's iteration wants a mutable object but does not change it. */
    json_t *object = (json_t *)value;
    for (void *iter = json_object_iter(object); iter != NULL; iter = json_object_iter_next(object, iter)) {
        const char *key = json_object_iter_key(iter);
        const char *const *known = keys;
        while (*known != NULL && strcmp(*known, key) != 0) {
            known++;
        }
        if (*known == NULL) {
            struct wire_at here = wire_key(at, key);
            return wire_fail(error, &here, "unknown key");
        }
    }
    return true;
}

/* The field, or NULL: *ok tells whether it may be missing. */
static const json_t *field(const json_t *object, const char *key, bool required, bool *ok, const struct wire_at *here,
                           struct wire_error *error)
{
    const json_t *value = json_object_get(object, key);
    *ok = value != NULL || !required || wire_fail(error, here, "missing");
    return value;
}

bool wire_number(const json_t *object, const char *key, bool required, double low, double high, double *out,
                 bool *given, const struct wire_at *at, struct wire_error *error)
{
    struct wire_at here = wire_key(at, key);
    bool ok;
    const json_t *value = field(object, key, required, &ok, &here, error);
    if (value == NULL) {
        return ok;
    }
    if (!json_is_number(value)) {
        return wire_fail(error, &here, "must be a number");
    }
    double number = json_number_value(value);
    if (!isfinite(number) || number < low || number > high) {
        return wire_fail(error, &here, "must be %g to %g", low, high);
    }
    *out = number;
    if (given != NULL) {
        *given = true;
    }
    return true;
}

bool wire_integer(const json_t *object, const char *key, bool required, int low, int high, int *out,
                  const struct wire_at *at, struct wire_error *error)
{
    struct wire_at here = wire_key(at, key);
    bool ok;
    const json_t *value = field(object, key, required, &ok, &here, error);
    if (value == NULL) {
        return ok;
    }
    if (!json_is_integer(value) || json_integer_value(value) < low || json_integer_value(value) > high) {
        return wire_fail(error, &here, "must be a whole number, %d to %d", low, high);
    }
    *out = (int)json_integer_value(value);
    return true;
}

bool wire_boolean(const json_t *object, const char *key, bool required, bool *out, const struct wire_at *at,
                  struct wire_error *error)
{
    struct wire_at here = wire_key(at, key);
    bool ok;
    const json_t *value = field(object, key, required, &ok, &here, error);
    if (value == NULL) {
        return ok;
    }
    if (!json_is_boolean(value)) {
        return wire_fail(error, &here, "must be true or false");
    }
    *out = json_is_true(value);
    return true;
}

bool wire_text_borrow(const json_t *object, const char *key, bool required, size_t max, const char **out,
                      const struct wire_at *at, struct wire_error *error)
{
    struct wire_at here = wire_key(at, key);
    bool ok;
    const json_t *value = field(object, key, required, &ok, &here, error);
    if (value == NULL) {
        return ok;
    }
    if (!json_is_string(value) || json_string_length(value) == 0 || json_string_length(value) > max) {
        return wire_fail(error, &here, "must be text of 1 to %zu bytes", max);
    }
    *out = json_string_value(value);
    return true;
}

static bool plain_text(struct arena *arena, const json_t *object, const char *key, bool required, size_t max,
                       enum plain_text_kind kind, const char **out, const struct wire_at *at, struct wire_error *error)
{
    struct wire_at here = wire_key(at, key);
    char why[PLAIN_WHY];
    const char *borrowed = NULL;
    if (!wire_text_borrow(object, key, required, max, &borrowed, at, error)) {
        return false;
    }
    if (borrowed == NULL) {
        return true;
    }
    if (!plain_text_check(borrowed, kind, why)) {
        return wire_fail(error, &here, "%s", why);
    }
    *out = arena_strdup(arena, borrowed);
    return *out != NULL || wire_fail(error, &here, "out of memory");
}

bool wire_text(struct arena *arena, const json_t *object, const char *key, bool required, size_t max, const char **out,
               const struct wire_at *at, struct wire_error *error)
{
    return plain_text(arena, object, key, required, max, PLAIN_PROSE, out, at, error);
}

bool wire_name(struct arena *arena, const json_t *object, const char *key, bool required, size_t max, const char **out,
               const struct wire_at *at, struct wire_error *error)
{
    return plain_text(arena, object, key, required, max, PLAIN_NAME, out, at, error);
}

bool wire_array(const json_t *object, const char *key, bool required, size_t max, const json_t **out,
                const struct wire_at *at, struct wire_error *error)
{
    struct wire_at here = wire_key(at, key);
    bool ok;
    *out = field(object, key, required, &ok, &here, error);
    if (*out == NULL) {
        return ok;
    }
    if (!json_is_array(*out) || json_array_size(*out) > max) {
        return wire_fail(error, &here, "must be a list of at most %zu entries", max);
    }
    return true;
}
