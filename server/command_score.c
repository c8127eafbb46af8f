/* leadside score FILE... : judges swings by the built-in house standard and prints what a coach would say, or the JSON
 * report. Files are scored in several threads when asked; what they say is printed in the files' order. Needs no data
 * directory. */
#include <pthread.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "command.h"
#include "command_score.h"
#include "wire/report/text.h"
#include "wire/rules/drill_read.h"
#include "wire/rules/standard_read.h"

/* Shared by all threads, read only. */
struct score_run {
    const struct standard *standard;
    const struct drill *drills;
    int drill_count;
    const struct score_options *options;
    struct swing_reading reading; /* with the map */
    struct score_files files;
    int drawings; /* the directory's descriptor; -1 = none */
};

static struct swing_document *document_read(const struct score_run *run, const char *path, struct score_output *output)
{
    size_t length;
    enum swing_media media;
    struct wire_error error;
    struct swing_document *document = arena_alloc(output->arena, sizeof *document);
    if (document == NULL) {
        score_complain(output, path, "memory is short");
        return NULL;
    }
    const char *bytes = score_file_read(output, path, &length);
    if (bytes == NULL) {
        return NULL;
    }
    if (!swing_media_guess(bytes, length, &media)) {
        score_complain(output, path, "is neither a swing document (JSON) nor a C3D or TRC file");
        return NULL;
    }
    if (!swing_file_read(media, bytes, length, &run->reading, output->arena, document, &error)) {
        const char *what =
            arena_printf(output->arena, "%s%s%s", error.path, error.path[0] == '\0' ? "" : ": ", error.what);
        score_complain(output, path, what == NULL ? error.what : what);
        return NULL;
    }
    return document;
}

/* One report on count documents, as output->text. */
static bool report_make(const struct score_run *run, struct swing_document *const *documents, int count,
                        struct score_output *output)
{
    const struct swing *swings[SCORE_SWINGS_MAX];
    const struct marker_match *markers[SCORE_SWINGS_MAX];
    const struct score_options *options = run->options;
    struct report report;
    if (count < 1 || documents[0] == NULL) {
        return score_complain(output, NULL, "no swing to score");
    }
    struct report_context context = {.hand = documents[0]->swing.hand,
                                     .recorded_at =
                                         documents[0]->recorded_at[0] == '\0' ? NULL : documents[0]->recorded_at,
                                     .age_years = options->player.age_years,
                                     .pain = options->player.pain,
                                     .markers = markers};
    for (int i = 0; i < count; i++) {
        swings[i] = &documents[i]->swing;
        markers[i] = documents[i]->markers;
        if (documents[i]->swing.hand != documents[0]->swing.hand) {
            return score_complain(output, NULL, "one lesson is of one player, but the files hold both hands");
        }
    }
    score_swings(swings, count, run->standard, &options->player, run->drills, run->drill_count, &report);
    size_t length;
    const char *text = options->json ? report_write(&report, run->standard, run->drills, run->drill_count, &context,
                                                    output->arena, &length)
                                     : report_text(&report, run->standard, run->drills, run->drill_count, &context,
                                                   &(struct speaker){output->arena, options->language});
    text = text == NULL || !options->json ? text : arena_printf(output->arena, "%s\n", text);
    if (text == NULL) {
        return score_complain(output, NULL, "memory is short");
    }
    output->text = text;
    return true;
}

/* A file's own report, under its name when there are several. */
static void score_one(const struct score_run *run, int index, struct score_output *output)
{
    const char *path = run->files.paths[index];
    struct swing_document *document = document_read(run, path, output);
    if (document == NULL || !report_make(run, &document, 1, output)) {
        return;
    }
    if (run->files.count > 1 && !run->options->json) {
        const char *named = arena_printf(output->arena, "%s== %s ==\n%s", index == 0 ? "" : "\n", path, output->text);
        if (named == NULL) {
            score_complain(output, path, "memory is short");
            return;
        }
        output->text = named;
    }
    if (run->drawings >= 0) {
        (void)score_draw(run->drawings, path, &document->swing, run->options->language, output);
    }
}

static void score_lesson(const struct score_run *run, struct score_output *output)
{
    struct swing_document *documents[SCORE_SWINGS_MAX] = {NULL};
    int count = run->files.count;
    for (int i = 0; i < count; i++) {
        documents[i] = document_read(run, run->files.paths[i], output);
        if (documents[i] == NULL) {
            return;
        }
    }
    if (count == 0 || !report_make(run, documents, count, output)) {
        return;
    }
    for (int i = 0; run->drawings >= 0 && i < count; i++) {
        (void)score_draw(run->drawings, run->files.paths[i], &documents[i]->swing, run->options->language, output);
    }
}

/* ---- threads ---- */

#define AHEAD 4 /* files a thread, at most, that wait to be printed */

enum place_state { PLACE_FREE, PLACE_DONE };

/* Files are taken in order; the printer waits for the next one. A place of the ring belongs to file index % places. */
struct pool {
    const struct score_run *run;
    pthread_mutex_t lock;
    pthread_cond_t moved;
    int next, printed, places;
    struct score_output *ring;
    enum place_state *states;
};

static struct score_output output_start(void)
{
    return (struct score_output){.arena = arena_new(0), .text = "", .errors = "", .good = true};
}

