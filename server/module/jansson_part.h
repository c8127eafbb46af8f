/* The rules' readers take trees of jansson, which Debian builds for no WebAssembly: jansson_part.c is the part of it
 * they use.
 */
#ifndef LEADSIDE_MODULE_JANSSON_PART_H
#define LEADSIDE_MODULE_JANSSON_PART_H

#include "base/arena.h"

/* Where trees are made from here on; they are gone with it. */
void jansson_use(struct arena *arena);

#endif
