/* Motion data in words and in both reports: summaries are filled in by hand, so that every sentence has one right
 * answer. */
#include <criterion/criterion.h>

#include <jansson.h>
#include <stdio.h>
#include <string.h>

#include "wire/report/text.h"
#include "wire/report/words_motion.h"
#include "wire/rules/standard_read.h"

#define ENGLISH(arena) (&(struct speaker){arena, NULL})

static struct arena *arena;

/* A right-hander's 240 Hz record of one swing with its club: impact 1.5 s, peaks 92, 64, 41 and 3 ms before. */
static struct motion_summary usual(void)
{
    struct motion_summary motion = {.rate_hz = 240,
                                    .duration_s = 3,
                                    .has_club = true,
                                    .swing_count = 1,
                                    .by_impact = true,
                                    .noise_m = 0.0005,
                                    .hands_speed_ms = 8.1,
                                    .plane_slope_deg = 51.5,
                                    .plane_direction_deg = -2.5,
                                    .plane_rms_m = 0.021};
    motion.events[CHECKPOINT_ADDRESS] = (struct motion_time){true, 0.42, 0.010};
    motion.events[CHECKPOINT_TOP] = (struct motion_time){true, 1.23, 0.005};
    motion.events[CHECKPOINT_IMPACT] = (struct motion_time){true, 1.5, 0.0005};
    motion.hands_low = (struct motion_time){true, 1.49, 0.004};
    motion.peaks[MOTION_PELVIS] =
        (struct motion_peak){.found = true, .time_s = 1.408, .sd_s = 0.004, .speed_deg_s = 480};
    motion.peaks[MOTION_CHEST] =
        (struct motion_peak){.found = true, .time_s = 1.436, .sd_s = 0.004, .speed_deg_s = 650};
    motion.peaks[MOTION_LEAD_ARM] =
        (struct motion_peak){.found = true, .time_s = 1.459, .sd_s = 0.003, .speed_deg_s = 980};
    motion.peaks[MOTION_CLUB] =
        (struct motion_peak){.found = true, .time_s = 1.497, .sd_s = 0.002, .speed_deg_s = 2150.04};
    return motion;
}

Test(words_motion, tell_the_usual_order_with_every_error)
{
    arena = arena_new(0);
    struct motion_summary motion = usual();
    cr_assert_str_eq(words_sequence(ENGLISH(arena), &motion),
                     "The pelvis turned fastest 92 ms ± 8 ms before impact, then the chest (64 ms ± 8 ms before), the "
                     "lead arm (41 ms ± 6 ms before) and the club (3 ms ± 4 ms before): in the usual order.");
    arena_free(arena);
}

Test(words_motion, tell_the_hands_low_point_without_impact_and_what_was_not_measured)
{
    arena = arena_new(0);
    struct motion_summary motion = usual();
    motion.has_club = false;
    motion.events[CHECKPOINT_IMPACT].found = false;
    motion.peaks[MOTION_CLUB].found = false;
    motion.peaks[MOTION_LEAD_ARM].time_s = 1.502;
    cr_assert_str_eq(words_sequence(ENGLISH(arena), &motion),
                     "The pelvis turned fastest 82 ms ± 11 ms before the hands' low point, then the chest (54 ms ± 11 "
                     "ms before) and the lead arm (12 ms ± 10 ms after): in the usual order. Not measured: club.");
    motion.peaks[MOTION_PELVIS].found = motion.peaks[MOTION_CHEST].found = false;
    motion.curve_known[MOTION_PELVIS] = true;
    const char *flat = words_sequence(ENGLISH(arena), &motion);
    cr_assert_not_null(strstr(flat, "no order. No clear peak: pelvis. Not measured: chest and club."), "%s", flat);
    motion.peaks[MOTION_CHEST] = (struct motion_peak){.time_s = 1.54, .late = true};
    const char *late = words_sequence(ENGLISH(arena), &motion);
    cr_assert_not_null(strstr(late, "Not yet at its fastest 50 ms after the hands' low point: chest. No clear peak: "
                                    "pelvis. Not measured: club."),
                       "%s", late);
    const char *alone = words_sequence(ENGLISH(arena), &motion);
    cr_assert_not_null(strstr(alone, "one part alone has no order"), "%s", alone);
    cr_assert_null(strstr(alone, "usual order"));
    motion.peaks[MOTION_LEAD_ARM].found = false;
    cr_assert_not_null(strstr(words_sequence(ENGLISH(arena), &motion), "could not be measured"));
    arena_free(arena);
}

