/* The program's front door: one table of commands, from which dispatch and help are made. */
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "command.h"

struct command {
    const char *name;
    int (*run)(int argc, char **argv);
    const char *usage, *arguments, *help;
};

static const struct command commands[] = {
    {"serve", command_serve, usage_serve, "--data DIR", "answers tablets and browsers"},
    {"init", command_init, usage_init, "--data DIR", "makes a new club and its head professional"},
    {"account", command_account, usage_account, "--data DIR", "adds people, sets passwords"},
    {"score", command_score, usage_score, "FILE...", "judges swing documents and says what a coach would say"},
    {"demo", command_demo, usage_demo, "--data DIR", "fills an empty directory with an invented club"},
    {"backup", command_backup, usage_backup, "--data DIR", "copies a running club's file and verifies the copy"},
    {"restore", command_restore, usage_restore, "--data DIR", "puts a copy in the place of the club's file"},
    {"check", command_check, usage_check, "--data DIR", "checks a club's file, or a copy, for damage"},
    {"key", command_key, usage_key, "--make FILE", "makes a key that copies are encrypted with"},
};

#define COMMAND_COUNT (sizeof commands / sizeof *commands)

static void help_print(FILE *to)
{
    (void)fputs("Leadside " LEADSIDE_VERSION ": the lesson record of a golf club's teaching professionals.\n\n"
                "usage: leadside COMMAND ...\n\n",
                to);
    for (size_t i = 0; i < COMMAND_COUNT; i++) {
        (void)fprintf(to, "  %-8s %-12s %s\n", commands[i].name, commands[i].arguments, commands[i].help);
    }
    (void)fputs("\nA command with --help tells how it is used.\n", to);
}

static const struct command *command_find(const char *name)
{
    for (size_t i = 0; i < COMMAND_COUNT; i++) {
        if (strcmp(commands[i].name, name) == 0) {
            return &commands[i];
        }
    }
    (void)fprintf(stderr, "leadside: no command \"%s\"\n\n", name);
    return NULL;
}

static bool is_help(const char *argument)
{
    return strcmp(argument, "--help") == 0 || strcmp(argument, "-h") == 0;
}

/* "--name=value" as "--name value", from the third argument on: both are read. out has room for twice argc. */
static int split(int argc, char **argv, char **out)
{
    int count = 0;
    for (int i = 0; i < argc; i++) {
        char *equals = i > 1 && strncmp(argv[i], "--", 2) == 0 ? strchr(argv[i], '=') : NULL;
        out[count++] = argv[i];
        if (equals != NULL) {
            *equals = '\0';
            out[count++] = equals + 1;
        }
    }
    return count;
}

static int command_run(int argc, char **argv)
{
    const struct command *command = command_find(argv[1]);
    if (command == NULL) {
        help_print(stderr);
        return 2;
    }
    for (int i = 2; i < argc; i++) {
        if (is_help(argv[i])) {
            (void)fputs(command->usage, stdout);
            return 0;
        }
    }
    char **words = calloc(2 * (size_t)argc, sizeof *words);
    if (words == NULL) {
        (void)fputs("leadside: memory is short\n", stderr);
        return 1;
    }
    const int count = split(argc, argv, words);
    const int status = command->run(count - 1, words + 1);
    free(words);
    return status;
}

static int run(int argc, char **argv)
{
    if (argc < 2) {
        help_print(stderr);
        return 2;
    }
    if (strcmp(argv[1], "--version") == 0 || strcmp(argv[1], "-V") == 0) {
        (void)puts("leadside " LEADSIDE_VERSION);
        return 0;
    }
    if (is_help(argv[1]) || (strcmp(argv[1], "help") == 0 && argc == 2)) {
        help_print(stdout);
        return 0;
    }
    if (strcmp(argv[1], "help") == 0) {
        const struct command *command = command_find(argv[2]);
        (void)fputs(command == NULL ? "" : command->usage, stdout);
        return command == NULL ? 2 : 0;
    }
    return command_run(argc, argv);
}

/* What could not be written is no success: a full disk behind "> FILE". */
int main(int argc, char **argv)
{
    const int status = run(argc, argv);
    if (fflush(stdout) != 0 || ferror(stdout) != 0) {
        (void)fputs("leadside: standard output can't be written\n", stderr);
        return status == 0 ? 1 : status;
    }
    return status;
}
