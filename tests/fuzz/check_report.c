/* What must hold of a swing that was read and of a report, whatever the input was. */
#include "fuzz.h"

#include <jansson.h>
#include <math.h>
#include <string.h>

#include "core/fault.h"
#include "core/score.h"
#include "wire/report/text.h"

#define TEXT_COLUMNS 100

static void check_maybe(const struct maybe *value, double low, double high, const char *what)
{
    fuzz_require(!value->given || (value->value >= low && value->value <= high), what);
}

static void check_view(const struct swing_view *view)
{
    const double most = 1e5; /* pixels, and whatever else a view holds: wider than every limit of the reader */
    fuzz_require(view->kind < VIEW_KIND_COUNT, "view kind");
    fuzz_require(view->frame_count >= 0 && view->frame_count <= SWING_FRAMES_MAX, "frame count");
    fuzz_require(view->stick_count >= 0 && view->stick_count <= SWING_STICKS_MAX, "stick count");
    fuzz_require(view->hfov_deg > 0 && view->hfov_deg < 180, "field of view");
    check_maybe(&view->fps, 0, most, "fps");
    check_maybe(&view->distance_m, 0, most, "distance");
    check_maybe(&view->height_m, -most, most, "height");
    check_maybe(&view->pitch_deg, -180, 180, "pitch");
    check_maybe(&view->roll_deg, -180, 180, "roll");
    for (int i = 0; i < view->stick_count * 4; i++) {
        fuzz_require(isfinite(view->sticks[i / 4][i / 2 % 2][i % 2]), "stick");
    }
    fuzz_require(!view->has_target || (isfinite(view->target[0]) && isfinite(view->target[1])), "target");
    for (int f = 0; f < view->frame_count; f++) {
        const struct frame *frame = &view->frames[f];
        fuzz_require(frame->checkpoint < CHECKPOINT_COUNT, "frame checkpoint");
        check_maybe(&frame->time_s, -most, most, "frame time");
        for (int p = 0; p < POINT_COUNT; p++) {
            const struct swing_mark *mark = &frame->points[p];
            fuzz_require(!mark->seen || (fabs(mark->u) < most && fabs(mark->v) < most), "mark");
            fuzz_require(!mark->seen || (mark->sd >= 0 && mark->sd < most), "mark sd");
        }
    }
}

void fuzz_check_swing(const struct swing *swing)
{
    fuzz_require(swing->hand == HAND_RIGHT || swing->hand == HAND_LEFT, "hand");
    fuzz_require(swing->club < CLUB_KIND_COUNT, "club");
    fuzz_require(swing->view_count >= 0 && swing->view_count <= SWING_VIEWS_MAX, "view count");
    fuzz_require(swing->weight_count >= 0 && swing->weight_count <= SWING_WEIGHTS_MAX, "weight count");
    fuzz_require(swing->measured_count >= 0 && swing->measured_count <= SWING_MEASURED_MAX, "measured count");
    fuzz_require(swing->seen_count >= 0 && swing->seen_count <= SWING_SEEN_MAX, "seen count");
    check_maybe(&swing->club_length_m, 0, 10, "club length");
    for (int i = 0; i < swing->view_count; i++) {
        check_view(&swing->views[i]);
    }
    for (int i = 0; i < swing->weight_count; i++) {
        fuzz_require(swing->weights[i].checkpoint < CHECKPOINT_COUNT, "weight checkpoint");
        fuzz_require(swing->weights[i].lead_share >= 0 && swing->weights[i].lead_share <= 1, "lead share");
    }
    for (int i = 0; i < swing->measured_count; i++) {
        const struct measured_value *value = &swing->measured[i];
        fuzz_require(value->item >= 0 && value->item < MEASURE_COUNT, "measured item");
        fuzz_require(isfinite(value->value) && isfinite(value->sd) && value->sd >= 0, "measured value");
    }
    for (int i = 0; i < swing->seen_count; i++) {
        fuzz_require(swing->seen[i].fault >= 0 && swing->seen[i].fault < FAULT_COUNT, "seen fault");
        fuzz_require(swing->seen[i].word < SEVERITY_WORD_COUNT, "seen word");
    }
}

