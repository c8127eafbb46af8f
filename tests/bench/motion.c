/* What one recorded swing costs: 3 s at 240 Hz, every point, with gaps and noise. bench_motion FILE writes
 * the record for the comparison with other code (doubles: rate, count, points, then of each point all its places, then
 * of each point its flags); prints the median time of the whole analysis and of
 * filling and filtering alone, and what it found. */
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include "core/motion/series.h"
#include "core/score.h"
#include "tests/core/moving_figure.h"

#define BLOCKS 31
#define CALLS 8

static struct figure figure;
static struct motion_summary summary;
static struct motion_record record;
static void *work;
static struct series_filter filter;
static double *copy;
static bool filled[FIGURE_SAMPLES_MAX];

static double now(void)
{
    struct timespec time;
    (void)clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + (double)time.tv_nsec * 1e-9;
}

static void make_record(void)
{
    static const enum point gaps[] = {POINT_LEAD_WRIST, POINT_TRAIL_HIP, POINT_CLUBHEAD};
    figure.rate = 240.0;
    figure.seconds = 3.0 - 1.0 / 240.0;
    figure.begin = 0.6;
    figure.size = 1.0;
    figure.noise = 0.0008;
    figure_record(&figure);
    for (int g = 0; g < 3; g++) {
        for (int i = 0; i < 6; i++) {
            figure.seen[gaps[g]][120 + 100 * g + i] = false;
        }
    }
    record = figure_view(&figure);
}

static void write_record(const char *name)
{
    FILE *file = fopen(name, "wb");
    double head[3] = {figure.rate, figure.count, POINT_COUNT};
    size_t n = (size_t)figure.count;
    bool good = file != NULL && fwrite(head, sizeof *head, 3, file) == 3;
    for (int p = 0; good && p < POINT_COUNT; p++) {
        good = fwrite(figure.at[p], sizeof figure.at[p][0], n, file) == n;
    }
    for (int p = 0; good && p < POINT_COUNT; p++) {
        for (size_t i = 0; good && i < n; i++) {
            double flag = figure.seen[p][i];
            good = fwrite(&flag, sizeof flag, 1, file) == 1;
        }
    }
    if (file == NULL || fclose(file) != 0 || !good) {
        fprintf(stderr, "bench_motion: can't write %s\n", name);
        exit(1);
    }
}

static void analyse(void)
{
    if (!motion_analyse(&record, work, &summary)) {
        fprintf(stderr, "bench_motion: nothing was measured: %s\n", motion_issue_name(summary.findings[0].issue));
        exit(1);
    }
}

static void lesson(void)
{
    for (int i = 0; i < 10; i++) {
        analyse();
    }
}

static void fill_and_filter(void)
{
    double *places = copy;
    double *room = copy + (size_t)3 * FIGURE_SAMPLES_MAX;
    for (int p = 0; p < POINT_COUNT; p++) {
        memcpy(places, figure.at[p], (size_t)figure.count * sizeof figure.at[p][0]);
        (void)series_fill3(places, figure.count, figure.seen[p], filled, 24);
        series_filter_run3(&filter, places, figure.count, room);
    }
}

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Median over blocks of the mean time of one call, microseconds. */
static double time_of(void (*step)(void))
{
    double times[BLOCKS];
    for (int block = 0; block < BLOCKS; block++) {
        double begun = now();
        for (int i = 0; i < CALLS; i++) {
            step();
        }
        times[block] = (now() - begun) / CALLS * 1e6;
    }
    qsort(times, BLOCKS, sizeof *times, by_value);
    return times[BLOCKS / 2];
}

int main(int argc, char **argv)
{
    if (argc != 2) {
        fprintf(stderr, "usage: bench_motion FILE\n");
        return 2;
    }
    make_record();
    write_record(argv[1]);
    work = malloc(motion_work_bytes(&record));
    copy = malloc(sizeof *copy * 3 * (2 * FIGURE_SAMPLES_MAX + 800));
    if (work == NULL || copy == NULL || !series_filter_design(MOTION_BODY_HZ, figure.rate, &filter)) {
        return 1;
    }
    printf("samples %d\npoints %d\n", figure.count, POINT_COUNT);
    printf("motion_us %.2f\n", time_of(analyse));
    printf("filter_us %.2f\n", time_of(fill_and_filter));
    printf("lesson_us %.2f\n", time_of(lesson));
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        if (summary.events[c].found) {
            printf("found %s %.5f\n", checkpoint_name((enum checkpoint)c), summary.events[c].time_s);
        }
    }
    for (int s = 0; s < MOTION_SEGMENT_COUNT; s++) {
        if (summary.peaks[s].found) {
            printf("found %s %.5f\n", motion_segment_name((enum motion_segment)s), summary.peaks[s].time_s);
        }
    }
    printf("found slope %.5f\n", summary.plane_slope_deg);
    free(copy);
    free(work);
    return 0;
}
