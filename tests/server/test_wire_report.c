/* The report's JSON read back by jansson, and the readable report read for what it must say and must not. */
#include <criterion/criterion.h>

#include <jansson.h>
#include <stdio.h>
#include <string.h>

#include "wire/json/out.h"
#include "wire/report/text.h"
#include "wire/report/words.h"
#include "wire/rules/drill_read.h"
#include "wire/rules/standard_read.h"
#include "wire/swing/read.h"

#define ENGLISH(arena) (&(struct speaker){arena, NULL})

static struct swing_document document;
static struct report report;
static struct arena *arena;
static const struct standard *standard;
static const struct drill *drills;
static int drill_count;
static struct report_context context;

/* Scores one of tests/data. */
static void score_file(const char *name, int age, unsigned pain)
{
    char path[512];
    struct wire_error error;
    arena = arena_new(0);
    char *text = arena_alloc(arena, 1 << 18);
    snprintf(path, sizeof path, "%s/data/%s", TESTS_DIR, name);
    FILE *file = fopen(path, "rb");
    cr_assert_not_null(file, "%s", path);
    size_t length = fread(text, 1, 1 << 18, file);
    fclose(file);
    cr_assert(swing_read(text, length, arena, &document, &error), "%s: %s: %s", name, error.path, error.what);
    standard = standard_default(arena);
    drills = drills_default(arena, &drill_count);
    cr_assert(standard != NULL && drills != NULL && drill_count > 10);
    const struct swing *swing = &document.swing;
    struct score_player player = {.age_years = age, .pain = pain};
    score_swings(&swing, 1, standard, &player, drills, drill_count, &report);
    context = (struct report_context){
        .hand = document.swing.hand, .recorded_at = document.recorded_at, .age_years = age, .pain = pain};
}

static json_t *report_json(void)
{
    size_t length = 0;
    json_error_t error;
    char *text = report_write(&report, standard, drills, drill_count, &context, arena, &length);
    cr_assert_not_null(text);
    cr_assert_eq(strlen(text), length);
    json_t *root = json_loadb(text, length, JSON_REJECT_DUPLICATES, &error);
    cr_assert_not_null(root, "%s at %d: %.60s", error.text, error.position, text + error.position - 30);
    return root;
}

static const char *text_of(json_t *object, const char *key)
{
    const char *text = json_string_value(json_object_get(object, key));
    return text == NULL ? "" : text;
}

Test(report_json, says_every_measure_once_with_its_error)
{
    static const char *const files[] = {"down_the_line.json", "face_on.json", "two_views.json",
                                        "left_handed.json",   "sound.json",   "every_part.json"};
    for (size_t f = 0; f < sizeof files / sizeof *files; f++) {
        score_file(files[f], 34, 0);
        json_t *root = report_json();
        cr_assert_str_eq(text_of(root, "schema"), "leadside.report/1");
        json_t *measures = json_object_get(root, "measures");
        size_t seen = json_array_size(measures);
        cr_assert_gt(seen, 0, "%s", files[f]);
        cr_assert_eq(seen + json_array_size(json_object_get(root, "not_observed")), MEASURE_COUNT);
        for (size_t i = 0; i < seen; i++) {
            json_t *measure = json_array_get(measures, i);
            double sd = json_number_value(json_object_get(measure, "sd"));
            double random = json_number_value(json_object_get(measure, "sd_random"));
            double systematic = json_number_value(json_object_get(measure, "sd_systematic"));
            cr_assert(json_is_number(json_object_get(measure, "value")), "%s", text_of(measure, "measure"));
            cr_assert_float_eq(sd * sd, random * random + systematic * systematic, 0.02 * sd * sd + 0.01);
            cr_assert_str_neq(text_of(measure, "source"), "none");
        }
        cr_assert_eq(json_array_size(json_object_get(root, "faults")), FAULT_COUNT);
        cr_assert(json_is_false(json_object_get(root, "habit")));
        cr_assert_str_eq(text_of(json_object_get(root, "scope"), "code"), "one_swing");
        cr_assert_geq(json_array_size(json_object_get(root, "cautions")), 5);
        json_decref(root);
        arena_free(arena);
    }
}

