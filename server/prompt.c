/* See prompt.h. */
#include "prompt.h"

#include <sodium.h>
#include <stdio.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

#include "base/plain_text.h"

/* One line without its end; false at the end of the input or when it is too long. */
static bool line_read(char *out, size_t size)
{
    if (fgets(out, (int)size, stdin) == NULL) {
        return false;
    }
    size_t length = strcspn(out, "\r\n");
    bool whole = out[length] != '\0' || feof(stdin) != 0;
    out[length] = '\0';
    return whole;
}

static bool hidden_read(const char *question, char *out, size_t size)
{
    struct termios before;
    bool terminal = tcgetattr(STDIN_FILENO, &before) == 0;
    if (terminal) {
        struct termios silent = before;
        silent.c_lflag &= ~(tcflag_t)ECHO;
        (void)tcsetattr(STDIN_FILENO, TCSAFLUSH, &silent);
        (void)fputs(question, stderr);
    }
    bool read = line_read(out, size);
    if (terminal) {
        (void)tcsetattr(STDIN_FILENO, TCSAFLUSH, &before);
        (void)fputc('\n', stderr);
    }
    return read;
}

bool prompt_new_password(const char *command, const struct password_about *about, char *out, size_t size)
{
    char again[PASSWORD_LENGTH_MAX + 3];
    if (!hidden_read("Password: ", out, size)) {
        (void)fprintf(stderr, "leadside %s: the password is missing or too long\n", command);
        return false;
    }
    enum password_fault fault = password_check(out, about);
    if (fault != PASSWORD_FINE) {
        (void)fprintf(stderr, "leadside %s: %s\n", command, password_fault_text(fault));
        return false;
    }
    bool repeated = hidden_read("Once more: ", again, sizeof again);
    if ((repeated || isatty(STDIN_FILENO)) && (!repeated || strcmp(out, again) != 0)) {
        (void)fprintf(stderr, "leadside %s: the two passwords differ\n", command);
        return false;
    }
    return true;
}

bool prompt_name_fine(const char *command, const char *option, const char *name)
{
    char why[PLAIN_WHY];
    if (plain_text_check(name, PLAIN_NAME, why)) {
        return true;
    }
    (void)fprintf(stderr, "leadside %s: %s %s\n", command, option, why);
    return false;
}

bool prompt_key_read(const char *command, const char *file, struct prompt_key *out)
{
    *out = (struct prompt_key){0};
    if (sodium_init() < 0) {
        (void)fprintf(stderr, "leadside %s: the cipher can't be used\n", command);
        return false;
    }
    const enum key_file_status status = file == NULL ? KEY_FINE : key_file_read(file, out->held);
    if (status != KEY_FINE) {
        (void)fprintf(stderr, "leadside %s: the key %s %s\n", command, file, key_file_fault(status));
        return false;
    }
    out->bytes = file == NULL ? NULL : out->held;
    return true;
}

void prompt_key_forget(struct prompt_key *key)
{
    sodium_memzero(key, sizeof *key);
}
