/* C3D files written byte by byte in the test: three byte orders x two number types, and every lie a file can tell. */
#include <criterion/criterion.h>

#include "c3d_maker.h"
#include "wire/markers/file.h"

static struct arena *arena;
static struct c3d_maker maker;

static const char *const names[] = {"LSHO", "RSHO", "LANK", "RANK"};
static const struct c3d_wish plain = {.processor = 84,
                                      .real = 1,
                                      .points = 4,
                                      .frames = 7,
                                      .rate = 200,
                                      .scale = 0.125,
                                      .labels = names,
                                      .label_count = 4,
                                      .units = "mm"};

static void set_up(void)
{
    arena = arena_new(0);
}

static void tear_down(void)
{
    arena_free(arena);
}

TestSuite(c3d, .init = set_up, .fini = tear_down);

/* Reads a copy that ends where the bytes end, so that a step too far is caught. */
static bool read_bytes(const unsigned char *bytes, size_t length, struct marker_file *file, struct wire_error *error)
{
    unsigned char *exact = malloc(length + (length == 0));
    memcpy(exact, bytes, length);
    *error = (struct wire_error){"", ""};
    bool good = marker_file_read_c3d(exact, length, arena, file, error);
    free(exact);
    return good;
}

static bool read_made(struct marker_file *file, struct wire_error *error)
{
    return read_bytes(maker.bytes, maker.length, file, error);
}

/* The made file is refused; its complaint begins at `path` and holds `text`. */
static void refused(const char *what, const char *path, const char *text)
{
    struct marker_file file;
    struct wire_error error;
    cr_assert_not(read_made(&file, &error), "%s was taken", what);
    cr_assert_str_eq(error.path, path, "%s: %s: %s", what, error.path, error.what);
    cr_assert_not_null(strstr(error.what, text), "%s: %s", what, error.what);
}

Test(c3d, every_byte_order_and_number_type_reads_the_same)
{
    for (int processor = 84; processor <= 86; processor++) {
        for (int real = 0; real <= 1; real++) {
            struct c3d_wish wish = plain;
            struct marker_file file;
            struct wire_error error;
            wish.processor = processor;
            wish.real = real;
            wish.analog = 6;
            wish.samples = 2;
            wish.with_events = 1;
            wish.with_trial = 1;
            wish.up = "+Z";
            maker_make(&maker, &wish);
            cr_assert(read_made(&file, &error), "%d %d: %s: %s", processor, real, error.path, error.what);
            cr_assert_eq(file.markers, 4);
            cr_assert_eq(file.frames, 7);
            cr_assert_float_eq(file.rate_hz, 200, 1e-9);
            cr_assert(file.up_given && file.up == LAB_PLUS_Z);
            for (int p = 0; p < 4; p++) {
                cr_assert_str_eq(file.names[p], names[p]);
                for (int f = 0; f < 7; f++) {
                    double at[3];
                    int seen = maker_place(p, f, at);
                    struct vec3 read = file.at[p * 7 + f];
                    cr_assert_eq(file.seen[p * 7 + f], seen);
                    if (seen) {
                        cr_assert_float_eq(read.x, at[0] / 1000, 1e-9, "%d %d %g", processor, real, read.x);
                        cr_assert_float_eq(read.y, at[1] / 1000, 1e-9);
                        cr_assert_float_eq(read.z, at[2] / 1000, 1e-9);
                    }
                }
            }
        }
    }
}

/* Six files made elsewhere with the same content; two of point 1's samples are marked as not seen. */
Test(c3d, files_made_elsewhere)
{
    static const char *const kinds[] = {"intel_int", "intel_real", "dec_int", "dec_real", "mips_int", "mips_real"};
    static const char *const labels[] = {"HEAD", "GRIP", "LSHO", "RSHO"};
    for (size_t k = 0; k < 6; k++) {
        char path[512];
        unsigned char bytes[4096];
        struct marker_file file;
        struct wire_error error;
        (void)snprintf(path, sizeof path, "%s/data/c3d/%s.c3d", TESTS_DIR, kinds[k]);
        FILE *in = fopen(path, "rb");
        cr_assert_not_null(in, "%s", path);
        size_t length = fread(bytes, 1, sizeof bytes, in);
        fclose(in);
        cr_assert_eq(length, 1536);
        cr_assert(read_bytes(bytes, length, &file, &error), "%s: %s: %s", kinds[k], error.path, error.what);
        cr_assert_eq(file.frames, 6);
        cr_assert_eq(file.markers, 4);
        cr_assert_float_eq(file.rate_hz, 200, 1e-9);
        for (int p = 0; p < 4; p++) {
            cr_assert_str_eq(file.names[p], labels[p]);
            for (int f = 0; f < 6; f++) {
                cr_assert_eq(file.seen[p * 6 + f], !(p == 1 && (f == 2 || f == 3)), "%s %d %d", kinds[k], p, f);
            }
        }
        cr_assert_float_eq(file.at[0].y, -0.3, 1e-6);
        cr_assert_float_eq(file.at[0].z, 1.2, 1e-6);
        cr_assert_float_eq(file.at[1 * 6 + 1].x, 0.2, 1e-6);
        cr_assert_float_eq(file.at[3 * 6 + 2].x, 0.7, 1e-6, "%g", file.at[3 * 6 + 2].x);
        cr_assert_float_eq(file.at[3 * 6 + 2].z, 1.21, 1e-6);
    }
}