Test(report_json, names_the_first_fix_why_and_a_drill_for_it)
{
    score_file("down_the_line.json", 34, 0);
    json_t *root = report_json();
    json_t *fix = json_array_get(json_object_get(root, "first_fixes"), 0);
    cr_assert_str_eq(text_of(fix, "fault"), "inside_takeaway");
    json_t *why = json_object_get(fix, "why");
    cr_assert_str_eq(text_of(why, "code"), "measured");
    cr_assert_str_eq(text_of(why, "measure"), "shaft_direction");
    cr_assert(json_is_true(json_object_get(why, "fits_ball")));
    const char *drill = text_of(json_array_get(json_object_get(fix, "drills"), 0), "drill");
    bool fits = false;
    for (int i = 0; i < drill_count; i++) {
        fits = fits || (strcmp(drills[i].id, drill) == 0 && drills[i].faults[FAULT_INSIDE_TAKEAWAY]);
    }
    cr_assert(fits, "%s", drill);
    cr_assert_str_eq(json_string_value(json_array_get(json_object_get(root, "suggested_drills"), 0)), drill);
    json_decref(root);
    arena_free(arena);
}

/* A left-hander whose ball started right, as he sees it; taken back inside it typically starts left, as he sees it. */
Test(report_json, says_what_of_the_ball_speaks_against_a_fault)
{
    score_file("left_handed.json", 34, 0);
    json_t *root = report_json();
    json_t *fault = json_array_get(json_object_get(root, "faults"), FAULT_INSIDE_TAKEAWAY);
    json_t *ball = json_object_get(fault, "ball");
    cr_assert_str_eq(text_of(fault, "fault"), "inside_takeaway");
    cr_assert_eq(json_array_size(json_object_get(ball, "fits")), 0);
    cr_assert_eq(json_array_size(json_object_get(ball, "against")), 1);
    cr_assert_str_eq(json_string_value(json_array_get(json_object_get(ball, "against"), 0)), "start");
    cr_assert_lt(json_number_value(json_object_get(ball, "ratio")), 1);
    char *text = report_text(&report, standard, drills, drill_count, &context, ENGLISH(arena));
    cr_assert_not_null(strstr(text, "The ball started right, which speaks against it."));
    json_decref(root);
    arena_free(arena);
}

Test(report_json, calls_a_contested_fault_so)
{
    score_file("every_part.json", 34, 0);
    json_t *root = report_json();
    for (int i = 0; i < FAULT_COUNT; i++) {
        json_t *fault = json_array_get(json_object_get(root, "faults"), (size_t)i);
        cr_assert_str_eq(text_of(fault, "evidence"), evidence_name(standard->faults[i].evidence), "%s",
                         text_of(fault, "fault"));
    }
    cr_assert_eq(report.faults[FAULT_ACROSS_THE_LINE].verdict, VERDICT_PRESENT);
    char *text = report_text(&report, standard, drills, drill_count, &context, ENGLISH(arena));
    cr_assert_not_null(strstr(text, "(contested)"));
    json_decref(root);
    arena_free(arena);
}

Test(report_json, has_no_motion_without_motion_data)
{
    score_file("two_views.json", -1, 0);
    json_t *root = report_json();
    cr_assert(json_is_array(json_object_get(root, "motion")));
    cr_assert_eq(json_array_size(json_object_get(root, "motion")), 0);
    char *text = report_text(&report, standard, drills, drill_count, &context, ENGLISH(arena));
    cr_assert_null(strstr(text, "THE MOTION"));
    json_decref(root);
    arena_free(arena);
}

Test(report_text, is_plain_english_within_a_hundred_columns)
{
    static const char *const files[] = {"down_the_line.json", "face_on.json",    "two_views.json",
                                        "left_handed.json",   "every_part.json", "sound.json"};
    for (size_t f = 0; f < sizeof files / sizeof *files; f++) {
        score_file(files[f], 12, AREA_LOW_BACK);
        char *text = report_text(&report, standard, drills, drill_count, &context, ENGLISH(arena));
        cr_assert_not_null(text);
        cr_assert_null(strchr(text, '_'), "%s has a name with underscores: %.60s", files[f], strchr(text, '_'));
        cr_assert_null(strstr(text, "(null)"));
        int column = 0;
        for (const char *at = text; *at != '\0'; at++) {
            column = *at == '\n' ? 0 : column + (((unsigned char)*at & 0xc0) != 0x80);
            cr_assert_leq(column, 100, "%s: a line is too wide: %.100s", files[f], at - 99);
        }
        cr_assert_not_null(strstr(text, "Have an adult with you."));
        cr_assert_not_null(strstr(text, "no more than 12 hours of sport a week"));
        cr_assert_not_null(strstr(text, "Sore: low back."));
        cr_assert_not_null(strstr(text, "WHAT TO WORK ON"));
        arena_free(arena);
    }
}

