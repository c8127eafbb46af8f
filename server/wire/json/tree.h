/* Reading a JSON document that is held as a tree (jansson's): the bodies of requests, the house standard, drills. The
 * first refusal stands, with the path to its place; every reader gives false from then on. An absent optional member
 * leaves *out as it was. */
#ifndef LEADSIDE_WIRE_JSON_TREE_H
#define LEADSIDE_WIRE_JSON_TREE_H

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"
#include "base/ids.h"
#include "wire/json/error.h"

struct tree {
    const json_t *value;      /* what is being read: the document, or what within it a tree_take was called for */
    const struct wire_at *at; /* its place; NULL = the document itself */
    struct arena *arena;      /* for texts */
    struct wire_error *error; /* may be NULL */
    bool failed;
};

/* Parses text: duplicate keys refused. The caller owns the value (json_decref). NULL with *error set. */
json_t *tree_parse(const char *text, size_t length, struct wire_error *error);

/* Always false. key NULL = the value itself; at: any other place. */
bool tree_refuse(struct tree *tree, const char *key, const char *format, ...) __attribute__((format(printf, 3, 4)));
bool tree_refuse_at(struct tree *tree, const struct wire_at *at, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* The value is an object and holds none but the NULL-ended keys. */
bool tree_keys(struct tree *tree, const char *const *keys);
/* Is the key there (null counts)? Is it there, and not null? */
bool tree_has(const struct tree *tree, const char *key);
bool tree_given(const struct tree *tree, const char *key);

/* A finite number in [low, high]. *given (may be NULL) becomes true when it was there. */
bool tree_number(struct tree *tree, const char *key, bool required, double low, double high, double *out, bool *given);
/* The same; null clears. *has tells whether there is one now. */
bool tree_number_clear(struct tree *tree, const char *key, double low, double high, double *out, bool *has);
bool tree_integer(struct tree *tree, const char *key, bool required, int low, int high, int *out);
bool tree_boolean(struct tree *tree, const char *key, bool required, bool *out);

/* Text of 1...max bytes: borrowed from the tree as it is; or copied, prose (lines and tabs too) or the name of somebody
 * or something (base/plain_text.h says what both may hold). */
bool tree_text_borrow(struct tree *tree, const char *key, bool required, size_t max, const char **out);
bool tree_text(struct tree *tree, const char *key, bool required, size_t max, const char **out);
bool tree_name(struct tree *tree, const char *key, bool required, size_t max, const char **out);
/* null or "" clears: *out = NULL. *given tells whether the key was there; may be NULL. */
bool tree_text_clear(struct tree *tree, const char *key, size_t max, const char **out, bool *given);
/* RFC 3339; null clears to 0. */
bool tree_time(struct tree *tree, const char *key, bool required, int64_t *out);
bool tree_uuid(struct tree *tree, const char *key, bool required, char out[UUID_TEXT]);

/* Reads what tree->value now is: a member that is an object, or entry `index` of a list. */
typedef bool tree_take(struct tree *tree, int index, void *to);

/* A member that is an object of these keys (tree_keys). */
bool tree_object(struct tree *tree, const char *key, bool required, const char *const *keys, tree_take *take, void *to);
/* A member that is a list of at most `most` entries; shape: what to say else (NULL: the usual). *count (may be NULL) =
 * how many. */
bool tree_list(struct tree *tree, const char *key, bool required, int most, const char *shape, tree_take *take,
               void *to, int *count);
/* The value as text, for a list of names; NULL when it is none. */
const char *tree_here(const struct tree *tree);

#endif
