/* Places that no laboratory has: refused in a marker file as in a document, whatever the unit. */
#include <criterion/criterion.h>

#include <stdio.h>
#include <string.h>

#include "wire/markers/file.h"

static struct wire_error error;

/* One marker, two samples; the second at x. */
static bool read_trc(const char *unit, const char *x)
{
    char text[1024];
    struct marker_file file;
    struct arena *arena = arena_new(1 << 20);
    int length = snprintf(text, sizeof text,
                          "PathFileType\t4\t(X/Y/Z)\ta.trc\n"
                          "DataRate\tCameraRate\tNumFrames\tNumMarkers\tUnits\tOrigDataRate\tOrigDataStartFrame\t"
                          "OrigNumFrames\n"
                          "60\t60\t2\t1\t%s\t60\t1\t2\n"
                          "Frame#\tTime\tHead\t\t\n\t\tX1\tY1\tZ1\n\n"
                          "1\t0.0000\t0\t1\t0\n2\t0.0167\t%s\t1\t0\n",
                          unit, x);
    bool good = marker_file_read_trc(text, (size_t)length, arena, &file, &error);
    arena_free(arena);
    return good;
}

Test(marker_file, refuses_a_place_beyond_a_hundred_metres)
{
    static const struct {
        const char *unit, *x;
        bool good;
    } rows[] = {{"m", "100", true},     {"m", "-100", true},    {"m", "100.01", false},
                {"m", "-1e9", false},   {"mm", "100000", true}, {"mm", "100001", false},
                {"mm", "1e300", false}, {"cm", "-10000", true}, {"cm", "-10000.5", false}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        bool good = read_trc(rows[i].unit, rows[i].x);
        cr_assert_eq(good, rows[i].good, "%s %s: %s: %s", rows[i].x, rows[i].unit, error.path, error.what);
        if (!good) {
            cr_assert_str_eq(error.path, "data");
            cr_assert_not_null(strstr(error.what, "\"Head\""), "%s", error.what);
            cr_assert_not_null(strstr(error.what, "sample 2"), "%s", error.what);
        }
    }
}
