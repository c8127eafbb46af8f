/* An append-only writer of JSON text into an arena: no tree, no printf for numbers. For reports written by the
 * thousand. Once memory is short everything is ignored and json_out_finish gives NULL. */
#ifndef LEADSIDE_WIRE_JSON_OUT_H
#define LEADSIDE_WIRE_JSON_OUT_H

#include <stdbool.h>
#include <stddef.h>

#include "base/text.h"

struct json_out {
    struct text text;
    bool comma; /* the next value needs one before it */
    bool (*sink)(void *context, const char *text, size_t length);
    void *context;
};

void json_out_start(struct json_out *out, struct arena *arena);
/* Text that is handed on in pieces rather than kept: sink takes each, in order; false fails the writer. End it with
 * json_out_flush instead of json_out_finish. */
void json_out_start_to(struct json_out *out, struct arena *arena,
                       bool (*sink)(void *context, const char *text, size_t length), void *context);
bool json_out_flush(struct json_out *out);

/* Containers. key is NULL inside an array and at the top. Keys are plain text that needs no escaping. */
void json_out_object(struct json_out *out, const char *key);
void json_out_end_object(struct json_out *out);
void json_out_array(struct json_out *out, const char *key);
void json_out_end_array(struct json_out *out);

/* Values. text NULL writes null. decimals 0...9; trailing zeros are dropped; a number that is not finite, or too large
 * to write, becomes null. */
void json_out_text(struct json_out *out, const char *key, const char *text);
void json_out_number(struct json_out *out, const char *key, double value, int decimals);
/* The number that a reader gets back for it; false when null is written. */
bool json_out_as_read(double value, int decimals, double *out);
void json_out_bool(struct json_out *out, const char *key, bool value);
void json_out_null(struct json_out *out, const char *key);
/* Bytes as base64 text (base64.c). */
void json_out_base64(struct json_out *out, const char *key, const void *bytes, size_t size);
/* A value that is JSON already, as it was stored; not looked at. */
void json_out_raw(struct json_out *out, const char *key, const char *json, size_t length);
/* More of the value that json_out_raw began. */
void json_out_more(struct json_out *out, const char *json, size_t length);

/* The finished text, ended by a NUL that *length does not count; lives as long as the arena. */
char *json_out_finish(struct json_out *out, size_t *length);

#endif