/* A body of 1.7 m: ankles at 0.1, shoulders at 1.5 of its unit. */
static double body_unit;
static int body_place(int point, int frame, double at[3])
{
    at[0] = (point % 2 == 0 ? 0.2 : -0.2) / body_unit + frame;
    at[1] = 0.1 / body_unit;
    at[2] = (point < 2 ? 1.5 : 0.1) / body_unit;
    return 1;
}

Test(c3d, units)
{
    static const struct {
        const char *units;
        double metres;
    } rows[] = {{"mm", .001}, {"cm", .01}, {"m", 1}, {"MM", .001}};
    struct c3d_wish wish = plain;
    struct marker_file file;
    struct wire_error error;
    wish.place = body_place;
    body_unit = 1;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        wish.units = rows[i].units;
        maker_make(&maker, &wish);
        cr_assert(read_made(&file, &error));
        cr_assert_float_eq(file.at[0].z, 1.5 * rows[i].metres, 1e-12);
    }
    wish.units = "ft";
    maker_make(&maker, &wish);
    refused("feet", "parameters.POINT.UNITS", "must be m, cm or mm");
}

static int nothing_seen(int point, int frame, double at[3])
{
    (void)maker_place(point, frame, at);
    return 0;
}

Test(c3d, a_missing_unit_is_told_from_the_size)
{
    static const double unit[] = {1, .01, .001};
    struct c3d_wish wish = plain;
    struct marker_file file;
    struct wire_error error;
    wish.units = NULL;
    wish.place = body_place;
    for (int i = 0; i < 3; i++) {
        body_unit = unit[i];
        maker_make(&maker, &wish);
        cr_assert(read_made(&file, &error), "%s", error.what);
        cr_assert_float_eq(file.at[0].z, 1.5, 1e-6);
    }
    body_unit = 0.1;
    maker_make(&maker, &wish);
    refused("decimetres", "parameters.POINT.UNITS", "fit neither");
    wish.place = nothing_seen;
    maker_make(&maker, &wish);
    refused("nothing seen", "parameters.POINT.UNITS", "too few");
}

Test(c3d, all_gaps_and_three_frames_are_readable)
{
    struct c3d_wish wish = plain;
    struct marker_file file;
    struct wire_error error;
    wish.place = nothing_seen;
    wish.frames = 3;
    maker_make(&maker, &wish);
    cr_assert(read_made(&file, &error), "%s", error.what);
    cr_assert_eq(file.frames, 3);
    for (int i = 0; i < 12; i++) {
        cr_assert_not(file.seen[i]);
    }
}

Test(c3d, names_from_several_parameters_and_none)
{
    static const char *const one[] = {"A", "B"};
    static const char *const two[] = {"C"};
    struct c3d_wish wish = plain;
    struct marker_file file;
    struct wire_error error;
    wish.labels = one;
    wish.label_count = 2;
    wish.labels2 = two;
    wish.label2_count = 1;
    maker_make(&maker, &wish);
    cr_assert(read_made(&file, &error), "%s", error.what);
    cr_assert_str_eq(file.names[1], "B");
    cr_assert_str_eq(file.names[2], "C");
    cr_assert_str_eq(file.names[3], "#4");
    maker.bytes[maker_find(&maker, "LABELS2") + 2 + 7 + 2 + 4] = 0x80; /* not UTF-8 */
    cr_assert(read_made(&file, &error));
    cr_assert_str_eq(file.names[2], "?");
}

Test(c3d, two_markers_of_one_name_are_refused)
{
    static const char *const twins[] = {"LSHO", "RSHO", "LANK", "LSHO"};
    struct c3d_wish wish = plain;
    wish.labels = twins;
    maker_make(&maker, &wish);
    refused("twins", "parameters.POINT.LABELS", "LSHO");
}

