/* The readable report. Sentences come from words.c; here they are put in a coach's order and wrapped. */
#include "wire/report/text.h"

#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "wire/report/words_motion.h"

#define WIDTH 96

struct sheet {
    struct arena *arena;
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

static void heading(struct sheet *sheet, const char *text)
{
    text_put(&sheet->text, "\n");
    text_put(&sheet->text, text);
    text_put(&sheet->text, "\n");
}

static void cell(struct sheet *sheet, const char *text, int width)
{
    text_put(&sheet->text, text);
    if (text == NULL) {
        return;
    }
    spaces(sheet, width - columns(text, strlen(text)));
}

static void drill_tell(struct sheet *sheet, const struct practice_pick *pick)
{
    if (pick->index < 0 || pick->index >= sheet->drill_count) {
        return;
    }
    const struct drill *drill = &sheet->drills[pick->index];
    struct dose dose = practice_dose(drill, sheet->context->age_years);
    if (pick->needs_confirmation) {
        const char *why = words_needs_word(sheet->arena, drill, sheet->context->pain, sheet->report->unsteady);
        paragraph(sheet, "   Only with the coach's word, for ",
                  why == NULL ? NULL : arena_printf(sheet->arena, "%s:", why));
    }
    paragraph(sheet, "   Drill: ",
              arena_printf(sheet->arena, "%s%s. %s", drill->name, drill->ball ? "" : " (rehearsal only, no ball)",
                           drill->how_to == NULL ? "" : drill->how_to));
    if (drill->feel != NULL && drill->feel[0] != '\0') {
        paragraph(sheet, "          ", arena_printf(sheet->arena, "Feel: %s", drill->feel));
    }
    if (drill->cautions != NULL && drill->cautions[0] != '\0') {
        paragraph(sheet, "          ", arena_printf(sheet->arena, "Take care: %s", drill->cautions));
    }
    paragraph(sheet, "          ", words_dose(sheet->arena, &dose));
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
    heading(sheet, "WHAT TO WORK ON");
    if (report->fixes.count == 0) {
        paragraph(sheet, "   ",
                  count_verdicts(sheet, VERDICT_CANT_TELL) > 0
                      ? "Nothing is certain enough to work on yet. See below for what would settle the rest."
                      : "Nothing that was looked at is out of order. Keep it as it is.");
        return;
    }
    for (int i = 0; i < report->fixes.count; i++) {
        paragraph(sheet, i == 0 ? "1. " : "2. ", words_why(sheet->arena, report, i, sheet->context->hand));
        const char *none =
            words_no_drill(sheet->arena, report->drills[i], report->drill_count[i], sheet->context->pain);
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
                heading(sheet, "WHAT TO LEAVE ALONE");
            }
            any = true;
            paragraph(sheet, " - ", words_leave_alone(sheet->arena, sheet->report, (enum fault_id)i));
        }
    }
}

static void unsure_tell(struct sheet *sheet)
{
    bool any = false;
    for (int i = 0; i < FAULT_COUNT; i++) {
        const struct fault_result *fault = &sheet->report->faults[i];
        if (!sheet->standard->faults[i].defined || fault->verdict != VERDICT_CANT_TELL) {
            continue;
        }
        if (!any) {
            heading(sheet, "WHAT WE CAN'T TELL YET");
        }
        any = true;
        const char *settle = words_settle(sheet->arena, fault->settle);
        if (settle == NULL) {
            text_put(&sheet->text, NULL);
            return;
        }
        const char *perhaps = fault->p > sheet->standard->p_absent ? "it may be there" : "it is hardly there";
        paragraph(sheet, " - ",
                  settle[0] == '\0' ? arena_printf(sheet->arena, "%s: %s (%.0f %%).", words_fault((enum fault_id)i),
                                                   perhaps, 100 * fault->p)
                                    : arena_printf(sheet->arena, "%s: %s (%.0f %%). To be sure we need: %s.",
                                                   words_fault((enum fault_id)i), perhaps, 100 * fault->p, settle));
    }
}

/* Faults nobody could look at, gathered by what would show them. */
static void unseen_tell(struct sheet *sheet)
{
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
                other->settle == fault->settle) {
                names[count++] = words_fault((enum fault_id)k);
                told[k] = true;
            }
        }
        if (!any) {
            heading(sheet, "WHAT WE DID NOT SEE");
        }
        any = true;
        const char *list = words_list(sheet->arena, names, count, " or ");
        const char *settle = words_settle(sheet->arena, fault->settle);
        if (list == NULL || settle == NULL) {
            text_put(&sheet->text, NULL);
            return;
        }
        paragraph(sheet, " - ",
                  settle[0] == '\0'
                      ? arena_printf(sheet->arena, "Nothing here shows %s.", list)
                      : arena_printf(sheet->arena, "Nothing here shows %s. To see it: %s.", list, settle));
    }
}

