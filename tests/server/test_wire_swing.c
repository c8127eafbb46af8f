/* The swing document's reader: every part arrives, every limit is kept with its path, and what it takes for JSON is
 * what jansson takes for JSON. */
#include <criterion/criterion.h>

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/fault.h"
#include "core/measure/measure.h"
#include "wire/json/in.h"
#include "wire/swing/read.h"

static char *file_text(const char *name)
{
    char path[512];
    snprintf(path, sizeof path, "%s/data/%s", TESTS_DIR, name);
    FILE *file = fopen(path, "rb");
    cr_assert_not_null(file, "%s", path);
    char *text = calloc(1, 1 << 20);
    size_t length = fread(text, 1, (1 << 20) - 1, file);
    cr_assert_gt(length, 0);
    fclose(file);
    return text;
}

static struct swing_document document;
static struct wire_error error;

static bool read_text(const char *text)
{
    struct arena *arena = arena_new(4 << 20);
    /* An exact copy without a final NUL: reading past the end is caught by the address sanitizer. */
    size_t length = strlen(text);
    char *exact = malloc(length + (length == 0));
    memcpy(exact, text, length);
    bool good = swing_read(exact, length, arena, &document, &error);
    free(exact);
    arena_free(arena);
    return good;
}

Test(swing_read, takes_every_part_of_the_document)
{
    char *text = file_text("every_part.json");
    cr_assert(read_text(text), "%s: %s", error.path, error.what);
    const struct swing *swing = &document.swing;
    cr_assert_eq(swing->hand, HAND_RIGHT);
    cr_assert_eq(swing->club, CLUB_IRON);
    cr_assert(swing->club_number.given && swing->club_number.value == 7);
    cr_assert(swing->club_length_m.given && swing->club_length_m.value == 0.94);
    cr_assert_str_eq(document.recorded_at, "2026-05-02T09:14:05.000Z");
    cr_assert_eq(swing->view_count, 1);
    const struct swing_view *view = &swing->views[0];
    cr_assert(view->fps.given && view->fps.value == 60 && view->width_px == 1920 && view->height_px == 1080);
    cr_assert(view->hfov_deg == 62 && view->distance_m.value == 4 && view->height_m.value == 1);
    cr_assert_not(view->pitch_deg.given);
    cr_assert(view->stick_count == 2 && view->sticks[1][1][0] == 905 && view->sticks[0][0][1] == 1010);
    cr_assert(view->has_target && view->target[0] == 948 && view->target[1] == 402);
    cr_assert_eq(view->frame_count, 2);
    cr_assert_eq(view->frames[1].checkpoint, CHECKPOINT_TOP);
    cr_assert(view->frames[1].time_s.given && view->frames[1].time_s.value == 0.92);
    const struct swing_mark *ball = &view->frames[0].points[POINT_BALL];
    cr_assert(ball->seen && ball->u == 1190 && ball->v == 915 && ball->sd == SWING_MARK_SD_PX);
    cr_assert_not(view->frames[1].points[POINT_BALL].seen);
    const struct swing_spot *film = view->frames[1].film;
    cr_assert(film[POINT_CLUBHEAD].u == 926 && film[POINT_CLUBHEAD].v == 318.5 && film[POINT_CLUBHEAD].sd == 4);
    cr_assert(film[POINT_BUTT].sd == 0 && view->frames[0].film[POINT_GRIP].sd == 0);
    cr_assert(document.has_motion && document.motion.count == 2 && document.motion.at[POINT_LEAD_WRIST] != NULL);
    cr_assert(swing->weight_count == 1 && swing->weights[0].checkpoint == CHECKPOINT_ARM_BACK);
    cr_assert(swing->weights[0].lead_share == 0.34 && swing->weights[0].source == WEIGHT_SCALE);
    cr_assert(swing->has_flight && swing->flight.start == FLIGHT_LEFT && swing->flight.curve == FLIGHT_RIGHT);
    cr_assert(swing->flight.path_deg.value == -4.1 && swing->flight.face_deg.value == 1.5);
    cr_assert_not(swing->flight.spin_rpm.given);
    cr_assert(swing->measured_count == 1 && swing->measured[0].item == MEASURE_SHAFT_DIRECTION_SHAFT_BACK);
    cr_assert(swing->measured[0].value == -18 && swing->measured[0].sd == 4);
    cr_assert(swing->seen_count == 1 && swing->seen[0].fault == FAULT_CHICKEN_WING);
    cr_assert_eq(swing->seen[0].word, SEVERITY_CLEAR);
    free(text);
}