Test(c3d, counts_that_lie)
{
    static const struct {
        const char *what;
        size_t at;
        int value;
        const char *path, *text;
    } rows[] = {
        {"header: more points", 2, 5, "header", "5 points where POINT:USED says 4"},
        {"header: no points", 2, 0, "header", "0 points"},
        {"header: one more frame", 8, 8, "header", "8 frames where POINT:FRAMES says 7"},
        {"header: too many frames", 8, 60000, "header", "60000 frames"},
        {"header: last before first", 6, 9, "header", "before the first"},
        {"header: analog values", 4, 3, "header", "3 analog"},
        {"header: data elsewhere", 16, 4, "header", "data's first block"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        maker_make(&maker, &plain);
        maker_word(&maker, rows[i].at, rows[i].value);
        refused(rows[i].what, rows[i].path, rows[i].text);
    }
}

/* Header and parameters tell the same lie. */
Test(c3d, counts_that_lie_together)
{
    static const struct {
        const char *name;
        size_t header;
        int value;
        const char *text;
    } rows[] = {
        {"USED", 2, 3, "go on after"},        {"USED", 2, 200, "the file ends"},    {"FRAMES", 8, 3, "go on after"},
        {"FRAMES", 8, 5000, "the file ends"}, {"DATA_START", 16, 900, "file ends"}, {"DATA_START", 16, 2, "no place"},
        {"DATA_START", 16, 1, "no place"},    {"DATA_START", 16, 0, "no place"},    {"USED", 2, 0, "from 1 to"},
        {"USED", 2, 301, "from 1 to"},
    };
    struct c3d_wish wish = plain;
    wish.frames = 40;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        maker_make(&maker, &wish);
        maker_word(&maker, rows[i].header, rows[i].value);
        maker_word(&maker, maker_find(&maker, rows[i].name) + strlen(rows[i].name) + 6, rows[i].value);
        refused(rows[i].name, "header", rows[i].text);
    }
}

static void real_at(const char *name, size_t header, double value)
{
    maker_make(&maker, &plain);
    maker_real(&maker, header, value);
    maker_real(&maker, maker_find(&maker, name) + strlen(name) + 6, value);
}

Test(c3d, rates_and_scales_that_cannot_be)
{
    static const double rates[] = {0, -200, 19, 2001, 1e30, NAN, INFINITY};
    for (size_t i = 0; i < sizeof rates / sizeof *rates; i++) {
        real_at("RATE", 20, rates[i]);
        refused("rate", "parameters.POINT.RATE", "must be");
    }
    real_at("SCALE", 12, 0);
    refused("scale 0", "parameters.POINT.SCALE", "other than 0");
    real_at("SCALE", 12, NAN);
    refused("scale NaN", "parameters.POINT.SCALE", "must be a number");
    maker_make(&maker, &plain);
    maker_real(&maker, 20, 100);
    refused("two rates", "header", "100 frames a second where POINT:RATE says 200");
    maker_make(&maker, &plain);
    maker_real(&maker, 12, 0.125);
    refused("two number types", "header", "scale");
}

Test(c3d, a_sample_that_is_no_number)
{
    size_t data;
    struct marker_file file;
    struct wire_error error;
    maker_make(&maker, &plain);
    data = ((size_t)1 + maker.bytes[514]) * 512;
    maker_real(&maker, data + 16 * (4 * 2 + 2) + 4, NAN); /* frame 3, point 3, y */
    refused("NaN", "data", "\"LANK\" holds something that is no number at sample 3");
    maker_real(&maker, data + 16 * (4 * 2 + 2) + 12, -1); /* and not seen: a gap */
    cr_assert(read_made(&file, &error));
    cr_assert_not(file.seen[2 * 7 + 2]);
    maker_real(&maker, data + 16 * (4 * 2 + 2) + 12, NAN); /* nor with a residual that is none */
    cr_assert(read_made(&file, &error));
    cr_assert_not(file.seen[2 * 7 + 2]);
}

