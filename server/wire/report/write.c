/* The report as JSON: camera, measures, faults, ball, first fixes with their drills, cautions. */
#include "wire/report/write.h"

#include "wire/json/out.h"
#include "wire/report/codes.h"
#include "wire/report/motion.h"

struct writer {
    struct json_out out;
    const struct report *report;
    const struct standard *standard;
    const struct drill *drills;
    int drill_count;
    const struct report_context *context;
};

int report_decimals(enum measure_item item)
{
    const enum unit unit = measure_info(item)->unit;
    return unit == UNIT_DEG || unit == UNIT_PERCENT ? 1 : 3;
}

static void item_write(struct json_out *out, enum measure_item item)
{
    const struct measure_info *info = measure_info(item);
    json_out_text(out, "measure", info->name);
    json_out_text(out, "checkpoint", info->checkpoint == CHECKPOINT_NONE ? NULL : checkpoint_name(info->checkpoint));
}

void report_limits_write(struct json_out *out, const char *key, struct maybe low, struct maybe high)
{
    const struct maybe both[2] = {low, high};
    json_out_array(out, key);
    for (int i = 0; i < 2; i++) {
        if (both[i].given) {
            json_out_number(out, NULL, both[i].value, 3);
        } else {
            json_out_null(out, NULL);
        }
    }
    json_out_end_array(out);
}

static void measure_write(struct writer *w, enum measure_item item)
{
    struct json_out *out = &w->out;
    const struct measure *measure = &w->report->measures.items[item];
    const struct judged_range *rule = &w->report->ranges[item];
    int decimals = report_decimals(item);
    json_out_object(out, NULL);
    item_write(out, item);
    json_out_text(out, "unit", unit_name(measure_info(item)->unit));
    json_out_number(out, "value", measure->value, decimals);
    json_out_number(out, "sd", measure_sd(measure), decimals + 1);
    json_out_number(out, "sd_random", measure->sd_random, decimals + 1);
    json_out_number(out, "sd_systematic", measure->sd_systematic, decimals + 1);
    json_out_text(out, "source", measure_source_name(measure->source));
    if (measure->clipped) {
        json_out_bool(out, "clipped", true);
    }
    if (measure->guessed) {
        json_out_bool(out, "guessed", true);
    }
    if (measure->suspect) {
        json_out_bool(out, "suspect", true);
    }
    json_out_number(out, "observed_in", w->report->observed_in[item], 0);
    if (rule->given) {
        json_out_number(out, "severity", w->report->severity[item], 3);
        json_out_text(out, "word", severity_word_name(severity_word(w->report->severity[item])));
        report_limits_write(out, "ok", rule->range.ok_low, rule->range.ok_high);
        report_limits_write(out, "strong", rule->range.strong_low, rule->range.strong_high);
        json_out_text(out, "evidence", evidence_name(rule->evidence));
        json_out_text(out, "made_for", range_whom_name(rule->whom));
    }
    if (rule->adult_only) {
        json_out_bool(out, "adult_only", true);
    }
    json_out_end_object(out);
}

static void measures_write(struct writer *w)
{
    struct json_out *out = &w->out;
    json_out_array(out, "measures");
    for (int i = 0; i < MEASURE_COUNT; i++) {
        if (w->report->measures.items[i].observed) {
            measure_write(w, (enum measure_item)i);
        }
    }
    json_out_end_array(out);
    json_out_array(out, "not_observed");
    for (int i = 0; i < MEASURE_COUNT; i++) {
        if (!w->report->measures.items[i].observed) {
            json_out_object(out, NULL);
            item_write(out, (enum measure_item)i);
            json_out_end_object(out);
        }
    }
    json_out_end_array(out);
}

static void camera_write(struct writer *w)
{
    struct json_out *out = &w->out;
    json_out_array(out, "camera");
    for (int i = 0; i < w->report->camera.count; i++) {
        const struct camera_finding *f = &w->report->camera.items[i];
        json_out_object(out, NULL);
        json_out_number(out, "swing", f->swing, 0);
        json_out_number(out, "view", f->view, 0);
        json_out_text(out, "kind", view_kind_name(f->kind));
        json_out_text(out, "issue", camera_issue_name(f->issue));
        json_out_bool(out, "fault", f->fault);
        json_out_number(out, "value", f->value, 2);
        json_out_object(out, "move");
        json_out_number(out, "right_m", f->move_right_m, 2);
        json_out_number(out, "up_m", f->move_up_m, 2);
        json_out_number(out, "turn_right_deg", f->turn_right_deg, 1);
        json_out_number(out, "roll_clockwise_deg", f->roll_clockwise_deg, 1);
        json_out_end_object(out);
        if (f->issue == CAMERA_CLIPPED && f->value >= 0 && f->value < CHECKPOINT_COUNT) {
            json_out_text(out, "checkpoint", checkpoint_name((enum checkpoint)(int)f->value));
        }
        json_out_end_object(out);
    }
    json_out_end_array(out);
}