Test(swing_read, mirrors_a_left_hander_once)
{
    char *text = file_text("every_part.json");
    char *hand = strstr(text, "\"right\",\n  \"club\"");
    cr_assert_not_null(hand);
    memcpy(hand, "\"left\", ", 8);
    cr_assert(read_text(text), "%s: %s", error.path, error.what);
    cr_assert_eq(document.swing.hand, HAND_LEFT);
    cr_assert_float_eq(document.swing.views[0].frames[0].points[POINT_GRIP].u, 1920 - 1001, 1.001);
    cr_assert_eq(document.swing.flight.start, FLIGHT_RIGHT);
    cr_assert_eq(document.swing.flight.path_deg.value, 4.1);
    free(text);
}

/* Replaces the first `from` by `to` in the full example. */
static char *changed(const char *text, const char *from, const char *to)
{
    const char *at = strstr(text, from);
    cr_assert_not_null(at, "the example has no %s", from);
    char *out = calloc(1, strlen(text) + strlen(to) + 1);
    memcpy(out, text, (size_t)(at - text));
    strcat(out, to);
    strcat(out, at + strlen(from));
    return out;
}

Test(swing_read, keeps_which_points_software_found)
{
    char *plain = file_text("every_part.json");
    char *text = changed(plain, "\"checkpoint\": \"top\"", "\"checkpoint\": \"top\", \"found\": [\"clubhead\"]");
    cr_assert(read_text(text), "%s: %s", error.path, error.what);
    cr_assert(document.swing.views[0].frames[1].points[POINT_CLUBHEAD].found);
    cr_assert_not(document.swing.views[0].frames[1].points[POINT_GRIP].found);
    cr_assert_not(document.swing.views[0].frames[0].points[POINT_CLUBHEAD].found);
    free(text);
    free(plain);
}

Test(swing_read, counts_views_frames_and_samples)
{
    static char text[400000];
    const char *head = "{\"schema\":\"leadside.swing/1\",\"recorded_at\":\"2026-05-02T09:14:05Z\",\"hand\":\"right\",";
    char *to = text + sprintf(text, "%s\"views\":[", head);
    for (int i = 0; i < 5; i++) {
        to += sprintf(to,
                      "%s{\"view\":\"face_on\",\"image\":{\"width\":99,\"height\":99},\"camera\":{\"hfov_deg\":60},"
                      "\"frames\":[]}",
                      i > 0 ? "," : "");
    }
    strcpy(to, "]}");
    cr_assert_not(read_text(text));
    cr_assert_str_eq(error.path, "views");
    to = text + sprintf(text, "%s\"motion\":{\"rate_hz\":200,\"frame\":\"y_up\",\"points\":{\"grip\":[null", head);
    for (int i = 0; i < 5000; i++) {
        to += sprintf(to, ",[0,1.5,-2]");
    }
    strcpy(to, "]}}}");
    cr_assert_not(read_text(text));
    cr_assert_str_eq(error.path, "motion.points.grip");
    memmove(strstr(text, "null,"), strstr(text, "null,") + 5, strlen(strstr(text, "null,") + 5) + 1);
    cr_assert(read_text(text), "%s: %s", error.path, error.what);
    cr_assert_eq(document.motion.count, 5000);
}

Test(swing_read, refuses_every_document_cut_short)
{
    char *text = file_text("every_part.json");
    size_t length = strlen(text);
    while (length > 0 && text[length - 1] != '}') {
        length--;
    }
    for (size_t cut = 0; cut < length; cut++) {
        char *part = strndup(text, cut);
        cr_assert_not(read_text(part), "cut at %zu", cut);
        free(part);
    }
    free(text);
}

