/* leadside backup --data DIR --to FILE: a checked copy of the club's file, taken while the server runs. */
#include <stdio.h>
#include <string.h>

#include "command.h"
#include "store/engine/check.h"

const char usage_backup[] = "usage: leadside backup --data DIR --to FILE\n";

int command_backup(int argc, char **argv)
{
    const char *directory = NULL;
    const char *file = NULL;
    for (int i = 1; i + 1 < argc; i += 2) {
        if (strcmp(argv[i], "--data") == 0) {
            directory = argv[i + 1];
        } else if (strcmp(argv[i], "--to") == 0) {
            file = argv[i + 1];
        }
    }
    if (!directory || !file || argc != 5) {
        (void)fputs(usage_backup, stderr);
        return 2;
    }
    char error[512] = "";
    if (store_backup(directory, file, error, sizeof error) != STORE_OK) {
        (void)fprintf(stderr, "leadside backup: %s\n", error);
        return 1;
    }
    (void)printf("%s: copied and checked.\n", file);
    return 0;
}
