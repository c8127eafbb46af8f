/* TRC files as text in the test: what is taken, and every way a table can be spoiled, with line and column. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "wire/markers/file.h"

#define TOP "PathFileType\t4\t(X/Y/Z)\tswing.trc\n"
#define KEYS "DataRate\tCameraRate\tNumFrames\tNumMarkers\tUnits\tOrigDataRate\tOrigDataStartFrame\tOrigNumFrames\n"
#define VALUES "100\t100\t3\t2\tmm\t100\t1\t3\n"
#define POINTS_LINE "Frame#\tTime\tLSHO\t\t\tR Sho\t\t\n"
#define AXES "\t\tX1\tY1\tZ1\tX2\tY2\tZ2\n"
#define ROW1 "1\t0.000\t100\t200\t300\t-1.5\t2.5e2\t0\n"
#define ROW2 "2\t0.010\t101\t201\t301\t-1.6\t+251\t.5\n"
#define ROW3 "3\t0.020\t102\t202\t302\t-1.7\t252\t1.\n"
#define HEAD TOP KEYS VALUES POINTS_LINE AXES

static struct arena *arena;

static void set_up(void)
{
    arena = arena_new(0);
}

static void tear_down(void)
{
    arena_free(arena);
}

TestSuite(trc, .init = set_up, .fini = tear_down);

/* Reads a copy without a final NUL, so that a step too far is caught. */
static bool read_bytes(const char *text, size_t length, struct marker_file *file, struct wire_error *error)
{
    char *exact = malloc(length + (length == 0));
    memcpy(exact, text, length);
    *error = (struct wire_error){"", ""};
    bool good = marker_file_read_trc(exact, length, arena, file, error);
    free(exact);
    return good;
}

static bool read_text(const char *text, struct marker_file *file, struct wire_error *error)
{
    return read_bytes(text, strlen(text), file, error);
}

static void good_file(const char *text)
{
    struct marker_file file;
    struct wire_error error;
    cr_assert(read_text(text, &file, &error), "%s: %s", error.path, error.what);
    cr_assert_eq(file.markers, 2);
    cr_assert_eq(file.frames, 3);
    cr_assert_eq(file.rate_hz, 100);
    cr_assert_not(file.up_given);
    cr_assert_str_eq(file.names[0], "LSHO");
    cr_assert_str_eq(file.names[1], "R Sho");
    cr_assert_float_eq(file.at[1].z, 0.301, 1e-12);
    cr_assert_float_eq(file.at[3].x, -0.0015, 1e-12);
    cr_assert_float_eq(file.at[3].y, 0.25, 1e-12);
    cr_assert_float_eq(file.at[4].y, 0.251, 1e-12);
    cr_assert_float_eq(file.at[4].z, 0.0005, 1e-12);
    cr_assert_float_eq(file.at[5].z, 0.001, 1e-12);
    for (int i = 0; i < 6; i++) {
        cr_assert(file.seen[i]);
    }
}

Test(trc, taken_in_every_dress)
{
    good_file(HEAD ROW1 ROW2 ROW3);
    good_file(HEAD "\n" ROW1 ROW2 ROW3);
    good_file(HEAD "\t\t\t\n\n" ROW1 ROW2 ROW3 "\n\n");
    good_file(TOP KEYS VALUES POINTS_LINE AXES ROW1 ROW2
              "3\t0.020\t102\t202\t302\t-1.7\t252\t1."); /* no final line end */
    good_file("PathFileType\t4\n" KEYS VALUES "Frame#\tTime\tLSHO\t\t\tR Sho\t\t\t\t\n" AXES ROW1 ROW2
              "3\t0.020\t 102 \t202\t302\t-1.7\t252\t1.\t\t\r\n"); /* trailing tabs, spaces, CRLF */
    good_file(TOP
              "Units\tNumMarkers\tNumFrames\tDataRate\nmm\t2\t3\t100\n" POINTS_LINE AXES ROW1 ROW2 ROW3); /* by name */
    good_file(HEAD "101\t5.000\t100\t200\t300\t-1.5\t250\t0\n"
                   "102\t5.010\t101\t201\t301\t-1.6\t251\t.5\n"
                   "103\t5.020\t102\t202\t302\t-1.7\t252\t1\n"); /* a piece of a longer record */
}

