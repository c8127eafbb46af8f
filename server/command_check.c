/* leadside check --data DIR: says whether the club's file is sound, and what is wrong when it is not. */
#include <stdio.h>
#include <string.h>

#include "command.h"
#include "store/engine/check.h"

static void print_finding(void *context, const char *sentence)
{
    (void)context;
    (void)puts(sentence);
}

const char usage_check[] = "usage: leadside check --data DIR\n";

int command_check(int argc, char **argv)
{
    if (argc != 3 || strcmp(argv[1], "--data") != 0) {
        (void)fputs(usage_check, stderr);
        return 2;
    }
    char error[512] = "";
    const int findings = store_check(argv[2], print_finding, NULL, error, sizeof error);
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
