/* What the module's files share: its input, its output, and the memory of one call. */
#ifndef LEADSIDE_MODULE_PARTS_H
#define LEADSIDE_MODULE_PARTS_H

#include <stdbool.h>
#include <stddef.h>

#include "base/arena.h"

struct json_out;

/* The call's own memory, new; what the last call gave is gone, and trees are made in it. NULL when memory is short. */
struct arena *module_begin(void);

/* What was written by the caller, if so many bytes are there; else NULL. */
const char *module_input(size_t bytes);

/* Begins a call whose input is a text of so many bytes; NULL: refused, and said why. */
const char *module_text(size_t bytes);

/* Ends the call's output. False when memory is short: the output is then that problem. */
bool module_answer(struct json_out *out);

/* A problem as output. Both always false. path may be NULL. */
bool module_refuse(const char *type, const char *path, const char *detail);
bool module_no_memory(void);

#endif
