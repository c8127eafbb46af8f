/* See options.h. */
#include "options.h"

#include <stdio.h>
#include <string.h>

static bool complain(const char *command, const char *what, const char *of)
{
    (void)fprintf(stderr, "leadside %s: %s \"%s\"\n", command, what, of);
    return false;
}

bool options_take(int argc, char **argv, int from, const struct option *options, size_t count)
{
    for (int i = from; i < argc; i++) {
        size_t k = 0;
        while (k < count && strcmp(options[k].name, argv[i]) != 0) {
            k++;
        }
        if (k == count) {
            return complain(argv[0], "can't use", argv[i]);
        }
        if (options[k].value == NULL) {
            *options[k].given = true;
            continue;
        }
        if (*options[k].value != NULL) {
            return complain(argv[0], "there are two of", argv[i]);
        }
        if (i + 1 == argc) {
            return complain(argv[0], "there is no value for", argv[i]);
        }
        *options[k].value = argv[++i];
    }
    return true;
}