static void camera_tell(struct sheet *sheet)
{
    const struct camera_findings *findings = &sheet->report->camera;
    if (findings->count == 0) {
        return;
    }
    heading(sheet, "THE CAMERA");
    for (int i = 0; i < findings->count; i++) {
        const struct camera_finding *finding = &findings->items[i];
        const char *sentence = words_camera(sheet->arena, finding);
        if (sheet->report->swing_count > 1 && sentence != NULL) {
            sentence = arena_printf(sheet->arena, "Swing %d. %s", finding->swing + 1, sentence);
        }
        paragraph(sheet, " - ", sentence);
    }
}

/* A finding, a sentence on its markers: with the swing's number when there are several. */
static void motion_say(struct sheet *sheet, int swing, const char *sentence)
{
    if (sheet->report->swing_count > 1 && sentence != NULL) {
        sentence = arena_printf(sheet->arena, "Swing %d. %s", swing + 1, sentence);
    }
    paragraph(sheet, " - ", sentence);
}

static void motion_times_tell(struct sheet *sheet, const struct motion_summary *motion)
{
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        if (motion->events[c].found) {
            text_put(&sheet->text, "   ");
            cell(sheet, words_checkpoint((enum checkpoint)c), 44);
            text_put(&sheet->text, words_motion_time(sheet->arena, &motion->events[c]));
            text_put(&sheet->text, "\n");
        }
    }
    if (motion->hands_low.found) {
        text_put(&sheet->text, "   ");
        cell(sheet, "the hands at their low point", 44);
        text_put(&sheet->text, words_motion_time(sheet->arena, &motion->hands_low));
        text_put(&sheet->text, "\n");
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
    motion_say(sheet, swing, words_motion_record(sheet->arena, motion));
    for (int i = 0; i < motion->finding_count; i++) {
        paragraph(sheet, "   ! ", words_motion_finding(sheet->arena, motion, &motion->findings[i], context->hand));
    }
    if (context->markers != NULL && context->markers[swing] != NULL) {
        const char *markers = words_markers(sheet->arena, context->markers[swing]);
        if (markers == NULL || markers[0] != '\0') {
            paragraph(sheet, "   ", markers);
        }
    }
    if (motion_usable(motion)) {
        paragraph(sheet, "   ", words_sequence(sheet->arena, motion));
        paragraph(sheet, "   ", words_motion_tempo(sheet->arena, motion));
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
            heading(sheet, "THE MOTION (times from the start of the record; ± is about 95%)");
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
    heading(sheet, "TAKE CARE");
    for (int i = 0; i < said; i++) {
        paragraph(sheet, " - ",
                  words_caution(sheet->arena, cautions[i], sheet->context->age_years, sheet->context->pain));
    }
}

static void table_tell(struct sheet *sheet)
{
    bool guessed = false;
    heading(sheet, "THE NUMBERS (± is about 95%)");
    for (int i = 0; i < MEASURE_COUNT; i++) {
        const struct measure *measure = &sheet->report->measures.items[i];
        const struct range_rule *rule = sheet->report->ranges[i];
        enum measure_item item = (enum measure_item)i;
        if (!measure->observed) {
            continue;
        }
        text_put(&sheet->text, "   ");
        cell(sheet, words_measure(item), 57);
        cell(sheet, words_value(sheet->arena, item, measure->value, measure_sd(measure)), 15);
        if (rule == NULL) {
            text_put(&sheet->text, " not judged\n");
            continue;
        }
        text_put(&sheet->text, " ");
        cell(sheet, words_range(sheet->arena, item, &rule->range), 14);
        const char *word = severity_word_name(severity_word(sheet->report->severity[i]));
        text_put(&sheet->text, sheet->report->severity[i] > 0 ? word : "fine");
        text_put(&sheet->text, measure->guessed ? "?" : "");
        text_put(&sheet->text, "\n");
        guessed = guessed || measure->guessed;
    }
    if (guessed) {
        text_put(&sheet->text, "   ? rests on points that software found and nobody has looked at\n");
    }
}

static void notes_tell(struct sheet *sheet)
{
    const struct report_context *context = sheet->context;
    if (context->note_count == 0) {
        return;
    }
    heading(sheet, "NOTES");
    for (int i = 0; i < context->note_count; i++) {
        paragraph(sheet, " - ", context->notes[i]);
    }
}

char *report_text(const struct report *report, const struct standard *standard, const struct drill *drills,
                  int drill_count, const struct report_context *context, struct arena *arena)
{
    struct sheet sheet = {.arena = arena,
                          .report = report,
                          .standard = standard,
                          .drills = drills,
                          .drill_count = drill_count,
                          .context = context};
    text_start(&sheet.text, arena, TEXT_NO_LIMIT);
    paragraph(&sheet, "", words_scope(arena, report));
    fixes_tell(&sheet);
    leave_tell(&sheet);
    unsure_tell(&sheet);
    unseen_tell(&sheet);
    camera_tell(&sheet);
    motions_tell(&sheet);
    care_tell(&sheet);
    table_tell(&sheet);
    notes_tell(&sheet);
    paragraph(&sheet, "\n", arena_printf(arena, "House standard: %s.", standard->version));
    return text_take(&sheet.text, NULL);
}
