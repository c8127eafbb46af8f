/* The readable report. Sentences come from words.c; here they are put in a coach's order and wrapped. */
#include "wire/report/text.h"

#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "wire/report/words_motion.h"

#define WIDTH 96

struct sheet {
    struct arena *arena;
    const struct speaker *say;
    struct text text;
    const struct report *report;
    const struct standard *standard;
    const struct drill *drills;
    int drill_count;
    const struct report_context *context;
};

static int columns(const char *text, size_t bytes)
{
    int count = 0;
    for (size_t i = 0; i < bytes; i++) {
        count += ((unsigned char)text[i] & 0xc0) != 0x80;
    }
    return count;
}

static void spaces(struct sheet *sheet, int count)
{
    for (int i = 0; i < count; i++) {
        text_put_char(&sheet->text, ' ');
    }
}

/* One paragraph, wrapped: `first` stands before it, later lines are indented as wide. NULL text fails the sheet. */
static void paragraph(struct sheet *sheet, const char *first, const char *text)
{
    int indent = columns(first, strlen(first));
    int column = indent;
    text_put(&sheet->text, first);
    if (text == NULL) {
        text_put(&sheet->text, NULL);
        return;
    }
    bool begun = false;
    while (*text != '\0') {
        size_t word = strcspn(text, " \n");
        int wide = columns(text, word);
        if (begun && column + 1 + wide > WIDTH) {
            text_put(&sheet->text, "\n");
            spaces(sheet, indent);
            column = indent;
        } else if (begun) {
            text_put(&sheet->text, " ");
            column++;
        }
        text_put_n(&sheet->text, text, word);
        column += wide;
        begun = true;
        text += word;
        text += strspn(text, " \n");
    }
    text_put(&sheet->text, "\n");
}

static void heading(struct sheet *sheet, const char *key)
{
    text_put(&sheet->text, "\n");
    text_put(&sheet->text, words_say(sheet->say, key, NULL));
    text_put(&sheet->text, "\n");
}

static void cell(struct sheet *sheet, const char *text, int width)
{
    text_put(&sheet->text, text);
    if (text == NULL) {
        return;
    }
    spaces(sheet, width > columns(text, strlen(text)) ? width - columns(text, strlen(text)) : 1);
}

static void drill_tell(struct sheet *sheet, const struct practice_pick *pick)
{
    const struct speaker *say = sheet->say;
    if (pick->index < 0 || pick->index >= sheet->drill_count) {
        return;
    }
    const struct drill *drill = &sheet->drills[pick->index];
    struct dose dose = practice_dose(drill, sheet->context->age_years);
    if (pick->needs_confirmation) {
        const char *why = words_needs_word(say, drill, sheet->context->pain, sheet->report->unsteady);
        paragraph(sheet, "   ", words_say(say, "score.word", "why", why, NULL));
    }
    paragraph(sheet, "   ",
              words_say(say, drill->ball ? "score.drill" : "score.drill.rehearsal", "name",
                        words_drill(say, drill->id, "name", drill->name), "how",
                        words_drill(say, drill->id, "how_to", drill->how_to), NULL));
    if (drill->feel != NULL && drill->feel[0] != '\0') {
        paragraph(sheet, "          ",
                  words_say(say, "score.drill.feel", "feel", words_drill(say, drill->id, "feel", drill->feel), NULL));
    }
    if (drill->cautions != NULL && drill->cautions[0] != '\0') {
        const char *care = words_drill(say, drill->id, "cautions", drill->cautions);
        paragraph(sheet, "          ", words_say(say, "score.drill.care", "care", care, NULL));
    }
    paragraph(sheet, "          ", words_dose(say, &dose));
}

static int count_verdicts(const struct sheet *sheet, enum verdict verdict)
{
    int count = 0;
    for (int i = 0; i < FAULT_COUNT; i++) {
        count += sheet->standard->faults[i].defined && sheet->report->faults[i].verdict == verdict;
    }
    return count;
}

