/* What reading a film costs: one picture of 1080 lines with texture, a club and a ground; the ground of 15 pictures;
 * the path and the instants of 2000 frames. Processor time, the middle of many. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "core/finder/finder.h"

#define WIDTH 1920
#define HEIGHT 1080
#define CLUB 430.0
#define FRAMES 2000
#define BLOCKS 41

static unsigned char picture[WIDTH * HEIGHT];
static unsigned char ground[WIDTH * HEIGHT];
static struct finder_ray rays[FRAMES][FINDER_RAYS];
static int counts[FRAMES];
static struct swing_mark points[FRAMES][POINT_COUNT];
static double club_px[FRAMES];
static struct finder_shaft shafts[FRAMES];

static double now(void)
{
    struct timespec time;
    (void)clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time);
    return (double)time.tv_sec + (double)time.tv_nsec * 1e-9;
}

static int by_size(const void *a, const void *b)
{
    const double x = *(const double *)a;
    const double y = *(const double *)b;
    return (x > y) - (x < y);
}

static double middle(double *times)
{
    qsort(times, BLOCKS, sizeof *times, by_size);
    return 1000.0 * times[BLOCKS / 2];
}

static void draw(void)
{
    unsigned seed = 1;
    for (int i = 0; i < WIDTH * HEIGHT; i++) {
        seed = seed * 1664525U + 1013904223U;
        ground[i] = (unsigned char)(100U + (seed >> 24) % 16U + (i / WIDTH > 500 ? 0U : 60U));
        picture[i] = (unsigned char)(ground[i] + (seed >> 12) % 8U);
    }
    for (int k = 40; k < 400; k++) {
        for (int w = -2; w <= 2; w++) {
            picture[(540 + (int)(k * 0.6) + w) * WIDTH + 960 + (int)(k * 0.8)] = 220;
        }
    }
}

static double bench_ground(void)
{
    const unsigned char *list[FINDER_GROUND_MAX];
    unsigned char *out = malloc(sizeof ground);
    double times[BLOCKS] = {0};
    for (int k = 0; k < FINDER_GROUND_MAX; k++) {
        list[k] = k % 2 ? ground : picture;
    }
    for (int b = 0; b < BLOCKS; b++) {
        const double began = now();
        (void)finder_ground(list, FINDER_GROUND_MAX, sizeof ground, out);
        times[b] = now() - began;
    }
    free(out);
    return middle(times);
}

static double bench_frame(void)
{
    const struct finder_picture seen = {picture, WIDTH, HEIGHT, WIDTH};
    void *work = malloc(finder_frame_bytes());
    double times[BLOCKS] = {0};
    for (int p = 0; p < POINT_BALL; p++) {
        points[0][p] = (struct swing_mark){true, true, 940.0 + 10.0 * (p % 5), 300.0 + 30.0 * p, 10.0};
    }
    points[0][POINT_GRIP] = (struct swing_mark){true, true, 960.0, 540.0, 10.0};
    for (int b = 0; b < BLOCKS; b++) {
        const double began = now();
        counts[0] = finder_frame(&seen, ground, points[0], CLUB, work, rays[0]);
        times[b] = now() - began;
    }
    free(work);
    return middle(times);
}

static double bench_path(void)
{
    struct finder_film film = {FRAMES,
                               240.0,
                               (const struct finder_ray(*)[FINDER_RAYS])rays,
                               counts,
                               (const struct swing_mark(*)[POINT_COUNT])points,
                               club_px,
                               VIEW_FACE_ON,
                               HAND_RIGHT};
    struct finder_instant instants[CHECKPOINT_COUNT];
    void *work = malloc(finder_path_bytes(FRAMES));
    double times[BLOCKS] = {0};
    for (int f = 0; f < FRAMES; f++) {
        club_px[f] = CLUB;
        counts[f] = FINDER_RAYS;
        points[f][POINT_GRIP] = (struct swing_mark){true, true, 960.0, 540.0 - 200.0 * sin(f / 100.0), 10.0};
        for (int k = 0; k < FINDER_RAYS; k++) {
            rays[f][k] = (struct finder_ray){.angle_deg = fmod(f * 0.7 + 67.0 * k, 360.0),
                                             .sd_deg = 0.3,
                                             .to_px = 400.0,
                                             .score = 0.8 / (k + 1),
                                             .head_px = 400.0,
                                             .head_sd_px = 4.0};
        }
    }
    for (int b = 0; b < BLOCKS; b++) {
        const double began = now();
        (void)finder_path(&film, work, shafts);
        (void)finder_instants(&film, shafts, work, instants);
        times[b] = now() - began;
    }
    free(work);
    return middle(times);
}

int main(void)
{
    draw();
    printf("frame_ms %.3f\n", bench_frame());
    printf("found %d\n", counts[0]);
    printf("angle %.2f\n", rays[0][0].angle_deg);
    printf("ground_ms %.2f\n", bench_ground());
    printf("path_ms %.2f\n", bench_path());
    return 0;
}
