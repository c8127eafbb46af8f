/* Driver of check_series.py. Each line: a word, then numbers; each answer one line of numbers, or "none".
 * design FC FS | noise FC FS | filter FC FS N x.. | filter3 FC FS N x y z.. | derivative RATE N x.. | fill LONGEST N
 * seen.. x.. parabola A B C | peak PROMINENCE N x.. | plane N x y z.. | turn DT 9 values 9 values (axes one after the
 * other) | frame right up */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/motion/series.h"
#include "core/vec.h"

#define MOST 120000

static double numbers[MOST];
static double work[MOST];
static bool seen[MOST];
static bool filled[MOST];

static int read_numbers(const char *text)
{
    int n = 0;
    char *end;
    while (n < MOST) {
        double x = strtod(text, &end);
        if (end == text) {
            break;
        }
        numbers[n++] = x;
        text = end;
    }
    return n;
}

static void answer(const double *x, int n)
{
    for (int i = 0; i < n; i++) {
        printf("%.17g%c", x[i], i + 1 < n ? ' ' : '\n');
    }
    if (n == 0) {
        puts("none");
    }
}

static struct vec3 place(int at)
{
    return vec_make(numbers[at], numbers[at + 1], numbers[at + 2]);
}

static struct vec_frame frame(int at)
{
    return (struct vec_frame){place(at), place(at + 3), place(at + 6)};
}

/* One channel through the three that the product works on together. */
static double three[3 * MOST];

static void spread(const double *x, int n)
{
    for (int i = 0; i < n; i++) {
        three[3 * i] = three[3 * i + 1] = three[3 * i + 2] = x[i];
    }
}

static void gather(double *x, int n)
{
    for (int i = 0; i < n; i++) {
        x[i] = three[3 * i];
    }
}

static void filter(bool design, int lanes, int n)
{
    struct series_filter f;
    if (!series_filter_design(numbers[0], numbers[1], &f)) {
        puts("none");
    } else if (design) {
        answer((double[]){f.b0, f.b1, f.b2, f.a1, f.a2, f.pad, series_filter_noise(&f)}, 7);
    } else if ((size_t)3 * ((size_t)n + 2 * (size_t)f.pad) > MOST) {
        puts("bad");
    } else if (lanes == 3) {
        series_filter_run3(&f, numbers + 3, n, work);
        answer(numbers + 3, 3 * n);
    } else {
        spread(numbers + 3, n);
        series_filter_run3(&f, three, n, work);
        gather(numbers + 3, n);
        answer(numbers + 3, n);
    }
}

static void fill(int n)
{
    for (int i = 0; i < n; i++) {
        seen[i] = numbers[2 + i] != 0.0;
    }
    double *x = numbers + 2 + n;
    spread(x, n);
    int missing = series_fill3(three, n, seen, filled, (int)numbers[0]);
    gather(x, n);
    x[n] = missing;
    answer(x, n + 1);
}

static void plane(int n)
{
    struct plane p;
    bool ok = plane_fit((const struct vec3 *)(const void *)(numbers + 1), n, &p);
    answer((double[]){p.centre.x, p.centre.y, p.centre.z, p.normal.x, p.normal.y, p.normal.z, p.slope_deg,
                      p.direction_deg, p.rms},
           ok ? 9 : 0);
}

static bool is(const char *line, const char *word, bool counts)
{
    size_t length = strlen(word);
    return counts && strncmp(line, word, length) == 0 && line[length] == ' ';
}

static void serve(const char *line, int count)
{
    int third = count > 2 ? (int)numbers[2] : 0;
    int second = count > 1 ? (int)numbers[1] : 0;
    double out[2] = {0, 0};
    if (is(line, "design", count == 2)) {
        filter(true, 0, 0);
    } else if (is(line, "filter", count == 3 + third)) {
        filter(false, 1, third);
    } else if (is(line, "filter3", count == 3 + 3 * third)) {
        filter(false, 3, third);
    } else if (is(line, "fill", count == 2 + 2 * second)) {
        fill(second);
    } else if (is(line, "parabola", count == 3)) {
        answer(out, series_parabola(numbers[0], numbers[1], numbers[2], out, out + 1) ? 2 : 0);
    } else if (is(line, "peak", count == 2 + second)) {
        printf("%d\n", series_peak(numbers + 2, 0, second, numbers[0]));
    } else if (is(line, "plane", count >= 1 && count == 1 + 3 * (int)numbers[0])) {
        plane((int)numbers[0]);
    } else if (is(line, "turn", count == 19)) {
        struct vec_frame a = frame(1);
        struct vec_frame b = frame(10);
        struct vec3 w = vec_rotation_speed(&a, &b, numbers[0]);
        answer((double[]){w.x, w.y, w.z}, 3);
    } else if (is(line, "frame", count == 6)) {
        struct vec_frame f;
        bool ok = vec_frame_of(place(0), place(3), &f);
        answer((double[]){f.x.x, f.x.y, f.x.z, f.y.x, f.y.y, f.y.z, f.z.x, f.z.y, f.z.z}, ok ? 9 : 0);
    } else {
        puts("bad");
    }
}

int main(void)
{
    static char line[2000000];
    while (fgets(line, sizeof line, stdin) != NULL) {
        const char *rest = strchr(line, ' ');
        serve(line, rest ? read_numbers(rest) : 0);
    }
    return 0;
}
