/* Reading a JSON document whose every key is known: values with their limits, lists, objects by a table of their
 * fields. The first complaint stands, with the path to its place; every reader gives false from then on. Paths are
 * written out only for a complaint. Limits are inclusive. */
#ifndef LEADSIDE_WIRE_JSON_FIELDS_H
#define LEADSIDE_WIRE_JSON_FIELDS_H

#include "base/arena.h"
#include "wire/json/error.h"
#include "wire/json/in.h"

#define JSON_FIELDS_TEXT 40 /* longer than every known key and name */

struct json_fields {
    struct json_in in;
    struct arena *arena;
    struct wire_error *error;
    bool failed;
};

/* Begins with an empty *error; json is borrowed and need not end with a NUL. */
struct json_fields json_fields_start(const char *json, size_t length, struct arena *arena, struct wire_error *error);
/* Nothing was refused and nothing follows the document. */
bool json_fields_finish(struct json_fields *fields);

/* Always false. */
bool json_fields_refuse(struct json_fields *fields, const struct wire_at *place, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* One value. */
bool json_fields_number(struct json_fields *fields, const struct wire_at *place, double low, double high, double *out);
bool json_fields_text(struct json_fields *fields, const struct wire_at *place, char *out, size_t size);
/* A text that must be this one. */
bool json_fields_word(struct json_fields *fields, const struct wire_at *place, const char *word);

/* Takes what stands at `here`: entry `index` of a list, field `index` of a table, or the value after the index-th key
 * (here->key) of a map. False when it was refused. */
typedef bool json_fields_take(struct json_fields *fields, const struct wire_at *here, int index, void *to);

/* A list of `least` to `most` numbers (8 at most), each with its own limits; *count (may be NULL) = how many. shape:
 * what to say of another length, "must be two numbers, [u, v]". */
bool json_fields_numbers(struct json_fields *fields, const struct wire_at *place, int least, int most,
                         const double (*limits)[2], const char *shape, double *out, int *count);

/* A list; *length = how many entries were taken. what: what more than max of them are called, "sticks". */
bool json_fields_list(struct json_fields *fields, const struct wire_at *place, int max, const char *what, int *length,
                      json_fields_take *take, void *to);

/* One field of an object: a number that goes straight to its place, or (no limits given) one for `take`. */
struct json_field {
    const char *name;
    bool required;
    double low, high;
    size_t value,
        given; /* offsets of the double and of the bool that says it was there; given = value when none does */
};

#define JSON_FIELD(key, must)                                                                                          \
    {                                                                                                                  \
        .name = (key), .required = (must)                                                                              \
    }
/* NOLINTBEGIN(bugprone-macro-parentheses): a type and a member take none */
#define JSON_FIELD_NUMBER(key, must, type, member, least, most)                                                        \
    {                                                                                                                  \
        (key), (must), (least), (most), offsetof(type, member), offsetof(type, member)                                 \
    }
#define JSON_FIELD_MAYBE(key, type, member, least, most)                                                               \
    {                                                                                                                  \
        (key), false, (least), (most), offsetof(type, member.value), offsetof(type, member.given)                      \
    }
/* NOLINTEND(bugprone-macro-parentheses) */

/* An object by its table, which ends with a nameless field; at most 32. `to` is what the offsets count from. *seen (may
 * be NULL) gets a bit for each key that stood there. Unknown keys, keys given twice and required ones that are missing
 * are refused. */
bool json_fields_object(struct json_fields *fields, const struct wire_at *place, const struct json_field *table,
                        json_fields_take *take, void *to, unsigned *seen);

/* An object whose keys are names of something. */
bool json_fields_map(struct json_fields *fields, const struct wire_at *place, json_fields_take *take, void *to);

#endif
