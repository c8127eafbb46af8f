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

/* A list of `least` to `most` numbers between the limits; *count (may be NULL) = how many. shape: what to say of
 * another length, "must be two numbers, [u, v]". */
bool json_fields_numbers(struct json_fields *fields, const struct wire_at *place, int least, int most, double low,
                         double high, const char *shape, double *out, int *count);

/* A list. item reads the entry at index and gives false when it was refused; *length (may be NULL) = how many were
 * read. what: what more than max of them are called, "sticks". */
typedef bool json_fields_item(struct json_fields *fields, const struct wire_at *here, int index, void *to);
bool json_fields_list(struct json_fields *fields, const struct wire_at *place, int max, const char *what, int *length,
                      json_fields_item *item, void *to);

/* One field of an object: a number that goes straight to its place, or (no limits given) one for `read` to take. */
struct json_field {
    const char *name;
    bool required;
    double low, high;
    size_t value, given; /* offsets of the double and of the bool that says it was there; given = value when none does */
};

#define JSON_FIELD(key, must) {.name = (key), .required = (must)}
#define JSON_FIELD_NUMBER(key, must, type, member, least, most)                                                        \
    {(key), (must), (least), (most), offsetof(type, member), offsetof(type, member)}
#define JSON_FIELD_MAYBE(key, type, member, least, most)                                                               \
    {(key), false, (least), (most), offsetof(type, member.value), offsetof(type, member.given)}

/* An object by its table, which ends with a nameless field; at most 32. read takes the value of field `key` of the
 * table; *seen (may be NULL) gets a bit for each key that stood there. Unknown keys, keys given twice and required ones
 * that are missing are refused. */
typedef bool json_fields_read(struct json_fields *fields, const struct wire_at *here, int key, void *to);
bool json_fields_object(struct json_fields *fields, const struct wire_at *place, const struct json_field *table,
                        json_fields_read *read, void *to, unsigned *seen);

/* An object whose keys are names of something: read takes the value that stands after a key. */
typedef bool json_fields_named(struct json_fields *fields, const struct wire_at *here, const char *key, void *to);
bool json_fields_map(struct json_fields *fields, const struct wire_at *place, json_fields_named *read, void *to);

#endif