/* The unit of a finding's "by". */
static const char *by_unit(enum mark_kind kind)
{
    switch (kind) {
    case MARK_ORDER_OF_TIME:
        return "s";
    case MARK_WRONG_MOMENT:
        return "moments";
    case MARK_WRONG_VIEW:
    case MARK_WRONG_HAND:
        return "share";
    default:
        return "px";
    }
}

static void marks_write(struct writer *w)
{
    struct json_out *out = &w->out;
    json_out_array(out, "marks");
    for (int i = 0; i < w->report->marks.count; i++) {
        const struct mark_finding *f = &w->report->marks.items[i];
        json_out_object(out, NULL);
        json_out_number(out, "swing", f->swing, 0);
        json_out_number(out, "view", f->view, 0);
        json_out_text(out, "view_kind", view_kind_name(f->view_kind));
        json_out_text(out, "checkpoint", f->checkpoint == CHECKPOINT_NONE ? NULL : checkpoint_name(f->checkpoint));
        json_out_text(out, "point", point_name(f->point));
        json_out_text(out, "kind", mark_kind_name(f->kind));
        json_out_number(out, "by", f->by, f->kind == MARK_OFF ? 0 : 2);
        json_out_text(out, "unit", by_unit(f->kind));
        json_out_text(out, "code", codes_mark(f));
        json_out_end_object(out);
    }
    json_out_end_array(out);
}

static void signs_write(struct json_out *out, const struct fault_result *fault)
{
    json_out_array(out, "signs");
    for (int i = 0; i < fault->sign_count; i++) {
        const struct sign_result *sign = &fault->signs[i];
        json_out_object(out, NULL);
        item_write(out, sign->item);
        json_out_text(out, "side", sign->side == SIDE_LOW ? "low" : "high");
        json_out_number(out, "weight", sign->weight, 3);
        json_out_bool(out, "required", sign->required);
        json_out_bool(out, "observed", sign->observed);
        if (sign->observed) {
            json_out_number(out, "severity", sign->severity, 3);
        }
        json_out_end_object(out);
    }
    json_out_end_array(out);
}

static void settle_write(struct writer *w, unsigned settle)
{
    struct json_out *out = &w->out;
    if (settle == 0) {
        return;
    }
    json_out_array(out, "settle");
    for (int i = 0; i < SETTLE_BITS; i++) {
        if (settle & 1U << i) {
            json_out_text(out, NULL, settle_name((enum settle)(1U << i)));
        }
    }
    json_out_end_array(out);
}

static void parts_write(struct json_out *out, const char *key, unsigned parts)
{
    static const char *const names[] = {"start", "curve", "strike"}; /* in the order of enum flight_part */
    json_out_array(out, key);
    for (int i = 0; i < 3; i++) {
        if (parts & 1U << i) {
            json_out_text(out, NULL, names[i]);
        }
    }
    json_out_end_array(out);
}

static void ball_write(struct json_out *out, const struct flight_weight *ball)
{
    if (ball->with == 0 && ball->against == 0) {
        return;
    }
    json_out_object(out, "ball");
    parts_write(out, "fits", ball->with);
    parts_write(out, "against", ball->against);
    json_out_number(out, "ratio", ball->ratio, 3);
    json_out_end_object(out);
}

static void fault_write(struct writer *w, enum fault_id id)
{
    struct json_out *out = &w->out;
    const struct fault_result *fault = &w->report->faults[id];
    const struct fault_rule *rule = &w->standard->faults[id];
    json_out_object(out, NULL);
    json_out_text(out, "fault", fault_name(id));
    json_out_text(out, "stage", stage_name(rule->stage));
    json_out_text(out, "verdict", verdict_name(fault->verdict));
    json_out_text(out, "basis", verdict_basis_name(fault->basis));
    if (fault->verdict != VERDICT_NOT_OBSERVED) {
        json_out_number(out, "score", fault->score, 3);
        json_out_number(out, "p", fault->p, 3);
        json_out_text(out, "word", severity_word_name(fault->word));
    }
    json_out_text(out, "evidence", evidence_name(rule->evidence));
    ball_write(out, &fault->ball);
    if (fault->verdict == VERDICT_PRESENT || fault->verdict == VERDICT_CANT_TELL) {
        signs_write(out, fault);
    }
    if (fault->seen != SEVERITY_NONE) {
        json_out_text(out, "seen", severity_word_name(fault->seen));
    }
    settle_write(w, fault->settle);
    json_out_end_object(out);
}

