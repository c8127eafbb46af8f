/* jansson's reader, made safe for short memory: left to itself it goes on without the characters that found no room,
 * and reads past the end of its own text for want of them. */
#ifndef LEADSIDE_WIRE_JSON_LOAD_H
#define LEADSIDE_WIRE_JSON_LOAD_H

#include <jansson.h>
#include <stddef.h>

/* Once, before jansson is used at all: from then on its memory is counted (arena_shortages), and reading ends where
 * there is none. */
void json_load_prepare(void);
/* json_loadb; NULL when memory is short, too, and nothing is left of what was read. error may be NULL. */
json_t *json_load(const char *text, size_t length, size_t flags, json_error_t *error);
/* Frees what json_dumps gave, as nothing else can. NULL is fine. */
void json_text_free(char *text);

#endif
