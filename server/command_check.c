/* leadside check: says whether the club's file, or a copy of it, is sound, and what is wrong when it is not. */
#include <stdio.h>

#include "command.h"
#include "options.h"
#include "prompt.h"
#include "store/engine/check.h"

static void print_finding(void *context, const char *sentence)
{
    (void)context;
    (void)puts(sentence);
}

const char usage_check[] = "usage: leadside check --data DIR\n"
                           "       leadside check --copy FILE [--key FILE]\n"
                           "  --data DIR   the club's folder; a running server is not disturbed\n"
                           "  --copy FILE  a copy that leadside backup made\n"
                           "  --key FILE   the key that the copy was encrypted with\n";

static int check_copy(const char *copy, const char *key_file)
{
    struct prompt_key key;
    char error[512] = "";
    if (!prompt_key_read("check", key_file, &key)) {
        return 1;
    }
    const enum store_status status = store_prove_copy(copy, key.bytes, error, sizeof error);
    prompt_key_forget(&key);
    if (status != STORE_OK) {
        (void)fprintf(stderr, "leadside check: %s\n", error);
        return 1;
    }
    (void)puts("The copy is sound.");
    return 0;
}

int command_check(int argc, char **argv)
{
    const char *directory = NULL;
    const char *copy = NULL;
    const char *key_file = NULL;
    const struct option options[] = {{"--data", &directory, NULL}, {"--copy", &copy, NULL}, {"--key", &key_file, NULL}};
    if (!options_take(argc, argv, 1, options, sizeof options / sizeof *options) ||
        (directory == NULL) == (copy == NULL) || (directory != NULL && key_file != NULL)) {
        (void)fputs(usage_check, stderr);
        return 2;
    }
    if (copy != NULL) {
        return check_copy(copy, key_file);
    }
    char error[512] = "";
    const int findings = store_check(directory, print_finding, NULL, error, sizeof error);
    if (findings < 0) {
        (void)fprintf(stderr, "leadside check: %s\n", error);
        return 1;
    }
    if (findings > 0) {
        (void)printf("%d finding%s: the file is not sound.\n", findings, findings == 1 ? "" : "s");
        return 1;
    }
    (void)puts("The file is sound.");
    return 0;
}