static void fixes_tell(struct sheet *sheet)
{
    const struct report *report = sheet->report;
    heading(sheet, "score.work");
    if (report->fixes.count == 0) {
        const char *key = count_verdicts(sheet, VERDICT_PRESENT) > 0     ? "score.work.contested"
                          : count_verdicts(sheet, VERDICT_CANT_TELL) > 0 ? "score.work.unsure"
                                                                         : "score.work.fine";
        paragraph(sheet, "   ", words_say(sheet->say, key, NULL));
        return;
    }
    for (int i = 0; i < report->fixes.count; i++) {
        paragraph(sheet, i == 0 ? "1. " : "2. ",
                  words_why(sheet->say, report, sheet->standard, i, sheet->context->hand));
        const char *none = words_no_drill(sheet->say, report->drills[i], report->drill_count[i], sheet->context->pain);
        if (sheet->drill_count > 0 && (none == NULL || none[0] != '\0')) {
            paragraph(sheet, "   ", none);
        }
        for (int k = 0; k < report->drill_count[i]; k++) {
            drill_tell(sheet, &report->drills[i][k]);
        }
    }
}

static void leave_tell(struct sheet *sheet)
{
    bool any = false;
    for (int i = 0; i < FAULT_COUNT; i++) {
        if (sheet->report->fixes.leave_alone[i]) {
            if (!any) {
                heading(sheet, "score.leave");
            }
            any = true;
            paragraph(sheet, " - ", words_leave_alone(sheet->say, sheet->report, sheet->standard, (enum fault_id)i));
        }
    }
}

static void unsure_tell(struct sheet *sheet)
{
    const struct speaker *say = sheet->say;
    bool any = false;
    for (int i = 0; i < FAULT_COUNT; i++) {
        const struct fault_result *fault = &sheet->report->faults[i];
        if (!sheet->standard->faults[i].defined || fault->verdict != VERDICT_CANT_TELL) {
            continue;
        }
        if (!any) {
            heading(sheet, "score.unsure");
        }
        any = true;
        const char *settle = words_settle(say, fault->settle);
        const char *name = words_fault_of(say, sheet->standard, (enum fault_id)i);
        const char *perhaps =
            words_say(say, fault->p > sheet->standard->p_absent ? "score.perhaps" : "score.hardly", "fault",
                      words_capital(say, name), "p", words_number(say, 100 * fault->p, 0), NULL);
        const char *need =
            settle == NULL || settle[0] == '\0' ? settle : words_say(say, "score.need", "what", settle, NULL);
        const char *against = words_against(say, sheet->report, (enum fault_id)i, sheet->context->hand);
        paragraph(sheet, " - ",
                  perhaps == NULL || need == NULL || against == NULL
                      ? NULL
                      : arena_printf(sheet->arena, "%s%s%s%s%s", perhaps, against[0] == '\0' ? "" : " ", against,
                                     need[0] == '\0' ? "" : " ", need));
    }
}

/* Whether a fault was not judged because its range is for adults. */
static bool adults_only(const struct sheet *sheet, const struct fault_result *fault)
{
    bool only = false;
    for (int i = 0; i < fault->sign_count && fault->settle == 0; i++) {
        only = only || sheet->report->ranges[fault->signs[i].item].adult_only;
    }
    return only;
}

/* Faults nobody could look at, gathered by what would show them. */
static void unseen_tell(struct sheet *sheet)
{
    const struct speaker *say = sheet->say;
    bool told[FAULT_COUNT] = {false};
    bool any = false;
    for (int i = 0; i < FAULT_COUNT; i++) {
        const struct fault_result *fault = &sheet->report->faults[i];
        if (told[i] || !sheet->standard->faults[i].defined || fault->verdict != VERDICT_NOT_OBSERVED) {
            continue;
        }
        const char *names[FAULT_COUNT];
        int count = 0;
        for (int k = i; k < FAULT_COUNT; k++) {
            const struct fault_result *other = &sheet->report->faults[k];
            if (sheet->standard->faults[k].defined && other->verdict == VERDICT_NOT_OBSERVED &&
                other->settle == fault->settle && adults_only(sheet, other) == adults_only(sheet, fault)) {
                names[count++] = words_say_code(say, "topic.", fault_name((enum fault_id)k));
                told[k] = true;
            }
        }
        if (!any) {
            heading(sheet, "score.unseen");
        }
        any = true;
        const char *list = words_say(say, "score.unseen.list", "list", words_list(say, names, count, true), NULL);
        const char *settle = words_settle(say, fault->settle);
        const char *nothing = adults_only(sheet, fault) ? "report.unjudged.adults" : "report.unjudged.nothing";
        const char *need = settle != NULL && settle[0] == '\0'
                               ? words_say(say, nothing, NULL)
                               : words_say(say, "report.unjudged.need", "what", settle, NULL);
        paragraph(sheet, " - ", list == NULL || need == NULL ? NULL : arena_printf(sheet->arena, "%s %s", list, need));
    }
}