/* A child with a sore low back is prescribed nothing that loads it as if nothing were, on paper or to a program. */
Test(report_text, a_drill_for_a_sore_area_is_the_coachs_to_decide)
{
    score_file("two_views.json", 12, AREA_LOW_BACK);
    const char *text = report_text(&report, standard, drills, drill_count, &context, ENGLISH(arena));
    cr_assert_not_null(text);
    json_t *root = report_json();
    size_t index;
    json_t *fix;
    int words = 0;
    json_array_foreach(json_object_get(root, "first_fixes"), index, fix)
    {
        size_t k;
        json_t *drill;
        json_array_foreach(json_object_get(fix, "drills"), k, drill)
        {
            for (int i = 0; i < drill_count; i++) {
                if (strcmp(drills[i].id, text_of(drill, "drill")) == 0) {
                    const bool loads = (drills[i].loads & AREA_LOW_BACK) != 0;
                    cr_assert_eq(json_is_true(json_object_get(drill, "needs_confirmation")), loads, "%s", drills[i].id);
                    const json_t *confirm = json_object_get(drill, "confirm");
                    cr_assert_eq(json_array_size(json_object_get(confirm, "loads")) +
                                         json_array_size(json_object_get(confirm, "ruled_out")) ==
                                     1,
                                 loads);
                    words += loads;
                }
            }
        }
        cr_assert_eq(
            json_is_string(json_object_get(fix, "no_drill")),
            json_array_size(json_object_get(fix, "drills")) == 0 ||
                json_is_true(json_object_get(json_array_get(json_object_get(fix, "drills"), 0), "needs_confirmation")));
    }
    cr_assert_gt(words, 0, "this swing's drills are such");
    cr_assert_not_null(strstr(text, "the coach must decide"));
    cr_assert_not_null(strstr(text, "Only with the coach's word. It loads what hurts: low back."));
    json_decref(root);
    arena_free(arena);
}

Test(report_json, is_whole_or_nothing_when_memory_is_short)
{
    score_file("two_views.json", 12, AREA_LOW_BACK);
    size_t length;
    char *whole = report_write(&report, standard, drills, drill_count, &context, arena, &length);
    char *told = report_text(&report, standard, drills, drill_count, &context, ENGLISH(arena));
    int refused = 0;
    int made = 0;
    for (size_t limit = 64; limit < 400000; limit += limit / 40 + 16) {
        struct arena *small = arena_new(limit);
        char *again = report_write(&report, standard, drills, drill_count, &context, small, &length);
        refused += again == NULL;
        made += again != NULL;
        cr_assert(again == NULL || strcmp(again, whole) == 0, "limit %zu", limit);
        arena_free(small);
        small = arena_new(limit);
        again = report_text(&report, standard, drills, drill_count, &context, ENGLISH(small));
        cr_assert(again == NULL || strcmp(again, told) == 0, "limit %zu", limit);
        arena_free(small);
    }
    cr_assert(refused > 10 && made > 10, "%d refused, %d made", refused, made);
    arena_free(arena);
}

Test(words, turn_sides_back_for_a_left_hander)
{
    arena = arena_new(0);
    struct camera_finding finding = {
        .kind = VIEW_DOWN_THE_LINE, .issue = CAMERA_YAW, .value = 12, .turn_right_deg = -12, .move_right_m = 0.4};
    cr_assert_not_null(
        strstr(words_camera(ENGLISH(arena), &finding), "12° to the right of the line. Turn it 12° to the left"));
    struct flight_class flight = {.start = FLIGHT_LEFT, .curve = FLIGHT_RIGHT, .strike = STRIKE_THIN};
    cr_assert_str_eq(words_flight(ENGLISH(arena), &flight, HAND_LEFT), "start: right, curve: left and strike: thin");
    arena_free(arena);
}

/* As the pages do: certain only where all that the error allows is judged alike. */
Test(words, say_how_certain_a_rating_is)
{
    static const struct {
        double value, sd, severity;
        const char *words;
    } rows[] = {{0, 1, 0, "fine"},
                {14, 3, 0, "probably fine"},
                {5, 15, 0, "probably fine"},
                {5, 16, 0, "not certain"},
                {16, 1, 0, "not certain"},
                {30, 2, 1, "strong"},
                {30, 9, 1, "strong, not certain"},
                {-30, 2, 1, "strong"},
                {-30, 20, 1, "strong, not certain"}};
    const struct measure_range range = {
        .ok_low = {true, -6}, .ok_high = {true, 15}, .strong_low = {true, -20}, .strong_high = {true, 25}};
    arena = arena_new(0);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const struct measure measure = {.observed = true, .value = rows[i].value, .sd_random = rows[i].sd};
        cr_assert_str_eq(words_rating(ENGLISH(arena), &measure, &range, rows[i].severity), rows[i].words, "%zu", i);
    }
    arena_free(arena);
}

