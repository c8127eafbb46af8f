/* The program's front door: one table of commands, from which dispatch and help are made. */
#include <stdio.h>
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
    {"check", command_check, usage_check, "--data DIR", "checks a club's file for damage"},
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

int main(int argc, char **argv)
{
    if (argc < 2) {
        help_print(stderr);
        return 2;
    }
    if (strcmp(argv[1], "--version") == 0) {
        (void)puts("leadside " LEADSIDE_VERSION);
        return 0;
    }
    if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "help") == 0) {
        help_print(stdout);
        return 0;
    }
    for (size_t i = 0; i < COMMAND_COUNT; i++) {
        if (strcmp(commands[i].name, argv[1]) == 0) {
            if (strcmp(argv[argc - 1], "--help") == 0) {
                (void)fputs(commands[i].usage, stdout);
                return 0;
            }
            return commands[i].run(argc - 1, argv + 1);
        }
    }
    (void)fprintf(stderr, "leadside: no command \"%s\"\n\n", argv[1]);
    help_print(stderr);
    return 2;
}
