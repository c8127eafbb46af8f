/* The command line of `leadside score`. */
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "command_score.h"

#include "command.h"

const char usage_score[] =
    "usage: leadside score FILE... [--json] [--lesson] [--sex female|male] [--age YEARS] [--height METRES]\n"
    "                      [--pain AREA]... [--svg DIR] [--jobs N] [--language TAG]\n"
    "                      [--hand right|left] [--target AXIS] [--up AXIS] [--markers MAP.json]\n"
    "                      [--club KIND] [--club-number N] [--club-length METRES]\n"
    "  FILE      a swing document (leadside.swing/1) or a marker file (C3D, TRC); - reads standard input;\n"
    "            a directory stands for every .json, .c3d and .trc file in it\n"
    "  --json    the report as JSON (leadside.report/1)\n"
    "  --lesson  judges all files together, as one lesson\n"
    "  --sex, --age, --height, --pain  choose the ranges, the drills and the cautions\n"
    "  --svg     draws the motion of every swing that has it: DIR/NAME-speeds.svg and DIR/NAME-hands.svg\n"
    "  --jobs    scores so many files at a time, 1 to 64; the output keeps their order\n"
    "  --language  of the readable report and the drawings: en (as without it), de or another that is built in\n"
    "Of marker files, which don't say it themselves:\n"
    "  --hand    which way the player swings\n"
    "  --target, --up  the file's axis toward the target and the upright one: +x -x +y -y +z -z\n"
    "  --markers which marker is which point (leadside.markers/1)\n"
    "  --club    driver, wood, hybrid, iron or wedge; --club-number 7, --club-length 0.94\n";

static bool complain(const char *what, const char *of)
{
    (void)fprintf(stderr, "leadside score: %s%s%s\n", what, of == NULL ? "" : ": ", of == NULL ? "" : of);
    return false;
}

static bool whole_number(const char *text, long low, long high, int *out)
{
    char *end;
    errno = 0;
    long value = strtol(text, &end, 10);
    if (errno != 0 || end == text || *end != '\0' || value < low || value > high) {
        return false;
    }
    *out = (int)value;
    return true;
}

static bool decimal_number(const char *text, double low, double high, struct maybe *out)
{
    char *end;
    errno = 0;
    double value = strtod(text, &end);
    if (errno != 0 || end == text || *end != '\0' || !(value >= low && value <= high)) {
        return false;
    }
    *out = (struct maybe){true, value};
    return true;
}

/* Every option that takes a value reads it here. False after a complaint. */
typedef bool option_take(struct score_options *options, const char *value);

static bool take_sex(struct score_options *options, const char *value)
{
    return (sex_parse(value, &options->player.sex) && options->player.sex != SEX_ANY) ||
           complain("--sex is female or male, not", value);
}

static bool take_age(struct score_options *options, const char *value)
{
    return whole_number(value, 3, 120, &options->player.age_years) ||
           complain("--age is from 3 to 120 years, not", value);
}

static bool take_height(struct score_options *options, const char *value)
{
    return decimal_number(value, 0.5, 2.6, &options->player.height_m) ||
           complain("--height is from 0.5 to 2.6 m, not", value);
}

static bool take_pain(struct score_options *options, const char *value)
{
    unsigned area = 0;
    if (!area_parse(value, &area)) {
        return complain("--pain is neck, shoulder, elbow, wrist, upper back, low back, hip, knee or ankle, not", value);
    }
    options->player.pain |= area;
    return true;
}

static bool take_language(struct score_options *options, const char *value)
{
    options->language = words_language(value);
    if (strcmp(words_tag(options->language), value) == 0) {
        return true;
    }
    struct arena *arena = arena_new(0);
    const char *tags = arena == NULL ? NULL : words_tags(&(struct speaker){.arena = arena});
    const char *text = tags == NULL ? NULL : arena_printf(arena, "--language is %s, not", tags);
    (void)complain(text == NULL ? "--language is not" : text, value);
    arena_free(arena);
    return false;
}