/* A sentence on one swing: with the swing's number when there are several. */
static void swing_say(struct sheet *sheet, int swing, const char *sentence)
{
    if (sheet->report->swing_count > 1) {
        sentence = words_say(sheet->say, "score.swing", "n", arena_printf(sheet->arena, "%d", swing + 1), "what",
                             sentence, NULL);
    }
    paragraph(sheet, " - ", sentence);
}

static void camera_tell(struct sheet *sheet)
{
    const struct camera_findings *findings = &sheet->report->camera;
    if (findings->count > 0) {
        heading(sheet, "score.camera");
    }
    for (int i = 0; i < findings->count; i++) {
        swing_say(sheet, findings->items[i].swing, words_camera(sheet->say, &findings->items[i]));
    }
}

static void marks_tell(struct sheet *sheet)
{
    const struct mark_findings *marks = &sheet->report->marks;
    if (marks->count > 0) {
        heading(sheet, "score.marks");
    }
    for (int i = 0; i < marks->count; i++) {
        swing_say(sheet, marks->items[i].swing, words_mark(sheet->say, &marks->items[i]));
    }
}

static void motion_time_tell(struct sheet *sheet, const char *name, const struct motion_time *time)
{
    text_put(&sheet->text, "   ");
    cell(sheet, name, 44);
    text_put(&sheet->text, words_motion_time(sheet->say, time));
    text_put(&sheet->text, "\n");
}

static void motion_times_tell(struct sheet *sheet, const struct motion_summary *motion)
{
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        if (motion->events[c].found) {
            motion_time_tell(sheet, words_checkpoint(sheet->say, (enum checkpoint)c), &motion->events[c]);
        }
    }
    if (motion->hands_low.found) {
        motion_time_tell(sheet, words_say(sheet->say, "motion.low", NULL), &motion->hands_low);
    }
}

/* Nothing was measured from a record with a fault other than its club's. */
static bool motion_usable(const struct motion_summary *motion)
{
    return motion->hands_low.found || motion->events[CHECKPOINT_TOP].found;
}

static void motion_tell(struct sheet *sheet, int swing, const struct motion_summary *motion)
{
    const struct report_context *context = sheet->context;
    swing_say(sheet, swing, words_motion_record(sheet->say, motion));
    for (int i = 0; i < motion->finding_count; i++) {
        paragraph(sheet, "   ! ", words_motion_finding(sheet->say, motion, &motion->findings[i], context->hand));
    }
    if (context->markers != NULL && context->markers[swing] != NULL) {
        const char *markers = words_markers(sheet->say, context->markers[swing]);
        if (markers == NULL || markers[0] != '\0') {
            paragraph(sheet, "   ", markers);
        }
    }
    if (motion_usable(motion)) {
        paragraph(sheet, "   ", words_sequence(sheet->say, motion));
        paragraph(sheet, "   ", words_motion_tempo(sheet->say, motion));
        motion_times_tell(sheet, motion);
    }
}

static void motions_tell(struct sheet *sheet)
{
    bool any = false;
    for (int i = 0; i < sheet->report->swing_count; i++) {
        if (sheet->report->motions[i] == NULL) {
            continue;
        }
        if (!any) {
            heading(sheet, "score.motion");
        }
        any = true;
        motion_tell(sheet, i, sheet->report->motions[i]);
    }
}

