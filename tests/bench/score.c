/* What one swing document costs: reading it, checking its marks, measuring it, scoring it, writing the report.
 * bench_score FILE; prints the median time of each step in microseconds, then the measures for the comparison with
 * other code. */
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "base/arena.h"
#include "core/finder/check.h"
#include "core/score.h"
#include "wire/report/write.h"
#include "wire/rules/drill_read.h"
#include "wire/rules/standard_read.h"
#include "wire/swing/read.h"

#define BLOCKS 41
#define SECONDS_PER_BLOCK 0.02

struct bench {
    char *json;
    size_t length;
    struct arena *arena;
    struct swing_document document;
    const struct standard *standard;
    const struct drill *drills;
    int drill_count;
    struct measure_set measures;
    struct camera_findings findings;
    struct mark_findings marks;
    struct report report;
    size_t report_length;
};

static double now(void)
{
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + (double)time.tv_nsec * 1e-9;
}

static void fail(const char *what, const char *where)
{
    fprintf(stderr, "bench_score: %s %s\n", what, where);
    exit(1);
}

static void read_document(struct bench *bench)
{
    struct wire_error error;
    struct arena *arena = arena_new(1 << 20);
    if (arena == NULL || !swing_read(bench->json, bench->length, arena, &bench->document, &error)) {
        fail(error.what, error.path);
    }
    arena_free(arena);
}

static void check_document(struct bench *bench)
{
    bench->marks.count = 0;
    check_marks(&bench->document.swing, &bench->marks);
}

static void measure_document(struct bench *bench)
{
    bench->findings.count = 0;
    measure_swing(&bench->document.swing, &bench->measures, &bench->findings);
}

static void score_document(struct bench *bench)
{
    const struct swing *swings[] = {&bench->document.swing};
    const struct score_player player = {.age_years = -1};
    score_swings(swings, 1, bench->standard, &player, bench->drills, bench->drill_count, &bench->report);
}

static void write_report(struct bench *bench)
{
    const struct report_context context = {.hand = bench->document.swing.hand, .age_years = -1};
    struct arena *arena = arena_new(1 << 20);
    if (arena == NULL || report_write(&bench->report, bench->standard, bench->drills, bench->drill_count, &context,
                                      arena, &bench->report_length) == NULL) {
        fail("no report", "");
    }
    arena_free(arena);
}

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Median over blocks of the mean time of one call, microseconds. */
static double time_of(void (*step)(struct bench *), struct bench *bench)
{
    double times[BLOCKS];
    for (int block = 0; block < BLOCKS; block++) {
        double begun = now(), spent = 0;
        long calls = 0;
        while ((spent = now() - begun) < SECONDS_PER_BLOCK) {
            for (int i = 0; i < 8; i++, calls++) {
                step(bench);
            }
        }
        times[block] = spent / (double)calls * 1e6;
    }
    qsort(times, BLOCKS, sizeof *times, by_value);
    return times[BLOCKS / 2];
}

static char *read_file(const char *name, size_t *length)
{
    FILE *file = fopen(name, "rb");
    char *text = malloc(8 << 20);
    if (file == NULL || text == NULL) {
        fail("can't read", name);
    }
    *length = fread(text, 1, 8 << 20, file);
    fclose(file);
    return text;
}

static void print_measures(const struct measure_set *set)
{
    for (int i = 0; i < MEASURE_COUNT; i++) {
        const struct measure *measure = &set->items[i];
        const struct measure_info *info = measure_info((enum measure_item)i);
        if (measure->observed) {
            printf("measure %s@%s %.6f %.6f\n", info->name,
                   info->checkpoint == CHECKPOINT_NONE ? "-" : checkpoint_name(info->checkpoint), measure->value,
                   measure_sd(measure));
        }
    }
}

int main(int argc, char **argv)
{
    if (argc != 2) {
        fprintf(stderr, "usage: bench_score FILE\n");
        return 2;
    }
    struct bench *bench = calloc(1, sizeof *bench);
    if (bench == NULL || (bench->arena = arena_new((size_t)16 << 20)) == NULL) {
        return 1;
    }
    bench->json = read_file(argv[1], &bench->length);
    bench->standard = standard_default(bench->arena);
    bench->drills = drills_default(bench->arena, &bench->drill_count);
    if (bench->standard == NULL || bench->drills == NULL) {
        fail("no standard", "");
    }
    read_document(bench);
    measure_document(bench);
    score_document(bench);
    write_report(bench);
    printf("document_bytes %zu\nreport_bytes %zu\n", bench->length, bench->report_length);
    printf("read_us %.2f\n", time_of(read_document, bench));
    printf("check_us %.2f\n", time_of(check_document, bench));
    printf("measure_us %.2f\n", time_of(measure_document, bench));
    printf("score_us %.2f\n", time_of(score_document, bench));
    printf("write_us %.2f\n", time_of(write_report, bench));
    print_measures(&bench->measures);
    arena_free(bench->arena);
    free(bench->json);
    free(bench);
    return 0;
}
