/* The drawings of `leadside score --svg`: written beside and moved into place, so that a link that lies in the way is
 * replaced and never followed out of the directory. */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "command_score.h"
#include "wire/report/draw_motion.h"

int score_draw_open(const char *directory, struct score_output *output)
{
    int fd = -1;
    if (mkdir(directory, 0777) == 0 || errno == EEXIST) {
        fd = open(directory, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    }
    if (fd < 0) {
        score_complain(output, directory, strerror(errno));
    } else if (faccessat(fd, ".", W_OK | X_OK, 0) != 0) {
        score_complain(output, directory, strerror(errno));
        (void)close(fd);
        fd = -1;
    }
    return fd;
}

/* A file's own name without directories and ending. */
static const char *stem_of(struct arena *arena, const char *path)
{
    const char *slash = strrchr(path, '/');
    const char *name = strcmp(path, "-") == 0 ? "stdin" : slash == NULL ? path : slash + 1;
    const char *dot = strrchr(name, '.');
    return arena_strndup(arena, name, dot == NULL || dot == name ? strlen(name) : (size_t)(dot - name));
}

static int by_stem(const void *a, const void *b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

bool score_draw_names(const struct score_files *files, struct score_output *output)
{
    const char **stems = arena_alloc(output->arena, (size_t)files->count * sizeof *stems + 1);
    bool good = stems != NULL;
    for (int i = 0; good && i < files->count; i++) {
        stems[i] = stem_of(output->arena, files->paths[i]);
        good = stems[i] != NULL;
    }
    if (!good) {
        return score_complain(output, NULL, "memory is short");
    }
    qsort(stems, (size_t)files->count, sizeof *stems, by_stem);
    for (int i = 1; i < files->count; i++) {
        if (strcmp(stems[i - 1], stems[i]) == 0) {
            return score_complain(output, stems[i],
                                  "two files of this name would be drawn over each other; draw them one by one");
        }
    }
    return true;
}

static bool all_written(int fd, const char *text, size_t length)
{
    while (length > 0) {
        ssize_t wrote = write(fd, text, length);
        if (wrote < 0 && errno != EINTR) {
            return false;
        }
        text += wrote > 0 ? wrote : 0;
        length -= wrote > 0 ? (size_t)wrote : 0;
    }
    return true;
}

static bool drawing_write(int directory, const char *name, const char *text, size_t length, struct score_output *output)
{
    const char *beside = name == NULL ? NULL : arena_printf(output->arena, ".%s.part", name);
    if (beside == NULL || text == NULL) {
        return score_complain(output, name, "memory is short");
    }
    (void)unlinkat(directory, beside, 0);
    int fd = openat(directory, beside, O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0666);
    if (fd < 0) {
        return score_complain(output, name, strerror(errno));
    }
    bool good = all_written(fd, text, length);
    int why = errno;
    if (close(fd) != 0 && good) {
        good = false;
        why = errno;
    }
    if (good && renameat(directory, beside, directory, name) != 0) {
        good = false;
        why = errno;
    }
    if (!good) {
        (void)unlinkat(directory, beside, 0);
        return score_complain(output, name, strerror(why));
    }
    return true;
}

bool score_draw(int directory, const char *path, const struct swing *swing, const struct language *language,
                struct score_output *output)
{
    struct arena *arena = output->arena;
    const struct speaker say = {arena, language};
    if (swing->motion == NULL) {
        const char *all =
            arena_printf(arena, "%sleadside score: %s: has no motion data to draw\n", output->errors, path);
        output->errors = all == NULL ? output->errors : all;
        return true;
    }
    struct measure_set measures;
    struct camera_findings findings = {.count = 0};
    measure_swing(swing, &measures, &findings);
    const char *stem = stem_of(arena, path);
    if (stem == NULL) {
        return score_complain(output, path, "memory is short");
    }
    size_t length = 0;
    const char *speeds = draw_speeds(swing->motion, stem, &say, &length);
    bool good = drawing_write(directory, arena_printf(arena, "%s-speeds.svg", stem), speeds, length, output);
    const char *hands = draw_hands(swing->motion, &measures.items[MEASURE_ORDER_BACK],
                                   &measures.items[MEASURE_ORDER_DOWN], stem, &say, &length);
    return drawing_write(directory, arena_printf(arena, "%s-hands.svg", stem), hands, length, output) && good;
}
