/* The options of the commands that have few: "--name value", and "--name" alone. */
#ifndef LEADSIDE_OPTIONS_H
#define LEADSIDE_OPTIONS_H

#include <stdbool.h>
#include <stddef.h>

struct option {
    const char *name;   /* "--data" */
    const char **value; /* borrowed from argv; NULL when it has none */
    bool *given;        /* of an option without a value */
};

/* Reads argv from `from` on; what isn't named stays as it was. False after a complaint on standard error: an option
 * that is not among them, without its value, or twice. */
bool options_take(int argc, char **argv, int from, const struct option *options, size_t count)
    __attribute__((warn_unused_result));

#endif
