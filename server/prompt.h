/* Asking for a password at a terminal, or reading one line from a pipe. */
#ifndef LEADSIDE_PROMPT_H
#define LEADSIDE_PROMPT_H

#include <stdbool.h>
#include <stddef.h>

#include "auth/password.h"
#include "base/key_file.h"

/* Asks twice on a terminal without showing it; from a pipe, reads one line, and a second one that must be the same when
 * there is one. False with a sentence on standard error. */
bool prompt_new_password(const char *command, const struct password_about *about, char *out, size_t size);

/* May this be the name of somebody or something (base/plain_text.h)? False with a sentence on standard error. */
bool prompt_name_fine(const char *command, const char *option, const char *name);

/* The key of --key; bytes are NULL when no file is named. Forgotten with prompt_key_forget. False with a sentence on
 * standard error. */
struct prompt_key {
    const uint8_t *bytes;
    uint8_t held[KEY_BYTES];
};
bool prompt_key_read(const char *command, const char *file, struct prompt_key *out) __attribute__((warn_unused_result));
void prompt_key_forget(struct prompt_key *key);

#endif