static bool share(double value)
{
    return value >= 0 && value <= 1;
}

static void check_measures(const struct report *report)
{
    for (int i = 0; i < MEASURE_COUNT; i++) {
        const struct measure *measure = &report->measures.items[i];
        if (!measure->observed) {
            fuzz_require(report->observed_in[i] == 0, "an unobserved measure is observed in no swing");
            continue;
        }
        fuzz_require(isfinite(measure->value), "a measure is finite");
        fuzz_require(isfinite(measure->sd_random) && measure->sd_random >= 0, "a random error is finite and >= 0");
        fuzz_require(isfinite(measure->sd_systematic) && measure->sd_systematic >= 0,
                     "a systematic error is finite and >= 0");
        fuzz_require(measure->source > MEASURE_SOURCE_NONE && measure->source < MEASURE_SOURCE_COUNT, "a source");
        fuzz_require(report->observed_in[i] > 0 && report->observed_in[i] <= report->swing_count, "observed in");
        fuzz_require(share(report->severity[i]), "a severity is in [0, 1]");
    }
    for (int i = 0; i < report->camera.count; i++) {
        const struct camera_finding *finding = &report->camera.items[i];
        fuzz_require(isfinite(finding->value) && isfinite(finding->move_right_m) && isfinite(finding->move_up_m) &&
                         isfinite(finding->turn_right_deg) && isfinite(finding->roll_clockwise_deg),
                     "a camera finding is finite");
    }
}

static void check_marks_found(const struct report *report)
{
    fuzz_require(report->marks.count >= 0 && report->marks.count <= CHECK_FINDINGS_MAX, "findings about marks");
    for (int i = 0; i < report->marks.count; i++) {
        const struct mark_finding *finding = &report->marks.items[i];
        fuzz_require(isfinite(finding->by), "a finding about a mark is finite");
        fuzz_require((unsigned)finding->kind < MARK_KIND_COUNT && finding->point <= POINT_COUNT &&
                         finding->checkpoint <= CHECKPOINT_NONE && finding->view >= 0 &&
                         finding->view < SWING_VIEWS_MAX && finding->swing < report->swing_count,
                     "a finding about a mark names what there is");
    }
}

static void check_faults(const struct report *report, const struct standard *standard)
{
    for (int i = 0; i < FAULT_COUNT; i++) {
        const struct fault_result *fault = &report->faults[i];
        fuzz_require(fault->verdict < VERDICT_COUNT, "a verdict");
        fuzz_require(share(fault->score) && share(fault->p) && share(fault->expected),
                     "a fault's score, probability and expectation are in [0, 1]");
        fuzz_require(!standard->faults[i].defined ||
                         (fault->ball.ratio >= 1 / FLIGHT_TRUST && fault->ball.ratio <= FLIGHT_TRUST),
                     "a flight says no more than an eye");
        fuzz_require(fault->sign_count >= 0 && fault->sign_count <= SIGNS_MAX, "a fault's signs");
        fuzz_require(standard->faults[i].defined || fault->verdict != VERDICT_PRESENT,
                     "a fault that the standard leaves out is not present");
    }
    for (int i = 0; i < report->fixes.count; i++) {
        const struct first_fix *fix = &report->fixes.items[i];
        fuzz_require(report->faults[fix->fault].verdict == VERDICT_PRESENT, "only present faults are worked on");
        fuzz_require(isfinite(fix->priority) && fix->priority >= 0 && share(fix->flight_match) && share(fix->own),
                     "a fix's priority");
        for (int k = 0; k < FAULT_COUNT; k++) {
            fuzz_require(share(fix->explains[k]), "a share explained is in [0, 1]");
        }
    }
    fuzz_require(report->fixes.count >= 0 && report->fixes.count <= FIRSTFIX_MAX, "at most two fixes");
}