/* A lag is judged against twice its own error, sqrt(4^2 + 4^2) = 5.66 ms -> 11.3 ms. */
Test(words_motion, call_a_lag_within_twice_its_error_too_close_to_tell)
{
    static const struct {
        double chest_s;
        bool close, swapped;
    } rows[] = {{1.420, false, false}, {1.419, true, false}, {1.408, true, false},
                {1.397, true, false},  {1.396, false, true}, {1.350, false, true}};
    arena = arena_new(0);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct motion_summary motion = usual();
        motion.peaks[MOTION_CHEST].time_s = rows[i].chest_s;
        const char *text = words_sequence(ENGLISH(arena), &motion);
        cr_assert_eq(strstr(text, "Too close to tell which came first: the pelvis and the chest.") != NULL,
                     rows[i].close, "%s", text);
        cr_assert_eq(strstr(text, "the chest came before the pelvis.") != NULL, rows[i].swapped, "%s", text);
        cr_assert_eq(strstr(text, "in the usual order.") != NULL, !rows[i].close && !rows[i].swapped, "%s", text);
        if (rows[i].swapped) {
            cr_assert_eq(strncmp(text, "The chest turned fastest", 24), 0, "%s", text);
        }
    }
    arena_free(arena);
}

Test(words_motion, tell_tempo_only_with_start_top_and_impact)
{
    arena = arena_new(0);
    struct motion_summary motion = usual();
    /* 0.81 / 0.27; sd: hypot(0.010 / 0.27, 0.005 * 4 / 0.27, 0.0005 * 3 / 0.27) = 0.083 */
    cr_assert_str_eq(words_motion_tempo(ENGLISH(arena), &motion),
                     "Back 0.81 s ± 0.02 s, down 0.27 s ± 0.01 s: a tempo of 3.0 ± 0.2 to one.");
    motion.events[CHECKPOINT_IMPACT].found = false;
    cr_assert_not_null(strstr(words_motion_tempo(ENGLISH(arena), &motion), "so no tempo"));
    motion.events[CHECKPOINT_ADDRESS].found = false;
    cr_assert_eq(strncmp(words_motion_tempo(ENGLISH(arena), &motion), "No tempo", 8), 0);
    motion = usual();
    motion.events[CHECKPOINT_TOP].time_s = 1.6;
    cr_assert_eq(strncmp(words_motion_tempo(ENGLISH(arena), &motion), "No tempo", 8), 0);
    arena_free(arena);
}

Test(words_motion, say_for_every_issue_what_it_means_and_what_to_do_for_either_hand)
{
    arena = arena_new(0);
    struct motion_summary motion = usual();
    const char *told[MOTION_ISSUE_COUNT];
    for (int i = 0; i < MOTION_ISSUE_COUNT; i++) {
        struct motion_finding finding = {.issue = (enum motion_issue)i, .point = POINT_LEAD_WRIST, .value = 0.12};
        told[i] = words_motion_finding(ENGLISH(arena), &motion, &finding, HAND_RIGHT);
        cr_assert(strlen(told[i]) > 60 && told[i][strlen(told[i]) - 1] == '.', "%s", told[i]);
        cr_assert_null(strchr(told[i], '_'), "%s", told[i]);
        for (int k = 0; k < i; k++) {
            cr_assert_str_neq(told[i], told[k]);
        }
        const char *left = words_motion_finding(ENGLISH(arena), &motion, &finding, HAND_LEFT);
        bool sided = i == MOTION_FACES_AWAY || i == MOTION_SIDES_SWAPPED;
        cr_assert_eq(strcmp(left, told[i]) != 0, sided, "%s", left);
    }
    struct motion_finding swapped = {.issue = MOTION_SIDES_SWAPPED};
    cr_assert_not_null(
        strstr(words_motion_finding(ENGLISH(arena), &motion, &swapped, HAND_LEFT), "a left-hander the right side"));
    cr_assert_not_null(strstr(told[MOTION_GAP], "lead wrist is hidden for up to 0.12 s"));
    struct motion_finding other = {.issue = MOTION_OTHER_SWINGS, .value = 2};
    motion.by_impact = false;
    cr_assert_not_null(strstr(words_motion_finding(ENGLISH(arena), &motion, &other, HAND_RIGHT),
                              "holds 2 other swings; the one with the fastest hands was taken"));
    arena_free(arena);
}

