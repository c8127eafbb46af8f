/* Asking for a password at a terminal, or reading one line from a pipe. */
#ifndef LEADSIDE_PROMPT_H
#define LEADSIDE_PROMPT_H

#include <stdbool.h>
#include <stddef.h>

#include "auth/password.h"

/* Asks twice on a terminal without showing it; from a pipe, reads one line, and a second one that must be the same when
 * there is one. False with a sentence on standard error. */
bool prompt_new_password(const char *command, const struct password_about *about, char *out, size_t size);

/* May this be the name of somebody or something (base/plain_text.h)? False with a sentence on standard error. */
bool prompt_name_fine(const char *command, const char *option, const char *name);

#endif
