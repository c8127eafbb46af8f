/* leadside restore: puts a copy that leadside backup made in the place of the club's file, while no server runs. */
#include <stdio.h>

#include "command.h"
#include "options.h"
#include "prompt.h"
#include "store/engine/check.h"

const char usage_restore[] =
    "usage: leadside restore --data DIR --from FILE [--key FILE] [--replace]\n"
    "  --data DIR   the club's folder; made when it is missing\n"
    "  --from FILE  the copy\n"
    "  --key FILE   the key that the copy was encrypted with\n"
    "  --replace    the club's file that is there now goes\n"
    "The server must be stopped. Erasures and the server's key in the folder stay as they are.\n";

int command_restore(int argc, char **argv)
{
    const char *directory = NULL;
    const char *file = NULL;
    const char *key_file = NULL;
    bool replace = false;
    const struct option options[] = {{"--data", &directory, NULL},
                                     {"--from", &file, NULL},
                                     {"--key", &key_file, NULL},
                                     {"--replace", NULL, &replace}};
    if (!options_take(argc, argv, 1, options, sizeof options / sizeof *options) || directory == NULL || file == NULL) {
        (void)fputs(usage_restore, stderr);
        return 2;
    }
    struct prompt_key key;
    char error[512] = "";
    if (!prompt_key_read("restore", key_file, &key)) {
        return 1;
    }
    const enum store_status status = store_restore(directory, file, key.bytes, replace, error, sizeof error);
    prompt_key_forget(&key);
    if (status != STORE_OK) {
        (void)fprintf(stderr, "leadside restore: %s\n", error);
        return 1;
    }
    (void)printf("%s: checked, and put in its place in %s. Start the server, then: leadside check --data %s\n", file,
                 directory, directory);
    if (!store_has_ledger(directory)) {
        (void)printf("There is no %s/erasures: whoever was erased after this copy was made is in it again. Put the "
                     "newest erasures there before the start; where there is none, erase them again by hand.\n",
                     directory);
    }
    return 0;
}