Test(words_motion, name_missing_and_unused_markers)
{
    arena = arena_new(0);
    static const char *unused[15] = {"T10", "STRN", "c", "d", "e", "f", "g", "h", "i", "j", "k", "l", "m", "n", "o"};
    struct marker_match match = {.unmapped_count = 2, .unmapped = unused};
    for (int p = 0; p < POINT_COUNT; p++) {
        match.found[p] = p != POINT_TRAIL_TOE && p != POINT_BALL;
    }
    cr_assert_str_eq(words_markers(ENGLISH(arena), &match),
                     "No marker was found for: trail toe and ball. Not used, because the "
                     "map names no point for them: T10 and STRN.");
    match.found[POINT_TRAIL_TOE] = match.found[POINT_BALL] = true;
    match.unmapped_count = 15;
    cr_assert_not_null(
        strstr(words_markers(ENGLISH(arena), &match), "T10, STRN, c, d, e, f, g, h, i, j, k, l and 3 more."));
    match.unmapped_count = 0;
    cr_assert_str_eq(words_markers(ENGLISH(arena), &match), "");
    arena_free(arena);
}

/* Three swings, the middle one without motion data, the last one from a marker file. */
struct lesson {
    struct motion_summary first, last;
    struct report report;
    struct marker_match match;
    const struct marker_match *matches[3];
    struct report_context context;
    const struct standard *standard;
};

static void lesson_make(struct lesson *lesson)
{
    static const char *unused[] = {"T10"};
    arena = arena_new(0);
    lesson->standard = standard_default(arena);
    lesson->first = usual();
    lesson->last = usual();
    lesson->last.findings[0] = (struct motion_finding){MOTION_GAP, false, POINT_LEAD_WRIST, 0.12};
    lesson->last.findings[1] = (struct motion_finding){MOTION_CLUB_LENGTH, true, POINT_COUNT, 0.2};
    lesson->last.finding_count = 2;
    lesson->last.has_club = false;
    lesson->last.hands_low.found = false;
    struct swing swings[3] = {{.motion = &lesson->first}, {.motion = NULL}, {.motion = NULL}};
    const struct swing *all[3] = {&swings[0], &swings[1], &swings[2]};
    struct score_player player = {.age_years = 30};
    score_swings(all, 3, lesson->standard, &player, NULL, 0, &lesson->report);
    lesson->report.motions[2] = &lesson->last;
    lesson->match = (struct marker_match){.unmapped_count = 1, .unmapped = unused};
    for (int p = 0; p < POINT_COUNT; p++) {
        lesson->match.found[p] = p != POINT_TRAIL_TOE;
    }
    lesson->matches[2] = &lesson->match;
    lesson->context = (struct report_context){.age_years = 30, .markers = lesson->matches};
}

static double number_of(const json_t *object, const char *key)
{
    cr_assert(json_is_number(json_object_get(object, key)), "%s", key);
    return json_number_value(json_object_get(object, key));
}

