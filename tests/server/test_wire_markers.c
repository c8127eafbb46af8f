/* The map of marker names, and marker files as swings: names, sides, axes, what is asked for, and the kept reading. */
#include <criterion/criterion.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "c3d_maker.h"
#include "wire/swing/file.h"

static struct arena *arena;
static struct wire_error error;

static void set_up(void)
{
    arena = arena_new(0);
    error = (struct wire_error){"", ""};
}

static void tear_down(void)
{
    arena_free(arena);
}

TestSuite(markers, .init = set_up, .fini = tear_down);

/* A file of one sample: marker m lies at (m + 1, 0, 0). */
static struct marker_file file_of(const char **names, int count)
{
    struct marker_file file = {.rate_hz = 100, .frames = 1, .markers = count, .names = names};
    file.at = arena_alloc(arena, (size_t)count * sizeof *file.at);
    file.seen = arena_alloc(arena, (size_t)count * sizeof *file.seen);
    for (int m = 0; m < count; m++) {
        file.at[m] = vec_make(m + 1, 0, 0);
        file.seen[m] = true;
    }
    return file;
}

static bool map_read(const char *json, struct marker_map *map)
{
    char *exact = malloc(strlen(json));
    memcpy(exact, json, strlen(json));
    bool good = marker_map_read(exact, strlen(json), arena, map, &error);
    free(exact);
    return good;
}

static bool apply(const struct marker_map *map, const struct marker_file *file, enum hand hand,
                  struct motion_record *record, struct marker_match *match)
{
    error = (struct wire_error){"", ""};
    return marker_map_apply(map, file, hand, arena, record, match, &error);
}

Test(markers, the_default_names_every_point)
{
    const struct marker_map *map = marker_map_default(arena);
    size_t length;
    cr_assert_not_null(map);
    cr_assert_not_null(marker_map_default_json(&length));
    for (int p = 0; p < POINT_COUNT; p++) {
        cr_assert_gt(map->alternatives[p], 0, "%s", point_name((enum point)p));
    }
}

/* Left and right alternatives are each other's mirror: nothing is spelled wrong on one side. */
Test(markers, the_default_is_the_same_on_both_sides)
{
    const struct marker_map *map = marker_map_default(arena);
    for (int p = POINT_LEAD_SHOULDER; p <= POINT_TRAIL_TOE; p += 2) {
        cr_assert_eq(map->alternatives[p], map->alternatives[p + 1]);
        for (int i = 0; i < map->alternatives[p]; i++) {
            const struct marker_choice *left = &map->choices[p][i];
            const struct marker_choice *right = &map->choices[p + 1][i];
            cr_assert_eq(left->count, right->count);
            for (int k = 0; k < left->count; k++) {
                bool mirrored = strcmp(left->names[k], right->names[k]) != 0 || left->names[k][0] == 'S';
                cr_assert(mirrored, "%s on both sides", left->names[k]);
            }
        }
    }
}

/* Three ways of naming a full body; every body point is found, and is the middle it should be. */
Test(markers, full_body_sets)
{
    static const char *sets[][24] = {
        {"LFHD", "RFHD", "LBHD", "RBHD", "C7",   "LSHO", "RSHO", "LELB", "RELB", "LWRA", "LWRB", "RWRA",
         "RWRB", "LASI", "RASI", "LPSI", "RPSI", "LKNE", "RKNE", "LANK", "RANK", "LTOE", "RTOE"},
        {"Head", "Neck", "LShoulder", "RShoulder", "LElbow", "RElbow", "LWrist", "RWrist", "LHip", "RHip", "LKnee",
         "RKnee", "LAnkle", "RAnkle", "LToe", "RToe"},
        {"head", "neck", "left shoulder", "right_shoulder", "Left-Elbow", "RIGHT ELBOW", "Anna:left_wrist",
         "right.wrist", "left hip", "right hip", "left knee", "right knee", "left ankle", "right ankle", "left toe",
         "right toe"},
    };
    const struct marker_map *map = marker_map_default(arena);
    for (size_t s = 0; s < 3; s++) {
        int count = 0;
        while (count < 24 && sets[s][count] != NULL) {
            count++;
        }
        struct marker_file file = file_of(sets[s], count);
        struct motion_record record;
        struct marker_match match;
        cr_assert(apply(map, &file, HAND_RIGHT, &record, &match), "%s", error.what);
        cr_assert_eq(match.unmapped_count, 0, "%s", match.unmapped_count > 0 ? match.unmapped[0] : "");
        for (int p = 0; p <= POINT_TRAIL_TOE; p++) {
            cr_assert(match.found[p] && record.at[p] != NULL && record.seen[p][0], "set %zu: %s", s,
                      point_name((enum point)p));
        }
        for (int p = POINT_GRIP; p < POINT_COUNT; p++) {
            cr_assert(!match.found[p] && record.at[p] == NULL);
        }
        if (s == 0) {
            cr_assert_float_eq(record.at[POINT_HEAD][0].x, 2.5, 1e-12);
            cr_assert_float_eq(record.at[POINT_LEAD_WRIST][0].x, 10.5, 1e-12);
            cr_assert_float_eq(record.at[POINT_LEAD_HIP][0].x, 15, 1e-12);
            cr_assert_float_eq(record.at[POINT_TRAIL_HIP][0].x, 16, 1e-12);
        }
    }
}