static void faults_write(struct writer *w)
{
    json_out_array(&w->out, "faults");
    for (int i = 0; i < FAULT_COUNT; i++) {
        if (w->standard->faults[i].defined) {
            fault_write(w, (enum fault_id)i);
        }
    }
    json_out_end_array(&w->out);
}

static void maybe_write(struct json_out *out, const char *key, struct maybe value)
{
    if (value.given) {
        json_out_number(out, key, value.value, 2);
    }
}

static void flight_write(struct writer *w)
{
    struct json_out *out = &w->out;
    const struct flight_class *flight = &w->report->flight;
    json_out_object(out, "flight");
    json_out_text(out, "start", flight->start == FLIGHT_UNKNOWN ? NULL : flight_side_name(flight->start));
    json_out_text(out, "curve", flight->curve == FLIGHT_UNKNOWN ? NULL : flight_side_name(flight->curve));
    json_out_text(out, "strike", flight->strike == STRIKE_UNKNOWN ? NULL : strike_name(flight->strike));
    maybe_write(out, "start_deg", flight->start_deg);
    maybe_write(out, "axis_tilt_deg", flight->axis_tilt_deg);
    json_out_bool(out, "mirrored", w->context->hand == HAND_LEFT);
    json_out_end_object(out);
}

static const struct drill *drill_at(const struct writer *w, int index)
{
    return index >= 0 && index < w->drill_count ? &w->drills[index] : NULL;
}

static void confirm_write(struct json_out *out, const struct codes_word *word)
{
    json_out_object(out, "confirm");
    codes_areas_write(out, "ruled_out", word->ruled_out);
    codes_areas_write(out, "loads", word->loaded);
    json_out_bool(out, "balance", word->balance);
    json_out_end_object(out);
}

static void drill_write(struct writer *w, const struct practice_pick *pick)
{
    struct json_out *out = &w->out;
    const struct drill *drill = drill_at(w, pick->index);
    if (drill == NULL) {
        return;
    }
    struct dose dose = practice_dose(drill, w->context->age_years);
    json_out_object(out, NULL);
    json_out_text(out, "drill", drill->id);
    json_out_text(out, "name", drill->name);
    json_out_bool(out, "ball", drill->ball);
    json_out_bool(out, "needs_confirmation", pick->needs_confirmation);
    if (pick->needs_confirmation) {
        const struct codes_word word = codes_word(drill, w->context->pain, w->report->unsteady);
        confirm_write(out, &word);
    }
    json_out_object(out, "dose");
    json_out_number(out, "sessions_per_week", dose.sessions_per_week, 0);
    json_out_number(out, "minutes", dose.minutes, 0);
    json_out_number(out, "self_check_every", dose.self_check_every, 0);
    json_out_number(out, "retest_days", dose.retest_days, 0);
    json_out_bool(out, "adult_present", dose.adult_present);
    json_out_end_object(out);
    json_out_end_object(out);
}

/* Why the fix comes where it comes: the measure that speaks loudest for it, or a coach's eye, and whether it fits the
 * ball. */
static void why_write(struct writer *w, const struct first_fix *fix)
{
    struct json_out *out = &w->out;
    const struct sign_result *sign = codes_loudest(&w->report->faults[fix->fault]);
    json_out_object(out, "why");
    json_out_text(out, "code", sign == NULL ? "seen" : "measured");
    if (sign != NULL) {
        item_write(out, sign->item);
    }
    json_out_bool(out, "fits_ball", w->report->faults[fix->fault].ball.with != 0);
    json_out_end_object(out);
}

static void fix_write(struct writer *w, int index)
{
    struct json_out *out = &w->out;
    const struct first_fix *fix = &w->report->fixes.items[index];
    json_out_object(out, NULL);
    json_out_number(out, "order", index + 1, 0);
    json_out_text(out, "fault", fault_name(fix->fault));
    json_out_number(out, "priority", fix->priority, 4);
    json_out_number(out, "own", fix->own, 4);
    json_out_number(out, "flight_match", fix->flight_match, 2);
    json_out_array(out, "explains");
    for (int i = 0; i < FAULT_COUNT; i++) {
        if (fix->explains[i] > 0) {
            json_out_object(out, NULL);
            json_out_text(out, "fault", fault_name((enum fault_id)i));
            json_out_number(out, "share", fix->explains[i], 3);
            json_out_text(out, "code", codes_share(fix->explains[i]));
            json_out_end_object(out);
        }
    }
    json_out_end_array(out);
    why_write(w, fix);
    json_out_array(out, "drills");
    for (int i = 0; i < w->report->drill_count[index]; i++) {
        drill_write(w, &w->report->drills[index][i]);
    }
    json_out_end_array(out);
    if (w->drill_count > 0) {
        json_out_text(out, "no_drill", codes_no_drill(w->report->drills[index], w->report->drill_count[index]));
    }
    json_out_end_object(out);
}

