/* leadside backup: a checked copy of the club's file, taken while the server runs; encrypted on request. */
#include <stdio.h>

#include "command.h"
#include "options.h"
#include "prompt.h"
#include "store/engine/check.h"

const char usage_backup[] = "usage: leadside backup --data DIR --to FILE [--key FILE]\n"
                            "  --data DIR  the club's folder\n"
                            "  --to FILE   the copy; an older one of that name is replaced in one step\n"
                            "  --key FILE  encrypts the copy with this key (leadside key --make FILE)\n";

int command_backup(int argc, char **argv)
{
    const char *directory = NULL;
    const char *file = NULL;
    const char *key_file = NULL;
    const struct option options[] = {{"--data", &directory, NULL}, {"--to", &file, NULL}, {"--key", &key_file, NULL}};
    if (!options_take(argc, argv, 1, options, sizeof options / sizeof *options) || directory == NULL || file == NULL) {
        (void)fputs(usage_backup, stderr);
        return 2;
    }
    struct prompt_key key;
    char error[512] = "";
    if (!prompt_key_read("backup", key_file, &key)) {
        return 1;
    }
    const enum store_status status = store_backup(directory, file, key.bytes, error, sizeof error);
    prompt_key_forget(&key);
    if (status != STORE_OK) {
        (void)fprintf(stderr, "leadside backup: %s\n", error);
        return 1;
    }
    (void)printf("%s: copied%s and checked.\n", file, key_file == NULL ? "" : ", encrypted");
    return 0;
}
