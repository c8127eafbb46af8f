/* Reading the fields of a JSON object with limits; every failure names the path. All return false with *error set
 * when the field is wrong; an absent optional field is true with *out untouched. */
#ifndef LEADSIDE_WIRE_JSON_TREE_H
#define LEADSIDE_WIRE_JSON_TREE_H

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"
#include "wire/json/error.h"

/* Parses text: duplicate keys refused. The caller owns the value (json_decref). NULL with *error set. */
json_t *wire_parse(const char *text, size_t length, struct wire_error *error);

/* Value is an object and holds none but the NULL-terminated keys. */
bool wire_object(const json_t *value, const char *const *keys, const struct wire_at *at, struct wire_error *error);

/* A finite number in [low, high]. *given (may be NULL) becomes true when it was there. */
bool wire_number(const json_t *object, const char *key, bool required, double low, double high, double *out,
                 bool *given, const struct wire_at *at, struct wire_error *error);

bool wire_integer(const json_t *object, const char *key, bool required, int low, int high, int *out,
                  const struct wire_at *at, struct wire_error *error);

bool wire_boolean(const json_t *object, const char *key, bool required, bool *out, const struct wire_at *at,
                  struct wire_error *error);

/* Text of 1...max bytes, borrowed from the JSON value. */
bool wire_text_borrow(const json_t *object, const char *key, bool required, size_t max, const char **out,
                      const struct wire_at *at, struct wire_error *error);

/* The same, copied into the arena; prose (base/plain_text.h). */
bool wire_text(struct arena *arena, const json_t *object, const char *key, bool required, size_t max, const char **out,
               const struct wire_at *at, struct wire_error *error);
/* A name: one line of what can be seen. */
bool wire_name(struct arena *arena, const json_t *object, const char *key, bool required, size_t max, const char **out,
               const struct wire_at *at, struct wire_error *error);

/* An array of at most max entries, borrowed. *out = NULL when absent. */
bool wire_array(const json_t *object, const char *key, bool required, size_t max, const json_t **out,
                const struct wire_at *at, struct wire_error *error);

#endif