Test(markers, the_right_side_of_a_left_hander_leads)
{
    const char *names[] = {"LSHO", "RSHO", "C7"};
    struct marker_file file = file_of(names, 3);
    struct motion_record record;
    struct marker_match match;
    cr_assert(apply(marker_map_default(arena), &file, HAND_LEFT, &record, &match));
    cr_assert_eq(record.at[POINT_LEAD_SHOULDER][0].x, 2);
    cr_assert_eq(record.at[POINT_TRAIL_SHOULDER][0].x, 1);
    cr_assert_eq(record.at[POINT_NECK][0].x, 3);
}

Test(markers, club_markers_and_hands_without_wrists)
{
    const char *names[] = {"Grip", "Butt", "Club_Head", "BALL", "LHand", "RHand", "RWrist", "T10"};
    struct marker_file file = file_of(names, 8);
    struct motion_record record;
    struct marker_match match;
    cr_assert(apply(marker_map_default(arena), &file, HAND_RIGHT, &record, &match));
    for (int p = POINT_GRIP; p < POINT_COUNT; p++) {
        cr_assert(match.found[p]);
    }
    cr_assert_eq(record.at[POINT_LEAD_WRIST][0].x, 5);
    cr_assert_eq(record.at[POINT_TRAIL_WRIST][0].x, 7);
    cr_assert_eq(record.at[POINT_GRIP][0].x, 1);
    cr_assert_eq(match.unmapped_count, 1);
    cr_assert_str_eq(match.unmapped[0], "T10");
    file.seen[0] = false; /* without a grip marker, it is the middle of both hands */
    cr_assert(apply(marker_map_default(arena), &file, HAND_RIGHT, &record, &match));
    cr_assert_eq(record.at[POINT_GRIP][0].x, 5.5);
}

/* Half a pair, a marker never seen: as good as not there. A gap of one is a gap of the middle. */
Test(markers, gaps_and_missing_halves)
{
    const char *names[] = {"LWRA", "RWRA", "RWRB", "RSHO", "RShoulder"};
    struct marker_file file = file_of(names, 5);
    struct motion_record record;
    struct marker_match match;
    file.seen[4] = false;
    cr_assert(apply(marker_map_default(arena), &file, HAND_RIGHT, &record, &match));
    cr_assert_not(match.found[POINT_LEAD_WRIST]);
    cr_assert(match.found[POINT_TRAIL_WRIST]);
    cr_assert_eq(record.at[POINT_TRAIL_SHOULDER][0].x, 4);
    cr_assert_eq(match.unmapped_count, 0);

    struct vec3 at[4] = {{1, 0, 0}, {2, 0, 0}, {3, 0, 0}, {4, 0, 0}};
    bool seen[4] = {true, true, true, false};
    const char *pair[] = {"RWRA", "RWRB"};
    struct marker_file two = {.rate_hz = 100, .frames = 2, .markers = 2, .names = pair, .at = at, .seen = seen};
    cr_assert(apply(marker_map_default(arena), &two, HAND_RIGHT, &record, &match));
    cr_assert(record.seen[POINT_TRAIL_WRIST][0] && !record.seen[POINT_TRAIL_WRIST][1]);
    cr_assert_eq(record.at[POINT_TRAIL_WRIST][0].x, 2);
}

