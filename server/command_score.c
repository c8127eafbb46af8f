/* leadside score FILE... : judges swing documents by the built-in house standard and prints what a coach would say,
 * or the JSON report. Needs no data directory. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "command.h"
#include "score.h"
#include "wire/drill_read.h"
#include "wire/report_text.h"
#include "wire/standard_read.h"
#include "wire/swing_read.h"

#define DOCUMENT_BYTES_MAX ((size_t)8 * 1024 * 1024)

static const char usage[] =
    "usage: leadside score FILE... [--json] [--lesson] [--sex female|male] [--age YEARS] [--pain AREA]...\n"
    "  FILE      a swing document (leadside.swing/1); - reads standard input\n"
    "  --json    the report as JSON (leadside.report/1)\n"
    "  --lesson  judges all files together, as one lesson\n"
    "  --sex, --age, --pain  choose the ranges, the drills and the cautions\n";

struct options {
    bool json, lesson;
    struct score_player player;
    int file_count;
    const char *files[SCORE_SWINGS_MAX];
};

struct scoring {
    struct arena *arena;
    const struct standard *standard;
    const struct drill *drills;
    int drill_count;
    const struct options *options;
};

static bool complain(const char *what, const char *of)
{
    (void)fprintf(stderr, "leadside score: %s%s%s\n", what, of == NULL ? "" : ": ", of == NULL ? "" : of);
    return false;
}

/* An option that takes a value. False when the value is missing or wrong. */
static bool valued_option(struct options *options, const char *name, const char *value)
{
    unsigned area = 0;
    if (value == NULL) {
        return complain("a value is missing after", name);
    }
    if (strcmp(name, "--sex") == 0) {
        return (sex_parse(value, &options->player.sex) && options->player.sex != SEX_ANY) ||
               complain("--sex is female or male, not", value);
    }
    if (strcmp(name, "--age") == 0) {
        char *end;
        errno = 0;
        long age = strtol(value, &end, 10);
        if (errno != 0 || end == value || *end != '\0' || age < 3 || age > 120) {
            return complain("--age is from 3 to 120 years, not", value);
        }
        options->player.age_years = (int)age;
        return true;
    }
    if (!area_parse(value, &area)) {
        return complain("--pain is neck, shoulder, elbow, wrist, upper back, low back, hip, knee or ankle, not", value);
    }
    options->player.pain |= area;
    return true;
}

static bool options_read(int argc, char **argv, struct options *options)
{
    *options = (struct options){.player = {.age_years = -1}};
    for (int i = 1; i < argc; i++) {
        const char *word = argv[i];
        if (strcmp(word, "--json") == 0) {
            options->json = true;
        } else if (strcmp(word, "--lesson") == 0) {
            options->lesson = true;
        } else if (strcmp(word, "--sex") == 0 || strcmp(word, "--age") == 0 || strcmp(word, "--pain") == 0) {
            if (!valued_option(options, word, i + 1 < argc ? argv[i + 1] : NULL)) {
                return false;
            }
            i++;
        } else if (word[0] == '-' && word[1] != '\0') {
            return complain("no such option", word);
        } else if (options->file_count == SCORE_SWINGS_MAX) {
            return complain("more files than one lesson can hold", NULL);
        } else {
            options->files[options->file_count++] = word;
        }
    }
    return options->file_count > 0;
}

/* The whole file in the arena; NULL after a complaint. */
static char *file_read(struct arena *arena, const char *path, size_t *length)
{
    FILE *file = strcmp(path, "-") == 0 ? stdin : fopen(path, "rb");
    if (file == NULL) {
        complain(path, strerror(errno));
        return NULL;
    }
    size_t capacity = 65536;
    char *data = arena_alloc(arena, capacity);
    *length = 0;
    while (data != NULL) {
        size_t got = fread(data + *length, 1, capacity - *length, file);
        *length += got;
        if (got == 0) {
            break;
        }
        if (*length == capacity) {
            char *larger = arena_alloc(arena, capacity * 2);
            if (larger != NULL) {
                memcpy(larger, data, *length);
            }
            data = larger;
            capacity *= 2;
        }
    }
    bool bad = ferror(file) != 0;
    if (file != stdin) {
        (void)fclose(file);
    }
    if (bad || data == NULL || *length > DOCUMENT_BYTES_MAX) {
        complain(path, bad ? "could not be read" : "is larger than 8 MiB");
        return NULL;
    }
    return data;
}