static bool take_svg(struct score_options *options, const char *value)
{
    options->svg = value;
    return value[0] != '\0' || complain("--svg needs the name of a directory", NULL);
}

static bool take_jobs(struct score_options *options, const char *value)
{
    return whole_number(value, 1, SCORE_JOBS_MAX, &options->jobs) || complain("--jobs is from 1 to 64, not", value);
}

static bool take_hand(struct score_options *options, const char *value)
{
    options->reading.hand_given = true;
    options->reading.hand = strcmp(value, "left") == 0 ? HAND_LEFT : HAND_RIGHT;
    return options->reading.hand == HAND_LEFT || strcmp(value, "right") == 0 ||
           complain("--hand is right or left, not", value);
}

static bool take_target(struct score_options *options, const char *value)
{
    options->reading.target_given = true;
    return lab_axis_parse(value, &options->reading.axes.target) ||
           complain("--target is +x, -x, +y, -y, +z or -z, not", value);
}

static bool take_up(struct score_options *options, const char *value)
{
    options->reading.up_given = true;
    return lab_axis_parse(value, &options->reading.axes.up) || complain("--up is +x, -x, +y, -y, +z or -z, not", value);
}

static bool take_markers(struct score_options *options, const char *value)
{
    options->markers = value;
    return true;
}

static bool take_club(struct score_options *options, const char *value)
{
    return club_kind_parse(value, &options->reading.club) ||
           complain("--club is driver, wood, hybrid, iron or wedge, not", value);
}

static bool take_club_number(struct score_options *options, const char *value)
{
    return decimal_number(value, 1, 70, &options->reading.club_number) ||
           complain("--club-number is from 1 to 70, not", value);
}

static bool take_club_length(struct score_options *options, const char *value)
{
    return decimal_number(value, 0.3, 1.5, &options->reading.club_length_m) ||
           complain("--club-length is from 0.3 to 1.5 m, not", value);
}

static const struct {
    const char *name;
    option_take *take;
} valued[] = {{"--sex", take_sex},
              {"--age", take_age},
              {"--height", take_height},
              {"--pain", take_pain},
              {"--svg", take_svg},
              {"--language", take_language},
              {"--jobs", take_jobs},
              {"--hand", take_hand},
              {"--target", take_target},
              {"--up", take_up},
              {"--markers", take_markers},
              {"--club", take_club},
              {"--club-number", take_club_number},
              {"--club-length", take_club_length}};

/* 1 = taken with its value, 0 = no such option, -1 = complained of. */
static int valued_option(struct score_options *options, const char *name, const char *value)
{
    for (size_t i = 0; i < sizeof valued / sizeof *valued; i++) {
        if (strcmp(valued[i].name, name) == 0) {
            if (value == NULL) {
                complain("a value is missing after", name);
                return -1;
            }
            return valued[i].take(options, value) ? 1 : -1;
        }
    }
    return 0;
}

static bool options_fit(const struct score_options *options)
{
    const struct swing_reading *reading = &options->reading;
    if (reading->target_given && reading->up_given && !motion_axes_valid(reading->axes)) {
        return complain("--target and --up lie along one line", NULL);
    }
    return options->word_count > 0 || complain("no file is named", NULL);
}

bool score_options_read(int argc, char **argv, const char **words, struct score_options *out)
{
    *out = (struct score_options){.jobs = 1, .player = {.age_years = -1}, .words = words};
    for (int i = 1; i < argc; i++) {
        const char *word = argv[i];
        if (strcmp(word, "--json") == 0) {
            out->json = true;
        } else if (strcmp(word, "--lesson") == 0) {
            out->lesson = true;
        } else if (word[0] == '-' && word[1] != '\0') {
            int taken = valued_option(out, word, i + 1 < argc ? argv[i + 1] : NULL);
            if (taken <= 0) {
                return taken == 0 ? complain("no such option", word) : false;
            }
            i++;
        } else {
            words[out->word_count++] = word;
        }
    }
    return options_fit(out);
}