Test(markers, the_origin_is_a_lost_marker_but_for_the_ball)
{
    const char *names[] = {"C7", "Ball"};
    struct marker_file file = file_of(names, 2);
    struct motion_record record;
    struct marker_match match;
    file.at[0] = file.at[1] = vec_make(0, 0, 0);
    cr_assert(apply(marker_map_default(arena), &file, HAND_RIGHT, &record, &match));
    cr_assert_not(record.seen[POINT_NECK][0]);
    cr_assert(record.seen[POINT_BALL][0]);
}

Test(markers, not_one_point_and_twins)
{
    const char *strangers[] = {"A1", "A2", "A3", "A4", "A5", "A6"};
    const char *twins[] = {"Ann:C7", "Ben:C7", "LSHO"};
    const char *lone[] = {"C7"};
    struct marker_file file = file_of(strangers, 6);
    struct motion_record record;
    struct marker_match match;
    cr_assert_not(apply(marker_map_default(arena), &file, HAND_RIGHT, &record, &match));
    cr_assert_str_eq(error.path, "markers");
    cr_assert_not_null(strstr(error.what, "A1, A2"), "%s", error.what);
    file = file_of(twins, 3);
    cr_assert_not(apply(marker_map_default(arena), &file, HAND_RIGHT, &record, &match));
    cr_assert_not_null(strstr(error.what, "twin"), "%s", error.what);
    file = file_of(lone, 1);
    file.seen[0] = false;
    cr_assert_not(apply(marker_map_default(arena), &file, HAND_RIGHT, &record, &match));
    cr_assert_not_null(strstr(error.what, "seen"), "%s", error.what);
}

#define MAP(points) "{\"schema\": \"leadside.markers/1\", \"points\": {" points "}}"

Test(markers, a_map_of_ones_own)
{
    struct marker_map map;
    const char *names[] = {"#1", "#2", "C7"};
    struct marker_file file = file_of(names, 3);
    struct motion_record record;
    struct marker_match match;
    cr_assert(map_read(MAP("\"left_wrist\": [[\"nothing\"], [\"#1\", \"#2\"]], \"ball\": []"), &map), "%s", error.what);
    cr_assert(apply(&map, &file, HAND_RIGHT, &record, &match));
    cr_assert_float_eq(record.at[POINT_LEAD_WRIST][0].x, 1.5, 1e-12);
    cr_assert_eq(match.unmapped_count, 1);
    cr_assert_str_eq(match.unmapped[0], "C7");
}

/* ---- as swings ---- */

static const char *const body[] = {"C7", "LANK", "RANK", "LWrist", "RWrist"};
static int upright; /* 0 x, 1 y, 2 z of the made file */

/* Stands; the left foot toward +x when upright is z or y. */
static int body_place(int point, int frame, double at[3])
{
    static const double places[5][3] = {
        {0, 0, 1450}, {200, -30, 90}, {-200, -30, 90}, {30, -400, 800}, {-30, -400, 780}};
    for (int k = 0; k < 3; k++) {
        at[(k + upright + 1) % 3] = places[point][k] + (k == 0 ? frame : 0);
    }
    return 1;
}

static struct c3d_maker maker;

static void make(const char *up, int frames)
{
    struct c3d_wish wish = {.processor = 84,
                            .real = 1,
                            .points = 5,
                            .frames = frames,
                            .rate = 200,
                            .scale = 1,
                            .labels = body,
                            .label_count = 5,
                            .units = "mm",
                            .up = up,
                            .place = body_place};
    maker_make(&maker, &wish);
}

static bool read_made(const struct swing_reading *reading, struct swing_document **out)
{
    *out = arena_alloc(arena, sizeof **out);
    memset(*out, 0xa5, sizeof **out);
    return swing_file_read(SWING_C3D, maker.bytes, maker.length, reading, arena, *out, &error);
}