Test(trc, windows_line_ends)
{
    static const char text[] = HEAD ROW1 ROW2 ROW3;
    char twice[1024];
    size_t used = 0;
    for (const char *c = text; *c != '\0'; c++) {
        if (*c == '\n') {
            twice[used++] = '\r';
        }
        twice[used++] = *c;
    }
    twice[used] = '\0';
    good_file(twice);
}

Test(trc, empty_cells_are_gaps)
{
    struct marker_file file;
    struct wire_error error;
    cr_assert(read_text(HEAD "1\t0\t\t\t\t1\t2\t3\n2\t0.01\t1\t2\t3\t\t\t\n3\t0.02\t\t\t\t\t\t\n", &file, &error), "%s",
              error.what);
    static const bool seen[] = {false, true, false, true, false, false};
    for (int i = 0; i < 6; i++) {
        cr_assert_eq(file.seen[i], seen[i], "%d", i);
    }
}

Test(trc, units)
{
    static const struct {
        const char *values;
        double metres;
    } rows[] = {{"100\t100\t1\t1\tmm\n", .001},
                {"100\t100\t1\t1\tcm\n", .01},
                {"100\t100\t1\t1\tm\n", 1},
                {"100\t100\t1\t1\tM\n", 1}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char text[1024];
        struct marker_file file;
        struct wire_error error;
        (void)snprintf(text, sizeof text, "%s%s%s%s%s%s", TOP, KEYS, rows[i].values, "Frame#\tTime\tA\n",
                       "\t\tX1\tY1\tZ1\n", "1\t0\t1\t2\t3\n");
        cr_assert(read_text(text, &file, &error), "%s", error.what);
        cr_assert_float_eq(file.at[0].z, 3 * rows[i].metres, 1e-12);
    }
}

/* No unit said: three markers of a body 1.5 m high, in m and in mm; and in something else. */
Test(trc, a_missing_unit_is_told_from_the_size)
{
    static const struct {
        double unit;
        bool good;
    } rows[] = {{1, true}, {.01, true}, {.001, true}, {.1, false}, {1e-6, false}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char text[1024];
        struct marker_file file;
        struct wire_error error;
        (void)snprintf(text, sizeof text,
                       "%sDataRate\tNumFrames\tNumMarkers\n100\t1\t3\nFrame#\tTime\tA\t\t\tB\t\t\tC\n"
                       "\t\tX1\tY1\tZ1\tX2\tY2\tZ2\tX3\tY3\tZ3\n1\t0\t0\t%g\t0\t0\t0\t0\t%g\t0\t0\n",
                       TOP, 1.5 / rows[i].unit, 0.3 / rows[i].unit);
        bool good = read_text(text, &file, &error);
        cr_assert_eq(good, rows[i].good, "%g: %s", rows[i].unit, error.what);
        if (good) {
            cr_assert_float_eq(file.at[0].y, 1.5, 1e-9);
        } else {
            cr_assert_str_eq(error.path, "Units");
        }
    }
}

