/* A pull reader of strict JSON (RFC 8259): one pass, nothing allocated, for documents whose every key is known.
 *
 * Values are taken in the order they stand. The first error sticks: later calls fail too. */
#ifndef LEADSIDE_WIRE_JSON_IN_H
#define LEADSIDE_WIRE_JSON_IN_H

#include <stdbool.h>
#include <stddef.h>

#define JSON_IN_DEPTH_MAX 32
#define JSON_IN_NUMBER_MAX 64 /* characters of one number */
#define JSON_IN_NUMBERS_MAX 8 /* numbers of one short list */

struct json_in {
    const char *text;
    size_t length, at;
    int depth;
    const char *error; /* NULL while all is well; static */
};

enum json_kind { JSON_KIND_NONE, JSON_KIND_OBJECT, JSON_KIND_ARRAY, JSON_KIND_TEXT, JSON_KIND_NUMBER, JSON_KIND_OTHER };

/* text is borrowed and need not end with a NUL. */
void json_in_start(struct json_in *in, const char *text, size_t length);

/* What stands next; JSON_KIND_NONE at the end or on an error. Takes nothing. */
enum json_kind json_in_peek(struct json_in *in);

/* Opens an object or an array. Then call the matching next until it gives false: the closing mark was taken, or
 * in->error is set. *count must be 0 on the first call; it counts the members taken. */
bool json_in_open(struct json_in *in, char mark);
bool json_in_next_key(struct json_in *in, int *count, char *key, size_t size);
bool json_in_next_item(struct json_in *in, int *count);

/* Takes one value. A text that is longer than size - 1 bytes is an error; U+0000 in a text too. */
bool json_in_text(struct json_in *in, char *out, size_t size);
bool json_in_number(struct json_in *in, double *out);
/* Takes a whole list of 1 to most numbers (JSON_IN_NUMBERS_MAX at most) and gives how many they are. 0 when anything
 * else stands there: reading has then got anywhere within it. */
int json_in_numbers(struct json_in *in, int most, double *out);
/* Takes a null if one stands next. */
bool json_in_null(struct json_in *in);
/* Takes any value whatever, checking that it is JSON. */
bool json_in_skip(struct json_in *in);
/* Nothing but white space is left. */
bool json_in_finish(struct json_in *in);

/* Line and column (in bytes), from 1, of where reading stands. */
void json_in_where(const struct json_in *in, int *line, int *column);

#endif
