/* leadside key: makes a key that copies are encrypted with. A key is never said on the command line: anybody on the
 * machine may read those. */
#include <sodium.h>
#include <stdio.h>

#include "base/key_file.h"
#include "command.h"
#include "options.h"

const char usage_key[] =
    "usage: leadside key --make FILE\n"
    "  --make FILE  32 random bytes that the file's owner alone may read; a file is never replaced\n"
    "Keep a copy of it apart from the machine and from the copies: without it they can't be read.\n";

int command_key(int argc, char **argv)
{
    const char *file = NULL;
    uint8_t key[KEY_BYTES];
    const struct option options[] = {{"--make", &file, NULL}};
    if (!options_take(argc, argv, 1, options, 1) || file == NULL) {
        (void)fputs(usage_key, stderr);
        return 2;
    }
    if (sodium_init() < 0) {
        (void)fputs("leadside key: no random numbers can be had\n", stderr);
        return 1;
    }
    const enum key_file_status status = key_file_make(file, key);
    sodium_memzero(key, sizeof key);
    if (status != KEY_FINE) {
        (void)fprintf(stderr, "leadside key: %s %s\n", file, key_file_fault(status));
        return 1;
    }
    (void)printf("%s is a new key. Keep a copy of it apart from this machine and from the copies.\n", file);
    return 0;
}