Test(trc, refused_with_line_and_column)
{
    static const struct {
        const char *text, *path, *what;
    } rows[] = {
        {"", "line 1", "PathFileType"},
        {"DataRate\n", "line 1", "PathFileType"},
        {"PathFileType", "line 1", "ends before"},
        {TOP, "line 1", "ends before"},
        {TOP KEYS, "line 2", "ends before"},
        {"PathFileType\t4\t(X/Z/Y)\tswing.trc\n" KEYS VALUES POINTS_LINE AXES ROW1 ROW2 ROW3, "line 1, column 3",
         "X/Y/Z"},
        {TOP "DataRate\tNumFrames\n100\t3\n" POINTS_LINE AXES ROW1 ROW2 ROW3, "line 2", "NumMarkers"},
        {TOP "DataRate\tNumFrames\tDataRate\n" VALUES, "line 2, column 3", "twice"},
        {TOP KEYS "100\t100\t3\n" POINTS_LINE AXES ROW1 ROW2 ROW3, "line 3", "fewer values"},
        {TOP KEYS "0\t100\t3\t2\tmm\n" POINTS_LINE AXES ROW1 ROW2 ROW3, "line 3, column 1", "from 20 to 2000"},
        {TOP KEYS "1e9\t100\t3\t2\tmm\n" POINTS_LINE AXES ROW1 ROW2 ROW3, "line 3, column 1", "from 20 to 2000"},
        {TOP KEYS "NaN\t100\t3\t2\tmm\n" POINTS_LINE AXES ROW1 ROW2 ROW3, "line 3, column 1", "number"},
        {TOP KEYS "100\t100\t3\t0\tmm\n" POINTS_LINE AXES ROW1 ROW2 ROW3, "line 3, column 4", "from 1 to 300"},
        {TOP KEYS "100\t100\t3\t301\tmm\n" POINTS_LINE AXES ROW1 ROW2 ROW3, "line 3, column 4", "from 1 to 300"},
        {TOP KEYS "100\t100\t2.5\t2\tmm\n" POINTS_LINE AXES ROW1 ROW2 ROW3, "line 3, column 3", "whole number"},
        {TOP KEYS "100\t100\t5001\t2\tmm\n" POINTS_LINE AXES ROW1 ROW2 ROW3, "line 3, column 3", "5000"},
        {TOP KEYS "100\t100\t5000\t2\tmm\n" POINTS_LINE AXES ROW1 ROW2 ROW3, "line 3, column 3", "don't fit"},
        {TOP KEYS "100\t100\t3\t2\tinch\n" POINTS_LINE AXES ROW1 ROW2 ROW3, "line 3, column 5", "m, cm or mm"},
        {TOP KEYS "100\t100\t4\t2\tmm\n" POINTS_LINE AXES ROW1 ROW2 ROW3, "line 8", "after 3 frames"},
        {TOP KEYS "100\t100\t2\t2\tmm\n" POINTS_LINE AXES ROW1 ROW2 ROW3, "line 8", "one frame more"},
        {TOP KEYS "100\t100\t3\t3\tmm\n" POINTS_LINE AXES ROW1 ROW2 ROW3, "line 4", "names 2 markers"},
        {TOP KEYS "100\t100\t3\t1\tmm\n" POINTS_LINE AXES ROW1 ROW2 ROW3, "line 4, column 6", "one more marker"},
        {TOP KEYS VALUES "Frame#\tTime\tA\t\t\tA\n" AXES ROW1 ROW2 ROW3, "line 4", "two markers"},
        {TOP KEYS VALUES "Frame#\tTime\tA\tB\n" AXES ROW1 ROW2 ROW3, "line 4, column 4", "two empty cells"},
        {TOP KEYS VALUES POINTS_LINE "\t\tX1\tY1\tZ1\tX2\tY2\n" ROW1 ROW2 ROW3, "line 5", "5 coordinates"},
        {TOP KEYS VALUES POINTS_LINE "\t\tX1\tZ1\tY1\tX2\tY2\tZ2\n" ROW1 ROW2 ROW3, "line 5, column 4", "in turn"},
        {HEAD ROW1 "2\t0.010\t101\t201\t301\t-1.6\t251\n" ROW3, "line 7, column 8", "ends before its last marker"},
        {HEAD ROW1 "2\n" ROW3, "line 7, column 2", "ends before its time"},
        {HEAD ROW1 "2\t0.010\t101\t201\t301\t-1.6\t251\t.5\t9\n" ROW3, "line 7, column 9", "one column more"},
        {HEAD ROW1 "2\t0.010\t101\tNaN\t301\t-1.6\t251\t.5\n" ROW3, "line 7, column 4",
         "must be a number, not \"NaN\""},
        {HEAD ROW1 "2\t0.010\t101\tinf\t301\t-1.6\t251\t.5\n" ROW3, "line 7, column 4", "number"},
        {HEAD ROW1 "2\t0.010\t101\t1e999\t301\t-1.6\t251\t.5\n" ROW3, "line 7, column 4", "number"},
        {HEAD ROW1 "2\t0.010\t101\t0x10\t301\t-1.6\t251\t.5\n" ROW3, "line 7, column 4", "number"},
        {HEAD ROW1 "2\t0.010\t101\t1,5\t301\t-1.6\t251\t.5\n" ROW3, "line 7, column 4", "number"},
        {HEAD ROW1 "2\t0.010\t101\t1 5\t301\t-1.6\t251\t.5\n" ROW3, "line 7, column 4", "number"},
        {HEAD ROW1 "2\t0.010\t101\t\t301\t-1.6\t251\t.5\n" ROW3, "line 7, column 5", "some of its coordinates"},
        {HEAD ROW1 ROW1 ROW3, "line 7, column 1", "frame 1 stands where frame 2"},
        {HEAD ROW2 ROW1 ROW3, "line 7, column 1", "frame 1 stands where frame 3"},
        {HEAD ROW1 ROW3 ROW3, "line 7, column 1", "frame 3 stands where frame 2"},
        {HEAD ROW1 "2\t0.020\t101\t201\t301\t1\t1\t1\n" ROW3, "line 7, column 2", "100 frames a second"},
        {HEAD ROW1 "\n" ROW2 ROW3, "line 8", "after an empty line"},
        {HEAD, "line 5", "after 0 frames"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct marker_file file;
        struct wire_error error;
        cr_assert_not(read_text(rows[i].text, &file, &error), "row %zu was taken", i);
        cr_assert_str_eq(error.path, rows[i].path, "row %zu: %s: %s", i, error.path, error.what);
        cr_assert_not_null(strstr(error.what, rows[i].what), "row %zu: %s", i, error.what);
    }
}

/* A file whose rate is not that of its times is refused, whichever of them lies. */
Test(trc, the_rate_is_that_of_the_times)
{
    struct marker_file file;
    struct wire_error error;
    cr_assert_not(read_text(TOP KEYS "200\t200\t3\t2\tmm\n" POINTS_LINE AXES ROW1 ROW2 ROW3, &file, &error));
    cr_assert_str_eq(error.path, "line 7, column 2");
}

Test(trc, cut_anywhere)
{
    static const char text[] = HEAD ROW1 ROW2 ROW3;
    size_t whole = sizeof text - 1;
    for (size_t length = 0; length < whole - 3; length++) {
        struct marker_file file;
        struct wire_error error;
        cr_assert_not(read_bytes(text, length, &file, &error), "%zu bytes", length);
        cr_assert_gt(strlen(error.what), 0);
    }
}

Test(trc, any_byte_changed)
{
    static const char values[] = "\t\n\r 0-9.eN\xff";
    char text[] = HEAD ROW1 ROW2 ROW3;
    int taken = 0;
    int given_back = 0;
    for (size_t at = 0; at < sizeof text - 1; at++) {
        char kept = text[at];
        for (size_t v = 0; v < sizeof values; v++) { /* the NUL too */
            struct marker_file file;
            struct wire_error error;
            text[at] = values[v];
            if (read_bytes(text, sizeof text - 1, &file, &error)) {
                taken++;
                cr_assert(file.frames >= 1 && file.frames <= 9 && file.markers >= 1 && file.markers <= 9);
            } else {
                given_back++;
                cr_assert_gt(strlen(error.what), 0);
            }
        }
        text[at] = kept;
    }
    cr_assert(taken > 100 && given_back > 100, "%d taken, %d refused", taken, given_back);
}

Test(trc, memory_that_runs_out)
{
    static const char text[] = HEAD ROW1 ROW2 ROW3;
    int refused = 0;
    for (size_t limit = 64; limit < 20000; limit += 64) {
        struct marker_file file;
        struct wire_error error = {"", ""};
        struct arena *small = arena_new(limit);
        if (small == NULL) {
            continue;
        }
        if (!marker_file_read_trc(text, sizeof text - 1, small, &file, &error)) {
            refused++;
            cr_assert_not_null(strstr(error.what, "memory"), "%zu: %s", limit, error.what);
        }
        arena_free(small);
    }
    cr_assert_gt(refused, 0);
}

Test(trc, known_by_its_first_bytes)
{
    cr_assert(marker_file_is_trc("PathFileType", 12));
    cr_assert_not(marker_file_is_trc("PathFileTyp", 11));
    cr_assert_not(marker_file_is_trc("", 0));
}