Test(markers, what_a_file_does_not_say_is_asked_for)
{
    struct swing_document *document;
    struct swing_reading reading = {.target_given = true, .axes = {.target = LAB_PLUS_X}};
    upright = 2;
    make(NULL, 20);
    cr_assert_not(read_made(&reading, &document));
    cr_assert_str_eq(error.path, "hand");
    reading = (struct swing_reading){.hand_given = true};
    cr_assert_not(read_made(&reading, &document));
    cr_assert_str_eq(error.path, "target");
    cr_assert_not_null(strstr(error.what, "the feet point along +x"), "%s", error.what);
    reading.hand = HAND_LEFT;
    cr_assert_not(read_made(&reading, &document));
    cr_assert_not_null(strstr(error.what, "the feet point along -x"), "%s", error.what);
    reading.target_given = true;
    reading.axes.target = LAB_MINUS_Z;
    cr_assert_not(read_made(&reading, &document));
    cr_assert_str_eq(error.path, "target");
    cr_assert_not_null(strstr(error.what, "level"), "%s", error.what);
    reading.axes.target = LAB_PLUS_X;
    reading.club_length_m = (struct maybe){true, 7};
    cr_assert_not(read_made(&reading, &document));
    cr_assert_str_eq(error.path, "club_length_m");
    reading.club_length_m.given = false;
    (void)snprintf(reading.recorded_at, sizeof reading.recorded_at, "yesterday");
    cr_assert_not(read_made(&reading, &document));
    cr_assert_str_eq(error.path, "recorded_at");
}

/* Upright: as given, else as the file says, else as the body stands. */
Test(markers, upright)
{
    struct swing_document *document;
    struct swing_reading reading = {.hand_given = true, .target_given = true};
    for (upright = 0; upright < 3; upright++) {
        reading.axes.target = (enum lab_axis)((upright + 1) % 3 * 2);
        make(NULL, 20);
        cr_assert(read_made(&reading, &document), "%s: %s", error.path, error.what);
        cr_assert_float_eq(document->motion.at[POINT_NECK][0].y, 1.45, 1e-6);
        cr_assert_float_eq(document->motion.at[POINT_LEAD_ANKLE][0].x, 0.2, 1e-6);
    }
    upright = 2;
    reading.axes.target = LAB_PLUS_X;
    make("+Y", 20); /* the file says otherwise than the body: it is believed, and the core complains */
    cr_assert(read_made(&reading, &document), "%s", error.what);
    cr_assert_float_eq(document->motion.at[POINT_LEAD_WRIST][0].y, -0.4, 1e-6);
    reading.up_given = true;
    reading.axes.up = LAB_PLUS_Z;
    cr_assert(read_made(&reading, &document), "%s", error.what);
    cr_assert_float_eq(document->motion.at[POINT_LEAD_WRIST][0].y, 0.8, 1e-6);
}

Test(markers, a_left_hander_is_mirrored_and_the_document_filled)
{
    struct swing_document *document;
    struct swing_reading reading = {.hand_given = true,
                                    .hand = HAND_LEFT,
                                    .club = CLUB_IRON,
                                    .club_number = {true, 7},
                                    .club_length_m = {true, 0.94},
                                    .target_given = true,
                                    .axes = {.target = LAB_MINUS_X},
                                    .recorded_at = "2026-05-02T11:14:05+02:00"};
    upright = 2;
    make("+Z", 20);
    cr_assert(read_made(&reading, &document), "%s: %s", error.path, error.what);
    cr_assert(document->has_motion && document->swing.motion != NULL && document->markers != NULL);
    cr_assert_eq(document->swing.hand, HAND_LEFT);
    cr_assert_eq(document->swing.club, CLUB_IRON);
    cr_assert_eq(document->swing.club_number.value, 7);
    cr_assert_eq(document->swing.club_length_m.value, 0.94);
    cr_assert_eq(document->swing.view_count + document->swing.measured_count + document->swing.weight_count, 0);
    cr_assert_str_eq(document->recorded_at, "2026-05-02T09:14:05.000Z");
    /* The right foot leads, toward -x; what the player faces (-y) is +z of the world. */
    cr_assert_float_eq(document->motion.at[POINT_LEAD_ANKLE][0].x, 0.2, 1e-6);
    cr_assert_float_eq(document->motion.at[POINT_LEAD_WRIST][0].z, 0.4, 1e-6);
    cr_assert_float_eq(document->motion.at[POINT_LEAD_WRIST][0].y, 0.78, 1e-6);
}

Test(markers, a_record_of_three_frames_is_too_short)
{
    struct swing_document *document;
    struct swing_reading reading = {.hand_given = true, .target_given = true, .axes = {.target = LAB_PLUS_X}};
    bool said = false;
    upright = 2;
    make(NULL, 3);
    cr_assert(read_made(&reading, &document), "%s", error.what);
    for (int i = 0; i < document->swing.motion->finding_count; i++) {
        said = said || document->swing.motion->findings[i].issue == MOTION_TOO_SHORT;
    }
    cr_assert(said);
}

