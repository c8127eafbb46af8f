/* Which files `leadside score` is to score, and the bytes of one. */
#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>

#include "base/text.h"
#include "command_score.h"

#define READ_AT_ONCE ((size_t)64 << 10)

bool score_complain(struct score_output *output, const char *path, const char *what)
{
    const char *all = path == NULL
                          ? arena_printf(output->arena, "%sleadside score: %s\n", output->errors, what)
                          : arena_printf(output->arena, "%sleadside score: %s: %s\n", output->errors, path, what);
    output->errors = all == NULL ? "leadside score: memory is short\n" : all;
    output->good = false;
    return false;
}

static bool file_add(struct score_files *files, struct arena *arena, const char *path)
{
    if (files->count == files->room) {
        int room = files->room == 0 ? 64 : files->room * 2;
        const char **paths = arena_alloc(arena, (size_t)room * sizeof *paths);
        if (paths == NULL) {
            return false;
        }
        if (files->count > 0) {
            memcpy(paths, files->paths, (size_t)files->count * sizeof *paths);
        }
        files->paths = paths;
        files->room = room;
    }
    files->paths[files->count++] = path;
    return true;
}

static bool is_swing_name(const char *name)
{
    const char *dot = strrchr(name, '.');
    return dot != NULL && dot != name &&
           (strcasecmp(dot, ".json") == 0 || strcasecmp(dot, ".c3d") == 0 || strcasecmp(dot, ".trc") == 0);
}

static bool is_directory(const char *path)
{
    struct stat status;
    return strcmp(path, "-") != 0 && stat(path, &status) == 0 && S_ISDIR(status.st_mode);
}

static int by_name(const void *a, const void *b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

static bool directory_add(struct score_files *files, struct arena *arena, struct score_output *output, const char *path)
{
    DIR *directory = opendir(path);
    if (directory == NULL) {
        return score_complain(output, path, strerror(errno));
    }
    const int before = files->count;
    const bool slash = path[strlen(path) - 1] == '/';
    bool good = true;
    for (const struct dirent *entry = readdir(directory); good && entry != NULL; entry = readdir(directory)) {
        if (!is_swing_name(entry->d_name)) {
            continue;
        }
        const char *whole = arena_printf(arena, "%s%s%s", path, slash ? "" : "/", entry->d_name);
        good = whole != NULL && (is_directory(whole) || file_add(files, arena, whole));
    }
    (void)closedir(directory);
    if (!good) {
        return score_complain(output, NULL, "memory is short");
    }
    if (files->count == before) {
        return score_complain(output, path, "holds no .json, .c3d or .trc file");
    }
    qsort(files->paths + before, (size_t)(files->count - before), sizeof *files->paths, by_name);
    return true;
}

bool score_files_list(const struct score_options *options, struct arena *arena, struct score_output *output,
                      struct score_files *out)
{
    *out = (struct score_files){.count = 0};
    for (int i = 0; i < options->word_count; i++) {
        const char *word = options->words[i];
        if (is_directory(word)) {
            if (!directory_add(out, arena, output, word)) {
                return false;
            }
        } else if (!file_add(out, arena, word)) {
            return score_complain(output, NULL, "memory is short");
        }
    }
    if (options->lesson && out->count > SCORE_SWINGS_MAX) {
        return score_complain(output, NULL, "more files than one lesson can hold (50)");
    }
    return true;
}

/* All that a stream gives, in the arena; NULL past the limit or when memory is short. */
static char *stream_read(struct arena *arena, FILE *file, size_t *length)
{
    struct text all;
    size_t got = 1;
    text_start(&all, arena, SCORE_FILE_BYTES_MAX + READ_AT_ONCE);
    while (got > 0) {
        char *to = text_room(&all, READ_AT_ONCE);
        got = to == NULL ? 0 : fread(to, 1, READ_AT_ONCE, file);
        if (got > 0) {
            text_wrote(&all, got);
        }
    }
    char *data = text_take(&all, length);
    return *length > SCORE_FILE_BYTES_MAX ? NULL : data;
}

char *score_file_read(struct score_output *output, const char *path, size_t *length)
{
    FILE *file = strcmp(path, "-") == 0 ? stdin : fopen(path, "rb");
    if (file == NULL) {
        score_complain(output, path, strerror(errno));
        return NULL;
    }
    char *data = stream_read(output->arena, file, length);
    int bad = ferror(file);
    if (file != stdin) {
        (void)fclose(file);
    }
    if (bad != 0 || data == NULL) {
        score_complain(output, path, bad != 0 ? "could not be read" : "is larger than 8 MiB");
        return NULL;
    }
    return data;
}