static bool ours(const char *text, size_t length)
{
    struct json_in in;
    char *exact = malloc(length + (length == 0));
    memcpy(exact, text, length);
    json_in_start(&in, exact, length);
    bool good = json_in_skip(&in) && json_in_finish(&in);
    free(exact);
    return good;
}

static bool theirs(const char *text, size_t length)
{
    json_error_t ignored;
    json_t *value = json_loadb(text, length, JSON_DECODE_ANY, &ignored);
    json_decref(value);
    return value != NULL;
}

Test(json_in, agrees_with_jansson_on_damaged_documents)
{
    char *text = file_text("every_part.json");
    size_t length = strlen(text);
    static const char bytes[] = "{}[]\":,0129.-+eEtruefalsn\\u \n\x01\x80\xc3\xa9\xed\xf0";
    unsigned long long state = 7;
    int taken = 0;
    for (int round = 0; round < 60000; round++) {
        char *copy = strdup(text);
        for (int k = 0; k < 1 + round % 3; k++) {
            state = state * 6364136223846793005ULL + 1442695040888963407ULL;
            copy[(state >> 33) % length] = bytes[(state >> 20) % (sizeof bytes - 1)];
        }
        bool good = ours(copy, length);
        cr_assert_eq(good, theirs(copy, length), "round %d: ours %d\n%s", round, good, copy);
        taken += good;
        free(copy);
    }
    cr_assert(taken > 1000 && taken < 59000, "%d of 60000 were JSON", taken);
    free(text);
}

Test(json_in, reads_numbers_to_the_last_bit)
{
    static const char *const numbers[] = {"0",
                                          "-0",
                                          "1e0",
                                          "0.1",
                                          "123456789012345",
                                          "1e22",
                                          "1e-22",
                                          "5e-324",
                                          "1.7976931348623157e308",
                                          "0.30000000000000004",
                                          "9007199254740993",
                                          "2.2250738585072011e-308",
                                          "1001.25",
                                          "-62.000000"};
    for (size_t i = 0; i < sizeof numbers / sizeof *numbers; i++) {
        struct json_in in;
        double value;
        json_in_start(&in, numbers[i], strlen(numbers[i]));
        cr_assert(json_in_number(&in, &value) && json_in_finish(&in), "%s: %s", numbers[i], in.error);
        cr_assert_eq(value, strtod(numbers[i], NULL), "%s", numbers[i]);
    }
    unsigned long long state = 3;
    for (int i = 0; i < 200000; i++) {
        char text[40];
        struct json_in in;
        double value;
        state = state * 6364136223846793005ULL + 1442695040888963407ULL;
        snprintf(text, sizeof text, "%.*g", 1 + (int)((state >> 60) % 17), (double)(long long)state * 0x1p-48);
        json_in_start(&in, text, strlen(text));
        cr_assert(json_in_number(&in, &value) && value == strtod(text, NULL), "%s", text);
    }
    static const char *const bad[] = {"01", "1.", ".5", "-", "1e", "+1", "1e999", "--1", "0x1", "1.e3"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        struct json_in in;
        double value;
        json_in_start(&in, bad[i], strlen(bad[i]));
        cr_assert_not(json_in_number(&in, &value) && json_in_finish(&in), "%s", bad[i]);
    }
}

Test(json_in, decodes_texts_as_jansson_does)
{
    static const char *const texts[] = {"\"plain\"", "\"\\u00e9\\ud83d\\ude00\\n\\\\\"", "\"caf\xc3\xa9\"", "\"\""};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        struct json_in in;
        char out[64];
        json_t *value = json_loads(texts[i], JSON_DECODE_ANY, NULL);
        json_in_start(&in, texts[i], strlen(texts[i]));
        cr_assert(json_in_text(&in, out, sizeof out), "%s", in.error);
        cr_assert_str_eq(out, json_string_value(value));
        json_decref(value);
    }
    char deep[200];
    memset(deep, '[', 100);
    memset(deep + 100, ']', 100);
    cr_assert_not(ours(deep, sizeof deep));
}