Test(c3d, a_section_that_points_outside)
{
    struct marker_file file;
    struct wire_error error;
    maker_make(&maker, &plain);
    maker.bytes[0] = 200;
    refused("far section", "header", "block 200");
    maker.bytes[0] = 1;
    refused("section in the header", "header", "block 1");
    maker_make(&maker, &plain);
    maker.bytes[514] = 255;
    refused("long section", "parameters", "255 blocks");
    maker.bytes[514] = 0;
    refused("empty section", "parameters", "0 blocks");
    maker_make(&maker, &plain);
    maker.bytes[515] = 83;
    refused("processor", "parameters", "84, 85 or 86");
    static const struct {
        int link;
        const char *text;
    } links[] = {{-20, "links back"}, {-1, "links back"}, {30000, "outside the section"},
                 {1, "into itself"},  {2, "no room"},     {5, "past the next entry"}};
    for (size_t i = 0; i < sizeof links / sizeof *links; i++) {
        maker_make(&maker, &plain);
        maker_word(&maker, maker_find(&maker, "FRAMES") + 2 + 6, links[i].link);
        refused("link", "parameters", links[i].text);
    }
    maker_make(&maker, &plain);
    maker.bytes[maker_find(&maker, "FRAMES") + 2 + 6 + 2] = 9;
    refused("type", "parameters", "type");
    maker_make(&maker, &plain);
    maker.bytes[maker_find(&maker, "FRAMES") + 2 + 6 + 3] = 200;
    refused("dimensions", "parameters", "dimensions");
    maker_make(&maker, &plain);
    maker.bytes[maker_find(&maker, "LABELS") + 2 + 6 + 5] = 255;
    refused("more labels than bytes", "parameters", "past the next entry");
    maker_make(&maker, &plain);
    cr_assert(read_made(&file, &error)); /* and unspoiled it is sound */
}

Test(c3d, a_parameter_twice)
{
    struct c3d_wish wish = plain;
    maker_make(&maker, &wish);
    memcpy(maker.bytes + maker_find(&maker, "RATE") + 2, "USED", 4);
    refused("USED twice", "parameters.POINT.USED", "twice");
}

/* Cut anywhere, a file is refused, and nothing is read past its end (the sanitizer watches). */
Test(c3d, cut_anywhere)
{
    struct marker_file file;
    struct wire_error error;
    struct c3d_wish wish = plain;
    wish.frames = 30; /* the data fill their last block but for 128 bytes of padding */
    maker_make(&maker, &wish);
    size_t data_end = ((size_t)1 + maker.bytes[514]) * 512 + (size_t)30 * 64;
    for (size_t length = 0; length < data_end; length += length < 1100 ? 1 : 13) {
        cr_assert_not(read_bytes(maker.bytes, length, &file, &error), "%zu bytes", length);
        cr_assert_gt(strlen(error.what), 0);
    }
    cr_assert(read_bytes(maker.bytes, data_end, &file, &error), "without padding: %s", error.what);
}

/* Any one byte changed: taken or refused, never a step outside, and what is taken keeps its promises. */
Test(c3d, any_byte_changed)
{
    static const unsigned char values[] = {0, 1, 2, 127, 128, 255};
    struct marker_file file;
    struct wire_error error;
    int taken = 0;
    int given_back = 0;
    for (int processor = 84; processor <= 86; processor++) {
        struct c3d_wish wish = plain;
        wish.processor = processor;
        maker_make(&maker, &wish);
        for (size_t at = 0; at < 900; at++) {
            unsigned char kept = maker.bytes[at];
            for (size_t v = 0; v < sizeof values; v++) {
                maker.bytes[at] = values[v];
                arena_free(arena);
                arena = arena_new(0);
                if (read_made(&file, &error)) {
                    taken++;
                    cr_assert(file.frames >= 1 && file.frames <= MOTION_SAMPLES_MAX);
                    cr_assert(file.markers >= 1 && file.markers <= MARKERS_MAX);
                    cr_assert(file.rate_hz >= 20 && file.rate_hz <= 2000);
                } else {
                    given_back++;
                    cr_assert_gt(strlen(error.what), 0);
                }
            }
            maker.bytes[at] = kept;
        }
    }
    cr_assert(taken > 100 && given_back > 100, "%d taken, %d refused", taken, given_back);
}

Test(c3d, memory_that_runs_out)
{
    int refused_count = 0;
    maker_make(&maker, &plain);
    for (size_t limit = 64; limit < 20000; limit += 64) {
        struct marker_file file;
        struct wire_error error = {"", ""};
        struct arena *small = arena_new(limit);
        if (small == NULL) {
            continue;
        }
        if (!marker_file_read_c3d(maker.bytes, maker.length, small, &file, &error)) {
            refused_count++;
            cr_assert_not_null(strstr(error.what, "memory"), "%zu: %s", limit, error.what);
        }
        arena_free(small);
    }
    cr_assert_gt(refused_count, 0);
}

Test(c3d, known_by_its_first_bytes)
{
    cr_assert(marker_file_is_c3d("\x02\x50", 2));
    cr_assert_not(marker_file_is_c3d("\x02", 1));
    cr_assert_not(marker_file_is_c3d("{}", 2));
    cr_assert_not(marker_file_is_c3d("", 0));
    cr_assert_not(marker_file_is_c3d("PathFileType", 12));
}
