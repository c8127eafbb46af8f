/* What the files of `leadside score` share: the options, the files they name, reading one, drawing one. Private to
 * command_score*.c. */
#ifndef LEADSIDE_COMMAND_SCORE_H
#define LEADSIDE_COMMAND_SCORE_H

#include "core/score.h"
#include "wire/swing/file.h"
#include "words/words.h"

#define SCORE_JOBS_MAX 64
#define SCORE_FILE_BYTES_MAX ((size_t)8 * 1024 * 1024)

struct score_options {
    bool json, lesson;
    int jobs;                        /* 1...SCORE_JOBS_MAX */
    const char *svg;                 /* the directory for drawings; NULL = none asked for */
    const char *markers;             /* the file of a marker map; NULL = the default map */
    const struct language *language; /* of the readable report and the drawings; NULL = English */
    struct score_player player;
    struct swing_reading reading; /* what stands beside marker files; its map is not read yet */
    int word_count;               /* files and directories, as named */
    const char **words;           /* borrowed from argv */
};

/* Reads the command line; words has room for argc. False after a complaint, or when no file is named. */
bool score_options_read(int argc, char **argv, const char **words, struct score_options *out)
    __attribute__((warn_unused_result));

/* What becomes of one file or lesson, gathered so that threads never print. */
struct score_output {
    struct arena *arena;
    const char *text;   /* for standard output */
    const char *errors; /* for standard error; "" = none */
    bool good;
};

/* Adds "leadside score: path: what" to the errors; the path may be NULL. Always false. */
bool score_complain(struct score_output *output, const char *path, const char *what);

/* Files in the order in which they are scored, a directory replaced by the swings in it, sorted by name. False after
 * a complaint. */
struct score_files {
    int count, room;
    const char **paths;
};
bool score_files_list(const struct score_options *options, struct arena *arena, struct score_output *output,
                      struct score_files *out) __attribute__((warn_unused_result));

/* The whole file in the arena; NULL after a complaint. "-" is standard input. */
char *score_file_read(struct score_output *output, const char *path, size_t *length);

/* Opens the directory for drawings, made when missing; -1 after a complaint. */
int score_draw_open(const char *directory, struct score_output *output);

/* Two files that would draw to one name; false after a complaint. */
bool score_draw_names(const struct score_files *files, struct score_output *output);

/* Draws a swing's motion into <stem>-speeds.svg and <stem>-hands.svg of an open directory; a swing without motion data
 * is only told of. False after a complaint. */
bool score_draw(int directory, const char *path, const struct swing *swing, const struct language *language,
                struct score_output *output);

#endif