Test(report_motion, is_filled_from_the_swings_and_written_whole)
{
    struct lesson lesson = {0};
    lesson_make(&lesson);
    cr_assert_eq(lesson.report.motions[0], &lesson.first);
    cr_assert_null(lesson.report.motions[1]);
    size_t length;
    char *text = report_write(&lesson.report, lesson.standard, NULL, 0, &lesson.context, arena, &length);
    json_t *root = json_loadb(text, length, JSON_REJECT_DUPLICATES, NULL);
    cr_assert_not_null(root);
    json_t *motions = json_object_get(root, "motion");
    cr_assert_eq(json_array_size(motions), 2);
    json_t *first = json_array_get(motions, 0);
    json_t *last = json_array_get(motions, 1);
    cr_assert_eq(number_of(first, "swing"), 0);
    cr_assert_eq(number_of(last, "swing"), 2);
    cr_assert_eq(number_of(first, "rate_hz"), 240);
    cr_assert_eq(number_of(first, "duration_s"), 3);
    cr_assert_eq(number_of(first, "swings_in_file"), 1);
    cr_assert_str_eq(json_string_value(json_object_get(first, "taken")), "by_impact");
    cr_assert_float_eq(number_of(first, "noise_m"), 0.0005, 1e-12);
    cr_assert_float_eq(number_of(first, "hands_speed_ms"), 8.1, 1e-12);
    cr_assert_float_eq(number_of(first, "hands_low_s"), 1.49, 1e-12);
    json_t *checkpoints = json_object_get(first, "checkpoints");
    cr_assert_eq(json_array_size(checkpoints), 3);
    cr_assert_str_eq(json_string_value(json_object_get(json_array_get(checkpoints, 1), "checkpoint")), "top");
    cr_assert_float_eq(number_of(json_array_get(checkpoints, 1), "time_s"), 1.23, 1e-12);
    cr_assert_float_eq(number_of(json_array_get(checkpoints, 1), "sd"), 0.005, 1e-12);
    json_t *peaks = json_object_get(first, "peaks");
    cr_assert_eq(json_array_size(peaks), 4);
    cr_assert_str_eq(json_string_value(json_object_get(json_array_get(peaks, 2), "segment")), "lead_arm");
    cr_assert_float_eq(number_of(json_array_get(peaks, 3), "speed_deg_s"), 2150, 1e-9);
    cr_assert_float_eq(number_of(json_object_get(first, "plane"), "slope_deg"), 51.5, 1e-12);
    cr_assert_eq(json_array_size(json_object_get(first, "findings")), 0);
    cr_assert_null(json_object_get(first, "markers"), "only of marker files");
    cr_assert(json_is_null(json_object_get(last, "plane")) && json_is_null(json_object_get(last, "hands_low_s")));
    json_t *gap = json_array_get(json_object_get(last, "findings"), 0);
    cr_assert_str_eq(json_string_value(json_object_get(gap, "issue")), "gap");
    cr_assert_str_eq(json_string_value(json_object_get(gap, "point")), "lead_wrist");
    cr_assert(json_is_false(json_object_get(gap, "fault")));
    json_t *length_found = json_array_get(json_object_get(last, "findings"), 1);
    cr_assert(json_is_true(json_object_get(length_found, "fault")));
    cr_assert(json_is_null(json_object_get(length_found, "point")));
    json_t *markers = json_object_get(last, "markers");
    cr_assert_str_eq(json_string_value(json_array_get(json_object_get(markers, "missing"), 0)), "trail_toe");
    cr_assert_eq(json_array_size(json_object_get(markers, "missing")), 1);
    cr_assert_str_eq(json_string_value(json_array_get(json_object_get(markers, "unmapped"), 0)), "T10");
    json_decref(root);
    arena_free(arena);
}

Test(report_motion, is_told_in_words_with_checkpoint_times)
{
    struct lesson lesson = {0};
    lesson_make(&lesson);
    char *text = report_text(&lesson.report, lesson.standard, NULL, 0, &lesson.context, ENGLISH(arena));
    const char *at = strstr(text, "THE MOTION");
    cr_assert_not_null(at);
    cr_assert_not_null(strstr(at, "Swing 1. 3.0 s at 240 pictures a second, with the club."));
    cr_assert_not_null(strstr(at, "Swing 3. 3.0 s at 240 pictures a second, without a club to measure."));
    cr_assert_null(strstr(at, "Swing 2."));
    cr_assert_not_null(strstr(at, "in the usual order."));
    cr_assert_not_null(strstr(at, "a tempo of 3.0 ± 0.2 to one."));
    cr_assert_not_null(strstr(at, "1.230 s ± 10 ms"));
    cr_assert_not_null(strstr(at, "No marker was found for: trail toe."));
    cr_assert_not_null(strstr(at, "hidden for up to 0.12 s"));
    int column = 0;
    for (const char *c = text; *c != '\0'; c++) {
        column = *c == '\n' ? 0 : column + (((unsigned char)*c & 0xc0) != 0x80);
        cr_assert_leq(column, 100, "too wide: %.100s", c - 99);
    }
    arena_free(arena);
}

Test(report_motion, is_whole_or_nothing_when_memory_is_short)
{
    struct lesson lesson = {0};
    lesson_make(&lesson);
    size_t length;
    char *whole = report_write(&lesson.report, lesson.standard, NULL, 0, &lesson.context, arena, &length);
    char *told = report_text(&lesson.report, lesson.standard, NULL, 0, &lesson.context, ENGLISH(arena));
    int refused = 0;
    int made = 0;
    for (size_t limit = 64; limit < 200000; limit += limit / 40 + 16) {
        struct arena *small = arena_new(limit);
        char *again = report_write(&lesson.report, lesson.standard, NULL, 0, &lesson.context, small, &length);
        cr_assert(again == NULL || strcmp(again, whole) == 0, "limit %zu", limit);
        refused += again == NULL;
        made += again != NULL;
        arena_free(small);
        small = arena_new(limit);
        again = report_text(&lesson.report, lesson.standard, NULL, 0, &lesson.context, ENGLISH(small));
        cr_assert(again == NULL || strcmp(again, told) == 0, "limit %zu", limit);
        arena_free(small);
    }
    cr_assert(refused > 10 && made > 10, "%d refused, %d made", refused, made);
    arena_free(arena);
}