static void care_tell(struct sheet *sheet)
{
    const struct drill *given[FIRSTFIX_MAX * SCORE_DRILLS_MAX];
    enum codes_caution cautions[CAUTION_COUNT];
    int count = 0;
    for (int i = 0; i < sheet->report->fixes.count; i++) {
        for (int k = 0; k < sheet->report->drill_count[i]; k++) {
            int index = sheet->report->drills[i][k].index;
            if (index >= 0 && index < sheet->drill_count) {
                given[count++] = &sheet->drills[index];
            }
        }
    }
    int said = codes_cautions(given, count, sheet->context->age_years, sheet->context->pain, cautions);
    heading(sheet, "score.care");
    for (int i = 0; i < said; i++) {
        paragraph(sheet, " - ",
                  words_caution(sheet->say, cautions[i], sheet->context->age_years, sheet->context->pain));
    }
}

#define NAME_WIDTH 44

/* A name of a row; one that is too wide stands on a line of its own. */
static void name_cell(struct sheet *sheet, const char *name)
{
    text_put(&sheet->text, "   ");
    if (name != NULL && columns(name, strlen(name)) >= NAME_WIDTH) {
        text_put(&sheet->text, name);
        text_put(&sheet->text, "\n   ");
        name = "";
    }
    cell(sheet, name, NAME_WIDTH);
}

static void table_tell(struct sheet *sheet)
{
    const struct speaker *say = sheet->say;
    bool guessed = false;
    bool whom[WHOM_COUNT] = {false};
    heading(sheet, "score.numbers");
    for (int i = 0; i < MEASURE_COUNT; i++) {
        const struct measure *measure = &sheet->report->measures.items[i];
        const struct judged_range *rule = &sheet->report->ranges[i];
        enum measure_item item = (enum measure_item)i;
        if (!measure->observed) {
            continue;
        }
        name_cell(sheet, words_capital(say, words_measure(say, item)));
        cell(sheet, words_value(say, item, measure->value, measure_sd(measure)), 15);
        if (!rule->given) {
            text_put(&sheet->text, words_say(say, rule->adult_only ? "score.adult_only" : "score.not_judged", NULL));
        } else {
            cell(sheet, words_range(say, item, &rule->range), 16);
            text_put(&sheet->text, words_rating(say, measure, &rule->range, sheet->report->severity[i]));
            text_put(&sheet->text, measure->guessed ? "?" : "");
            guessed = guessed || measure->guessed;
            whom[rule->whom] = true;
        }
        text_put(&sheet->text, "\n");
    }
    if (guessed) {
        paragraph(sheet, "   ", words_say(say, "score.guessed", NULL));
    }
    if (whom[WHOM_GUIDE]) {
        paragraph(sheet, "   ", words_say(say, "score.for.guide", NULL));
    }
    if (whom[WHOM_HEIGHT]) {
        const char *height = words_number(say, sheet->report->player.height_m.value, 2);
        paragraph(sheet, "   ", words_say(say, "score.for.height", "height", height, NULL));
    }
}

static void notes_tell(struct sheet *sheet)
{
    const struct report_context *context = sheet->context;
    if (context->note_count == 0) {
        return;
    }
    heading(sheet, "score.notes");
    for (int i = 0; i < context->note_count; i++) {
        paragraph(sheet, " - ", context->notes[i]);
    }
}

char *report_text(const struct report *report, const struct standard *standard, const struct drill *drills,
                  int drill_count, const struct report_context *context, const struct speaker *say)
{
    struct sheet sheet = {.arena = say->arena,
                          .say = say,
                          .report = report,
                          .standard = standard,
                          .drills = drills,
                          .drill_count = drill_count,
                          .context = context};
    text_start(&sheet.text, say->arena, TEXT_NO_LIMIT);
    paragraph(&sheet, "", words_scope(say, report));
    marks_tell(&sheet);
    fixes_tell(&sheet);
    leave_tell(&sheet);
    unsure_tell(&sheet);
    unseen_tell(&sheet);
    camera_tell(&sheet);
    motions_tell(&sheet);
    care_tell(&sheet);
    table_tell(&sheet);
    notes_tell(&sheet);
    paragraph(&sheet, "\n", words_say(say, "score.standard", "version", standard->version, NULL));
    return text_take(&sheet.text, NULL);
}