static void check_json(const char *text, size_t length)
{
    json_error_t why;
    fuzz_require(text != NULL, "the report is written");
    fuzz_require(strlen(text) == length, "the report's length");
    json_t *root = json_loadb(text, length, JSON_REJECT_DUPLICATES, &why);
    fuzz_require(root != NULL, "the report is JSON");
    fuzz_require(json_is_array(json_object_get(root, "faults")), "the report lists faults");
    /* json_out writes null for what is not finite */
    size_t i;
    json_t *measure;
    json_array_foreach(json_object_get(root, "measures"), i, measure)
    {
        fuzz_require(json_is_number(json_object_get(measure, "value")) &&
                         json_is_number(json_object_get(measure, "sd")),
                     "a measure of the report has numbers");
    }
    json_decref(root);
}

static void check_text(const char *text, bool wrapped)
{
    fuzz_require(text != NULL, "the readable report is written");
    json_t *as_string = json_string(text);
    fuzz_require(as_string != NULL, "the readable report is UTF-8");
    json_decref(as_string);
    int columns = 0;
    for (; wrapped && *text != '\0'; text++) {
        columns = *text == '\n' ? 0 : columns + (((unsigned char)*text & 0xc0) != 0x80);
        fuzz_require(columns <= TEXT_COLUMNS, "the readable report is at most 100 columns wide");
    }
}

static struct score_player player_of(uint32_t pick)
{
    return (struct score_player){.sex = (enum sex)(pick % SEX_COUNT),
                                 .age_years = (int)(pick >> 4U & 127U) - 1,
                                 .pain = (pick >> 11U & 3U) == 0 ? pick >> 13U & 511U : 0};
}

/* Whatever was found by software, a verdict that is certain is the one that people's marks give. */
static void check_guesses(const struct swing *swing, const struct report *report, const struct standard *standard,
                          const struct score_player *player)
{
    static struct report plain;
    static struct swing people;
    const struct swing *const one = &people;
    people = *swing;
    (void)swing_drop_found(&people);
    score_swings(&one, 1, standard, player, NULL, 0, &plain);
    for (int i = 0; i < FAULT_COUNT; i++) {
        const enum verdict verdict = report->faults[i].verdict;
        fuzz_require((verdict != VERDICT_PRESENT && verdict != VERDICT_ABSENT) || plain.faults[i].verdict == verdict,
                     "no guess makes a fault present or absent");
    }
    for (int i = 0; i < MEASURE_COUNT; i++) {
        const struct measure *measure = &report->measures.items[i];
        fuzz_require(measure->guessed == (measure->observed && !plain.measures.items[i].observed),
                     "a measure that only guesses give is called guessed");
    }
}

const char *fuzz_score(const struct swing_document *document, int times, const struct fuzz_book *book, uint32_t pick,
                       struct arena *arena)
{
    static struct report report;
    const struct swing *swings[SCORE_SWINGS_MAX];
    const struct score_player player = player_of(pick);
    const struct report_context context = {.hand = document->swing.hand,
                                           .recorded_at = document->recorded_at,
                                           .age_years = player.age_years,
                                           .pain = player.pain};
    for (int i = 0; i < times; i++) {
        swings[i] = &document->swing;
    }
    score_swings(swings, times, book->standard, &player, book->drills, book->drill_count, &report);
    check_measures(&report);
    check_marks_found(&report);
    check_faults(&report, book->standard);
    if (times == 1) {
        check_guesses(&document->swing, &report, book->standard, &player);
    }
    if (document->swing.motion != NULL) {
        fuzz_check_motion(document->swing.motion, &report, arena);
    }
    size_t length = 0;
    char *json = report_write(&report, book->standard, book->drills, book->drill_count, &context, arena, &length);
    check_json(json, length);
    check_text(
        report_text(&report, book->standard, book->drills, book->drill_count, &context, &(struct speaker){arena, NULL}),
        book == fuzz_book());
    return json;
}