static struct swing_document *document_read(const struct scoring *scoring, const char *path)
{
    size_t length;
    struct wire_error error;
    struct swing_document *document = arena_alloc(scoring->arena, sizeof *document);
    char *text = document == NULL ? NULL : file_read(scoring->arena, path, &length);
    if (text == NULL) {
        return NULL;
    }
    if (!swing_read(text, length, scoring->arena, document, &error)) {
        (void)fprintf(stderr, "leadside score: %s: %s%s%s\n", path, error.path, error.path[0] == '\0' ? "" : ": ",
                      error.what);
        return NULL;
    }
    return document;
}

/* Scores and prints one report of count documents. */
static bool report_print(const struct scoring *scoring, struct swing_document *const *documents, int count)
{
    const struct swing *swings[SCORE_SWINGS_MAX];
    const struct marker_match *markers[SCORE_SWINGS_MAX];
    struct report report;
    struct report_context context = {.hand = documents[0]->swing.hand,
                                     .recorded_at = documents[0]->recorded_at,
                                     .age_years = scoring->options->player.age_years,
                                     .pain = scoring->options->player.pain,
                                     .markers = markers};
    for (int i = 0; i < count; i++) {
        swings[i] = &documents[i]->swing;
        markers[i] = documents[i]->markers;
        if (documents[i]->swing.hand != documents[0]->swing.hand) {
            return complain("one lesson is of one player, but the files hold both hands", NULL);
        }
    }
    score_swings(swings, count, scoring->standard, &scoring->options->player, scoring->drills, scoring->drill_count,
                 &report);
    size_t length;
    const char *text = scoring->options->json ? report_write(&report, scoring->standard, scoring->drills,
                                                             scoring->drill_count, &context, scoring->arena, &length)
                                              : report_text(&report, scoring->standard, scoring->drills,
                                                            scoring->drill_count, &context, scoring->arena);
    if (text == NULL) {
        return complain("memory is short", NULL);
    }
    return fputs(text, stdout) >= 0 && (!scoring->options->json || putchar('\n') != EOF);
}

/* Every file its own report. */
static bool score_each(const struct scoring *scoring)
{
    const struct options *options = scoring->options;
    bool good = true;
    for (int i = 0; i < options->file_count; i++) {
        struct swing_document *document = document_read(scoring, options->files[i]);
        if (document == NULL) {
            good = false;
            continue;
        }
        if (options->file_count > 1 && !options->json) {
            (void)printf("%s== %s ==\n", i == 0 ? "" : "\n", options->files[i]);
        }
        good = report_print(scoring, &document, 1) && good;
    }
    return good;
}

static bool score_lesson(const struct scoring *scoring)
{
    const struct options *options = scoring->options;
    struct swing_document *documents[SCORE_SWINGS_MAX] = {NULL};
    for (int i = 0; i < options->file_count; i++) {
        documents[i] = document_read(scoring, options->files[i]);
        if (documents[i] == NULL) {
            return false;
        }
    }
    return documents[0] != NULL && report_print(scoring, documents, options->file_count);
}

static bool score_files(const struct scoring *scoring)
{
    return scoring->options->lesson ? score_lesson(scoring) : score_each(scoring);
}

int command_score(int argc, char **argv)
{
    struct options options;
    if (!options_read(argc, argv, &options)) {
        (void)fputs(usage, stderr);
        return 2;
    }
    struct scoring scoring = {.arena = arena_new(0), .options = &options};
    if (scoring.arena == NULL) {
        complain("memory is short", NULL);
        return 1;
    }
    scoring.standard = standard_default(scoring.arena);
    scoring.drills = drills_default(scoring.arena, &scoring.drill_count);
    bool good = scoring.standard != NULL && scoring.drills != NULL && score_files(&scoring);
    arena_free(scoring.arena);
    return good ? 0 : 1;
}