static void leave_write(struct writer *w, enum fault_id fault)
{
    struct json_out *out = &w->out;
    const struct first_fix *cause = codes_cause(w->report, fault);
    json_out_object(out, NULL);
    json_out_text(out, "fault", fault_name(fault));
    json_out_text(out, "code", codes_leave(w->report, w->standard, fault));
    if (cause != NULL) {
        json_out_text(out, "cause", fault_name(cause->fault));
        json_out_text(out, "share", codes_share(cause->explains[fault]));
    }
    json_out_end_object(out);
}

static void fixes_write(struct writer *w)
{
    struct json_out *out = &w->out;
    json_out_array(out, "first_fixes");
    for (int i = 0; i < w->report->fixes.count; i++) {
        fix_write(w, i);
    }
    json_out_end_array(out);
    json_out_array(out, "leave_alone");
    for (int i = 0; i < FAULT_COUNT; i++) {
        if (w->report->fixes.leave_alone[i]) {
            leave_write(w, (enum fault_id)i);
        }
    }
    json_out_end_array(out);
}

/* The suggested drills in one list, and the cautions that go with them. */
static void care_write(struct writer *w)
{
    struct json_out *out = &w->out;
    const struct drill *given[FIRSTFIX_MAX * SCORE_DRILLS_MAX];
    int count = 0;
    json_out_array(out, "suggested_drills");
    for (int i = 0; i < w->report->fixes.count; i++) {
        for (int k = 0; k < w->report->drill_count[i]; k++) {
            const struct drill *drill = drill_at(w, w->report->drills[i][k].index);
            if (drill != NULL) {
                json_out_text(out, NULL, drill->id);
                given[count++] = drill;
            }
        }
    }
    json_out_end_array(out);
    codes_cautions_write(out, given, count, w->context->age_years, w->context->pain);
}

static void notes_write(struct writer *w)
{
    struct json_out *out = &w->out;
    json_out_array(out, "notes");
    for (int i = 0; i < w->context->note_count; i++) {
        json_out_text(out, NULL, w->context->notes[i]);
    }
    json_out_end_array(out);
}

static void head_write(struct writer *w)
{
    struct json_out *out = &w->out;
    const struct report *report = w->report;
    json_out_text(out, "schema", REPORT_SCHEMA);
    json_out_object(out, "standard");
    json_out_text(out, "version", w->standard->version);
    if (w->context->standard_number > 0) {
        json_out_number(out, "number", (double)w->context->standard_number, 0);
    }
    json_out_end_object(out);
    json_out_text(out, "recorded_at", w->context->recorded_at);
    json_out_number(out, "swings", report->swing_count, 0);
    json_out_bool(out, "habit", report->habit);
    json_out_object(out, "scope");
    json_out_text(out, "code", codes_scope(report));
    json_out_number(out, "swings", report->swing_count, 0);
    json_out_end_object(out);
    json_out_object(out, "player");
    json_out_text(out, "hand", w->context->hand == HAND_LEFT ? "left" : "right");
    json_out_text(out, "club", club_class_name(report->player.club));
    json_out_text(out, "sex", sex_name(report->player.sex));
    json_out_text(out, "age_band", age_band_name(report->player.age));
    json_out_end_object(out);
}

char *report_write(const struct report *report, const struct standard *standard, const struct drill *drills,
                   int drill_count, const struct report_context *context, struct arena *arena, size_t *length)
{
    struct writer w = {
        .report = report, .standard = standard, .drills = drills, .drill_count = drill_count, .context = context};
    json_out_start(&w.out, arena);
    json_out_object(&w.out, NULL);
    head_write(&w);
    fixes_write(&w);
    care_write(&w);
    camera_write(&w);
    marks_write(&w);
    report_motion_write(&w.out, report, context);
    faults_write(&w);
    measures_write(&w);
    flight_write(&w);
    notes_write(&w);
    json_out_end_object(&w.out);
    return json_out_finish(&w.out, length);
}