Test(words, every_measure_fault_and_issue_has_a_phrase)
{
    arena = arena_new(0);
    for (int i = 0; i < MEASURE_COUNT; i++) {
        const char *name = words_measure(ENGLISH(arena), (enum measure_item)i);
        cr_assert_null(strchr(name, '_'), "%s", name);
        cr_assert_leq(strlen(name), 97, "a line of the table holds it: %s", name);
        for (int k = 0; k < i; k++) {
            cr_assert_str_neq(name, words_measure(ENGLISH(arena), (enum measure_item)k));
        }
    }
    for (int i = 0; i < FAULT_COUNT; i++) {
        cr_assert_not_null(words_fault(ENGLISH(arena), (enum fault_id)i));
        const char *plain = words_plain(ENGLISH(arena), (enum fault_id)i, HAND_RIGHT);
        cr_assert(plain[strlen(plain) - 1] == '.' && strpbrk(plain, "{}_0123456789") == NULL, "%s", plain);
    }
    cr_assert_str_eq(words_plain(ENGLISH(arena), FAULT_CHICKEN_WING, HAND_RIGHT),
                     "After you hit the ball, your left elbow sticks out too far.");
    cr_assert_str_eq(words_plain(ENGLISH(arena), FAULT_CHICKEN_WING, HAND_LEFT),
                     "After you hit the ball, your right elbow sticks out too far.");
    /* things are counted whole, and no error is told to be nothing */
    cr_assert_str_eq(words_value(ENGLISH(arena), MEASURE_BODY_ORDER, 2, 0.001), "2 ± 0.1");
    cr_assert_str_eq(words_value(ENGLISH(arena), MEASURE_SPINE_TILT_ADDRESS, 36, 0.001), "36° ± 1°");
    for (int i = 0; i < CAMERA_ISSUE_COUNT; i++) {
        struct camera_finding finding = {.kind = VIEW_DOWN_THE_LINE, .issue = (enum camera_issue)i};
        cr_assert_not_null(words_camera(ENGLISH(arena), &finding));
    }
    cr_assert_str_eq(words_settle(ENGLISH(arena), SETTLE_STICKS | SETTLE_FACE_ON),
                     "two sticks on the ground along the target line or a picture from the front");
    cr_assert_str_eq(words_settle(ENGLISH(arena), 0), "");
    arena_free(arena);
}

Test(json_out, writes_numbers_and_texts_that_read_back)
{
    arena = arena_new(0);
    static const struct {
        double value;
        int decimals;
        const char *text;
    } rows[] = {{0, 3, "0"},        {-0.0001, 3, "0"},     {1.5, 1, "1.5"},       {-2.25, 1, "-2.3"},
                {1000, 2, "1000"},  {0.05, 2, "0.05"},     {-0.004, 3, "-0.004"}, {123456.789, 0, "123457"},
                {1e300, 2, "null"}, {0.0 / 0.0, 1, "null"}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct json_out out;
        size_t length;
        json_out_start(&out, arena);
        json_out_number(&out, NULL, rows[i].value, rows[i].decimals);
        cr_assert_str_eq(json_out_finish(&out, &length), rows[i].text);
    }
    const char *text = "a \"quoted\"\\ line\nwith \x01 and é";
    struct json_out out;
    size_t length;
    json_out_start(&out, arena);
    json_out_array(&out, NULL);
    for (int i = 0; i < 3000; i++) {
        json_out_text(&out, NULL, text);
    }
    json_out_end_array(&out);
    json_t *back = json_loads(json_out_finish(&out, &length), 0, NULL);
    cr_assert_eq(json_array_size(back), 3000);
    cr_assert_str_eq(json_string_value(json_array_get(back, 2999)), text);
    json_decref(back);
    struct arena *small = arena_new(20000);
    json_out_start(&out, small);
    for (int i = 0; i < 3000; i++) {
        json_out_text(&out, NULL, text);
    }
    cr_assert_null(json_out_finish(&out, &length));
    arena_free(small);
    arena_free(arena);
}
