/* The program's commands, one file each. argv[0] is the command's own name; the result is the exit status. */
#ifndef LEADSIDE_COMMAND_H
#define LEADSIDE_COMMAND_H

int command_account(int argc, char **argv);
int command_backup(int argc, char **argv);
int command_check(int argc, char **argv);
int command_demo(int argc, char **argv);
int command_init(int argc, char **argv);
int command_key(int argc, char **argv);
int command_restore(int argc, char **argv);
int command_score(int argc, char **argv);
int command_serve(int argc, char **argv);

/* How each is used. */
extern const char usage_account[], usage_backup[], usage_check[], usage_demo[], usage_init[], usage_key[],
    usage_restore[], usage_score[], usage_serve[];

#endif