static void *worker(void *given)
{
    struct pool *pool = given;
    (void)pthread_mutex_lock(&pool->lock);
    while (pool->next < pool->run->files.count) {
        if (pool->next >= pool->printed + pool->places) {
            (void)pthread_cond_wait(&pool->moved, &pool->lock);
            continue;
        }
        int index = pool->next++;
        (void)pthread_mutex_unlock(&pool->lock);
        struct score_output output = output_start();
        if (output.arena == NULL) {
            output.errors = "leadside score: memory is short\n";
            output.good = false;
        } else {
            score_one(pool->run, index, &output);
        }
        (void)pthread_mutex_lock(&pool->lock);
        pool->ring[index % pool->places] = output;
        pool->states[index % pool->places] = PLACE_DONE;
        (void)pthread_cond_broadcast(&pool->moved);
    }
    (void)pthread_mutex_unlock(&pool->lock);
    return NULL;
}

/* Prints and frees; false when the file was not scored or could not be printed. */
static bool output_end(struct score_output *output)
{
    bool good = output->good;
    good = fputs(output->text, stdout) >= 0 && good;
    good = fputs(output->errors, stderr) >= 0 && good;
    if (output->arena != NULL) {
        arena_free(output->arena);
    }
    return good;
}

static bool print_all(struct pool *pool)
{
    bool good = true;
    while (pool->printed < pool->run->files.count) {
        int place = pool->printed % pool->places;
        (void)pthread_mutex_lock(&pool->lock);
        while (pool->states[place] != PLACE_DONE) {
            (void)pthread_cond_wait(&pool->moved, &pool->lock);
        }
        struct score_output output = pool->ring[place];
        pool->states[place] = PLACE_FREE;
        pool->printed++;
        (void)pthread_cond_broadcast(&pool->moved);
        (void)pthread_mutex_unlock(&pool->lock);
        good = output_end(&output) && good;
    }
    return good;
}

static bool score_each(const struct score_run *run)
{
    struct score_output ring[SCORE_JOBS_MAX * AHEAD];
    enum place_state states[SCORE_JOBS_MAX * AHEAD] = {PLACE_FREE};
    pthread_t threads[SCORE_JOBS_MAX];
    int jobs = run->options->jobs < run->files.count ? run->options->jobs : run->files.count;
    struct pool pool = {.run = run, .places = jobs * AHEAD, .ring = ring, .states = states};
    int started = 0;
    bool good = pthread_mutex_init(&pool.lock, NULL) == 0 && pthread_cond_init(&pool.moved, NULL) == 0;
    while (good && started < jobs && pthread_create(&threads[started], NULL, worker, &pool) == 0) {
        started++;
    }
    if (started == 0) {
        (void)fputs("leadside score: no thread could be started\n", stderr);
        return false;
    }
    good = print_all(&pool);
    for (int i = 0; i < started; i++) {
        (void)pthread_join(threads[i], NULL);
    }
    (void)pthread_cond_destroy(&pool.moved);
    (void)pthread_mutex_destroy(&pool.lock);
    return good;
}

/* The club's map, named on the command line. */
static bool map_read(struct score_run *run, struct score_output *output)
{
    const char *path = run->options->markers;
    size_t length;
    struct wire_error error;
    run->reading = run->options->reading;
    if (path == NULL) {
        return true;
    }
    struct marker_map *map = arena_alloc(output->arena, sizeof *map);
    const char *text = map == NULL ? NULL : score_file_read(output, path, &length);
    if (text == NULL) {
        return false;
    }
    if (!marker_map_read(text, length, output->arena, map, &error)) {
        const char *what =
            arena_printf(output->arena, "%s%s%s", error.path, error.path[0] == '\0' ? "" : ": ", error.what);
        return score_complain(output, path, what == NULL ? error.what : what);
    }
    run->reading.map = map;
    return true;
}

/* Everything that is shared, before the first file. False after a complaint in output. */
static bool run_start(struct score_run *run, struct score_output *output)
{
    const struct score_options *options = run->options;
    run->standard = standard_default(output->arena);
    run->drills = drills_default(output->arena, &run->drill_count);
    if (run->standard == NULL || run->drills == NULL) {
        return score_complain(output, NULL, "memory is short");
    }
    if (!map_read(run, output) || !score_files_list(options, output->arena, output, &run->files)) {
        return false;
    }
    if (options->svg == NULL) {
        return true;
    }
    run->drawings = score_draw_names(&run->files, output) ? score_draw_open(options->svg, output) : -1;
    return run->drawings >= 0;
}

int command_score(int argc, char **argv)
{
    struct score_output output = output_start();
    const char **words = output.arena == NULL ? NULL : arena_alloc(output.arena, (size_t)argc * sizeof *words + 1);
    if (words == NULL || !words_load()) {
        (void)fputs("leadside score: memory is short\n", stderr);
        arena_free(output.arena);
        return 1;
    }
    struct score_options options;
    if (!score_options_read(argc, argv, words, &options)) {
        (void)fputs(usage_score, stderr);
        arena_free(output.arena);
        return 2;
    }
    struct score_run run = {.options = &options, .drawings = -1};
    bool good = run_start(&run, &output);
    if (good && options.lesson) {
        score_lesson(&run, &output);
    } else if (good) {
        good = score_each(&run);
    }
    if (run.drawings >= 0) {
        (void)close(run.drawings);
    }
    good = output_end(&output) && good;
    return fflush(stdout) == 0 && good ? 0 : 1;
}