Test(markers, media)
{
    enum swing_media media;
    for (int i = 0; i < SWING_MEDIA_COUNT; i++) {
        cr_assert(swing_media_parse(swing_media_name((enum swing_media)i), &media) && (int)media == i);
    }
    cr_assert_not(swing_media_parse("text/plain", &media));
    cr_assert(swing_media_guess("\x02\x50", 2, &media) && media == SWING_C3D);
    cr_assert(swing_media_guess("PathFileType\t4", 14, &media) && media == SWING_TRC);
    cr_assert(swing_media_guess(" {}", 3, &media) && media == SWING_JSON);
    cr_assert_not(swing_media_guess("GIF89a", 6, &media));
    cr_assert_not(swing_media_guess("", 0, &media));
}

static void same_reading(const struct swing_reading *a)
{
    struct swing_reading b;
    size_t length;
    char *json = swing_reading_write(a, arena, &length);
    cr_assert_not_null(json);
    cr_assert(swing_reading_read(json, length, arena, &b, &error), "%s: %s", error.path, error.what);
    cr_assert(a->hand_given == b.hand_given && a->hand == b.hand && a->club == b.club);
    cr_assert(a->club_number.given == b.club_number.given && a->club_number.value == b.club_number.value);
    cr_assert(a->club_length_m.given == b.club_length_m.given && a->club_length_m.value == b.club_length_m.value);
    cr_assert(a->target_given == b.target_given && a->up_given == b.up_given);
    cr_assert(!a->target_given || a->axes.target == b.axes.target);
    cr_assert(!a->up_given || a->axes.up == b.axes.up);
    cr_assert_str_eq(a->recorded_at, b.recorded_at);
    const struct marker_map *map = a->map != NULL ? a->map : marker_map_default(arena);
    for (int p = 0; p < POINT_COUNT; p++) {
        cr_assert_eq(map->alternatives[p], b.map->alternatives[p]);
        for (int i = 0; i < map->alternatives[p]; i++) {
            cr_assert_eq(map->choices[p][i].count, b.map->choices[p][i].count);
            for (int k = 0; k < map->choices[p][i].count; k++) {
                cr_assert_str_eq(map->choices[p][i].names[k], b.map->choices[p][i].names[k]);
            }
        }
    }
    size_t again;
    cr_assert_str_eq(swing_reading_write(&b, arena, &again), json);
}

Test(markers, a_reading_comes_back_as_it_was)
{
    static const char least[] = "{\"schema\": \"leadside.reading/1\", \"map\": " MAP("\"neck\": [[\"C7\"]]") "}";
    struct marker_map map;
    struct swing_reading reading;
    cr_assert(swing_reading_read(least, strlen(least), arena, &reading, &error), "%s", error.what);
    reading = (struct swing_reading){.hand_given = false};
    cr_assert(map_read(MAP("\"left_wrist\": [[\"a \\\"b\\\"\", \"\xc3\xa9\"]]"), &map), "%s", error.what);
    same_reading(&reading);
    reading = (struct swing_reading){.hand_given = true,
                                     .hand = HAND_LEFT,
                                     .club = CLUB_DRIVER,
                                     .club_number = {true, 1},
                                     .club_length_m = {true, 1.143},
                                     .target_given = true,
                                     .up_given = true,
                                     .axes = {.up = LAB_MINUS_Y, .target = LAB_PLUS_Z},
                                     .recorded_at = "2026-05-02T09:14:05.123Z",
                                     .map = &map};
    same_reading(&reading);
}

Test(markers, memory_that_runs_out)
{
    struct swing_reading reading = {.hand_given = true, .target_given = true, .axes = {.target = LAB_PLUS_X}};
    struct swing_document *document = arena_alloc(arena, sizeof *document);
    int refused = 0;
    int taken = 0;
    upright = 2;
    make(NULL, 20);
    for (size_t limit = 512; limit < 400000; limit += 1777) {
        struct arena *small = arena_new(limit);
        size_t length;
        if (small == NULL) {
            continue;
        }
        if (swing_file_read(SWING_C3D, maker.bytes, maker.length, &reading, small, document, &error)) {
            taken++;
        } else {
            refused++;
            cr_assert_not_null(strstr(error.what, "memory"), "%zu: %s", limit, error.what);
        }
        (void)swing_reading_write(&reading, small, &length);
        arena_free(small);
    }
    cr_assert(refused > 0 && taken > 0, "%d refused, %d taken", refused, taken);
}
