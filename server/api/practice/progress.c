/* A fix's main measure over the student's lessons and single swings, and whether it changed since the fix's baseline.
 */
#include <stdlib.h>
#include <string.h>

#include "api/frame/answer.h"
#include "api/lessons/scoring.h"
#include "api/practice/handlers.h"
#include "api/practice/judging.h"
#include "store/lessons/lesson.h"
#include "store/lessons/swing.h"
#include "store/practice/fix.h"
#include "store/practice/progress.h"
#include "wire/report/pack.h"
#include "wire/report/write.h"

struct moment {
    const struct store_progress *from; /* NULL for a baseline that is no point of the series */
    int64_t at;
    enum club_class club;
    struct report_pick picks[SIGNS_MAX];
};

struct progress {
    struct store_fix fix;
    enum fault_id fault;
    enum measure_item items[SIGNS_MAX]; /* of the fault's required signs, heaviest first */
    int item_count;
    int chosen;            /* which of them is shown; -1 = none was ever observed */
    struct moment *points; /* oldest first */
    size_t count;
    struct moment baseline;
    bool has_baseline;
    char baseline_lesson[UUID_TEXT], baseline_swing[UUID_TEXT]; /* the lesson also that the swing belongs to */
    struct judged_range rule;
};

/* ---- reading ---- */

/* Measures of a report that were picked anew, to be kept. */
struct refill {
    struct refill *next;
    int64_t report;
    size_t size;
    char packed[];
};

static enum store_status refill_run(struct store_db *db, void *argument)
{
    enum store_status status = STORE_OK;
    store_audit_waive(db); /* says nothing that the report doesn't */
    for (const struct refill *refill = argument; refill != NULL && status == STORE_OK; refill = refill->next) {
        status = store_measures_put(db, refill->report, refill->packed, refill->size);
        status = status == STORE_NOT_FOUND ? STORE_OK : status; /* erased meanwhile */
    }
    return status;
}

static void refill_done(enum store_status status, void *argument)
{
    (void)status; /* the next request tries again */
    for (struct refill *refill = argument; refill != NULL;) {
        struct refill *next = refill->next;
        free(refill);
        refill = next;
    }
}

/* Not waited for. */
static void refill_submit(const struct call *call, struct refill *list)
{
    if (list != NULL && (atomic_load(&call->api->refusing) ||
                         store_submit(call->api->store, refill_run, refill_done, list) != STORE_OK)) {
        refill_done(STORE_BUSY, list);
    }
}

/* The measures of one report into picks: from what is kept beside it, else, for an older one, from its text. *readable:
 * it is a report. */
static enum store_status picks_read(struct call *call, const struct progress *progress,
                                    const struct store_progress *row, struct moment *out, struct refill **list,
                                    bool *readable)
{
    enum report_unpacked answer =
        report_unpack(row->packed, row->packed_size, progress->items, progress->item_count, out->picks, &out->club);
    *readable = answer == REPORT_UNPACKED;
    if (answer != REPORT_STALE) {
        return STORE_OK;
    }
    const char *json = NULL;
    size_t size = 0;
    struct arena *own = arena_new(0);
    enum store_status status =
        own == NULL ? STORE_NO_MEMORY : store_progress_report(call->db, row->report, own, &json, &size);
    if (status == STORE_OK) {
        const char *packed = report_pack_json(json == NULL ? "" : json, size, own, &size);
        struct refill *refill = packed == NULL ? NULL : malloc(sizeof *refill + size);
        status = refill == NULL ? STORE_NO_MEMORY : STORE_OK;
        if (refill != NULL) {
            *refill = (struct refill){.next = *list, .report = row->report, .size = size};
            memcpy(refill->packed, packed, size);
            *list = refill;
            *readable = report_unpack(packed, size, progress->items, progress->item_count, out->picks, &out->club) ==
                        REPORT_UNPACKED;
        }
    }
    arena_free(own);
    return status;
}

static enum store_status points_read(struct call *call, struct progress *progress)
{
    struct store_progress_list list;
    struct refill *refills = NULL;
    enum store_status status = store_progress_read(call->db, call->student_id, call->arena, &list);
    if (status != STORE_OK) {
        return status;
    }
    progress->points = arena_alloc(call->arena, (list.count + 1) * sizeof *progress->points);
    if (progress->points == NULL) {
        return STORE_NO_MEMORY;
    }
    for (size_t i = 0; i < list.count && status == STORE_OK; i++) {
        struct moment *point = &progress->points[progress->count];
        bool readable = false;
        point->from = &list.items[i];
        point->at = list.items[i].at;
        status = picks_read(call, progress, &list.items[i], point, &refills, &readable);
        progress->count += readable;
    }
    refill_submit(call, refills);
    return status;
}

/* What the coach looked at when the fix was opened. STORE_NOT_FOUND: nothing was named, or it is not to be counted. */
static enum store_status baseline_named(struct call *call, struct progress *progress)
{
    const struct store_fix *fix = &progress->fix;
    struct store_progress report;
    struct refill *refills = NULL;
    struct store_swing swing;
    struct store_lesson lesson;
    enum store_status status = STORE_NOT_FOUND;
    if (fix->baseline_swing[0] != '\0') {
        status = store_progress_swing(call->db, fix->baseline_swing, call->arena, &report);
        status =
            status != STORE_OK ? status : store_swing_get(call->db, fix->baseline_swing, false, call->arena, &swing);
        if (status == STORE_OK) {
            progress->baseline.at = swing.recorded_at;
            memcpy(progress->baseline_swing, swing.id, UUID_TEXT);
            memcpy(progress->baseline_lesson, swing.lesson_id, UUID_TEXT);
        }
    } else if (fix->baseline_lesson[0] != '\0') {
        status = store_progress_lesson(call->db, fix->baseline_lesson, call->arena, &report);
        status = status != STORE_OK ? status : store_lesson_get(call->db, fix->baseline_lesson, call->arena, &lesson);
        if (status == STORE_OK) {
            progress->baseline.at = lesson.held_at;
            memcpy(progress->baseline_lesson, lesson.id, UUID_TEXT);
        }
    }
    if (status == STORE_OK) {
        status = picks_read(call, progress, &report, &progress->baseline, &refills, &progress->has_baseline);
        refill_submit(call, refills);
    }
    return status;
}

/* Without that, the newest report that was there then. */
static enum store_status baseline_read(struct call *call, struct progress *progress)
{
    const enum store_status status = baseline_named(call, progress);
    if (status != STORE_NOT_FOUND) {
        return status;
    }
    for (size_t i = 0; i < progress->count && progress->points[i].at <= progress->fix.opened_at; i++) {
        progress->baseline = progress->points[i];
        progress->has_baseline = true;
    }
    if (progress->has_baseline) {
        memcpy(progress->baseline_swing, progress->baseline.from->swing_id, UUID_TEXT);
        memcpy(progress->baseline_lesson, progress->baseline.from->lesson_id, UUID_TEXT);
    }
    return STORE_OK;
}

/* The heaviest required sign that the baseline shows; else the heaviest that any report shows. */
static void item_choose(struct progress *progress)
{
    progress->chosen = -1;
    for (int i = 0; i < progress->item_count && progress->chosen < 0 && progress->has_baseline; i++) {
        progress->chosen = progress->baseline.picks[i].measure.observed ? i : -1;
    }
    for (int i = 0; i < progress->item_count && progress->chosen < 0; i++) {
        for (size_t k = 0; k < progress->count && progress->chosen < 0; k++) {
            progress->chosen = progress->points[k].picks[i].measure.observed ? i : -1;
        }
    }
}

/* Only clubs of one class are set side by side: the baseline's, else the newest report's that shows the measure. */
static void points_keep(struct progress *progress)
{
    const int chosen = progress->chosen;
    bool known = progress->has_baseline && progress->baseline.picks[chosen].measure.observed;
    enum club_class club = progress->baseline.club;
    for (size_t i = progress->count; i > 0 && !known; i--) {
        known = progress->points[i - 1].picks[chosen].measure.observed;
        club = progress->points[i - 1].club;
    }
    size_t kept = 0;
    for (size_t i = 0; i < progress->count; i++) {
        if (progress->points[i].picks[chosen].measure.observed && progress->points[i].club == club) {
            progress->points[kept++] = progress->points[i];
        }
    }
    progress->count = kept;
    progress->baseline.club = club;
}

/* ---- judging ---- */

/* The same error twice? Another source never is. */
static bool same_setup(const struct moment *before, const struct moment *after, int chosen)
{
    const enum measure_source source = before->picks[chosen].measure.source;
    return source == after->picks[chosen].measure.source &&
           (!judging_placed(source) || before->at / DAY_MS == after->at / DAY_MS);
}

/* Later than the baseline, and holds none of it. */
static bool is_later(const struct progress *progress, const struct moment *point)
{
    const bool itself =
        (point->from->lesson_id[0] != '\0' && strcmp(point->from->lesson_id, progress->baseline_lesson) == 0) ||
        (point->from->swing_id[0] != '\0' && strcmp(point->from->swing_id, progress->baseline_swing) == 0);
    return !itself && point->at > progress->baseline.at;
}

/* The newest such point. NULL: nothing to compare yet. */
static const struct moment *after_find(const struct progress *progress)
{
    for (size_t i = progress->count; i > 0; i--) {
        if (is_later(progress, &progress->points[i - 1])) {
            return &progress->points[i - 1];
        }
    }
    return NULL;
}

/* The newest before `after` that nothing was chosen by: of enough swings, seen as the baseline was but not in one
 * set-up with it, and soon enough. NULL: none. */
static const struct moment *second_find(const struct progress *progress, const struct moment *after)
{
    const struct moment *first = &progress->baseline;
    const enum measure_source source = first->picks[progress->chosen].measure.source;
    for (size_t i = (size_t)(after - progress->points); i > 0; i--) {
        const struct moment *point = &progress->points[i - 1];
        const struct report_pick *pick = &point->picks[progress->chosen];
        if (is_later(progress, point) && point->at <= progress->fix.opened_at + JUDGING_SECOND_LOOK_MS &&
            pick->swings >= JUDGING_SWINGS && judging_shows(&pick->measure) && pick->measure.source == source &&
            (!judging_placed(source) || point->at / DAY_MS != first->at / DAY_MS)) {
            return point;
        }
    }
    return NULL;
}

/* What `after` is judged beside: a second look as it stands, else the first one drawn (core/change.h). */
struct beside {
    struct change_set set;
    const struct moment *moment;
    double kept;
    const char *kind;
};

static enum store_status beside_find(struct call *call, const struct progress *progress, double spread,
                                     const struct moment *after, struct beside *out)
{
    const int chosen = progress->chosen;
    const struct moment *second = second_find(progress, after);
    struct change_prior prior;
    bool club = false;
    out->kept = 1;
    out->kind = "second_look";
    out->moment = second != NULL ? second : &progress->baseline;
    out->set = judging_set(&out->moment->picks[chosen], spread);
    if (second != NULL) {
        return STORE_OK;
    }
    const struct judging_like like = {progress->items[chosen], progress->baseline.club,
                                      out->moment->picks[chosen].measure.source, spread};
    const enum store_status status = judging_club(call, &like, &prior, &club);
    prior = club ? prior : judging_middle(&progress->rule.range, spread);
    out->set = change_drawn(&out->set, &prior, same_setup(out->moment, after, chosen), &out->kept);
    out->kind = club ? "drawn_to_club" : "drawn_to_standard";
    return status;
}

static enum store_status change_write(struct json_out *out, struct call *call, const struct progress *progress,
                                      const struct standard *standard)
{
    const int chosen = progress->chosen;
    const struct moment *after = chosen >= 0 && progress->has_baseline ? after_find(progress) : NULL;
    if (after == NULL || !progress->rule.given) {
        json_out_null(out, "verdict");
        json_out_null(out, "change");
        return STORE_OK;
    }
    const double spread = standard->spread[progress->items[chosen]];
    const struct change_set is = judging_set(&after->picks[chosen], spread);
    struct beside was;
    const enum store_status status = beside_find(call, progress, spread, after, &was);
    const struct change_result result =
        change_judge(&was.set, &is, same_setup(was.moment, after, chosen), &progress->rule.range);
    json_out_text(out, "verdict", change_name(result.verdict));
    if (result.verdict == CHANGE_NOT_COMPARABLE) {
        json_out_null(out, "change");
        return status;
    }
    json_out_object(out, "change");
    json_out_text(out, "kind", was.kind);
    json_out_number(out, "from", was.set.value, 4);
    json_out_number(out, "kept", was.kept, 3);
    json_out_number(out, "difference", result.difference, 4);
    json_out_number(out, "needed", result.needed, 4);
    json_out_end_object(out);
    return status;
}

/* ---- writing ---- */

static void value_write(struct json_out *out, const struct moment *point, int chosen)
{
    const struct measure *measure = &point->picks[chosen].measure;
    answer_time(out, "at", point->at);
    json_out_number(out, "value", measure->value, 4);
    json_out_number(out, "sd", measure_sd(measure), 4);
    json_out_text(out, "source", measure_source_name(measure->source));
}

static void measure_write(struct json_out *out, const struct progress *progress)
{
    static const char *const keys[] = {"measure", "checkpoint", "words", "unit", "range"};
    if (progress->chosen < 0) {
        for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
            json_out_null(out, keys[i]);
        }
        return;
    }
    const enum measure_item item = progress->items[progress->chosen];
    const struct measure_info *info = measure_info(item);
    json_out_text(out, "measure", info->name);
    json_out_text(out, "checkpoint", info->checkpoint == CHECKPOINT_NONE ? NULL : checkpoint_name(info->checkpoint));
    json_out_text(out, "unit", unit_name(info->unit));
    if (!progress->rule.given) {
        json_out_null(out, "range");
        return;
    }
    json_out_object(out, "range");
    report_limits_write(out, "ok", progress->rule.range.ok_low, progress->rule.range.ok_high);
    report_limits_write(out, "strong", progress->rule.range.strong_low, progress->rule.range.strong_high);
    json_out_end_object(out);
}

static enum store_status progress_write(struct json_out *out, struct call *call, const struct progress *progress,
                                        const struct standard *standard)
{
    json_out_object(out, NULL);
    json_out_text(out, "fix_id", progress->fix.id);
    json_out_text(out, "fault", progress->fix.fault);
    measure_write(out, progress);
    json_out_array(out, "series");
    for (size_t i = 0; progress->chosen >= 0 && i < progress->count; i++) {
        const struct moment *point = &progress->points[i];
        json_out_object(out, NULL);
        value_write(out, point, progress->chosen);
        answer_id(out, "lesson_id", point->from->lesson_id);
        answer_id(out, "swing_id", point->from->swing_id);
        answer_integer(out, "swings", point->picks[progress->chosen].swings);
        json_out_end_object(out);
    }
    json_out_end_array(out);
    if (progress->chosen >= 0 && progress->has_baseline &&
        progress->baseline.picks[progress->chosen].measure.observed) {
        json_out_object(out, "baseline");
        value_write(out, &progress->baseline, progress->chosen);
        json_out_end_object(out);
    } else {
        json_out_null(out, "baseline");
    }
    const enum store_status status = change_write(out, call, progress, standard);
    json_out_end_object(out);
    return status;
}

static enum store_status progress_make(struct call *call, struct progress *progress, const struct standard *standard,
                                       struct json_out *out)
{
    struct scored_student scored;
    enum store_status status = store_student_get(call->db, call->student_id, call->arena, &scored.student);
    progress->item_count = judging_items(&standard->faults[progress->fault], progress->items);
    if (status == STORE_OK) {
        status = points_read(call, progress);
    }
    if (status == STORE_OK) {
        status = baseline_read(call, progress);
    }
    if (status != STORE_OK) {
        return status;
    }
    item_choose(progress);
    if (progress->chosen >= 0) {
        points_keep(progress);
        scoring_player(&scored.student, call->now, &scored.player);
        const struct player who = score_class(&scored.player, progress->baseline.club);
        progress->rule = standard_range(standard, progress->items[progress->chosen], &who);
    }
    json_out_start(out, call->arena);
    return progress_write(out, call, progress, standard);
}

/* ?fix= of this student. False: answered. */
/* The newest of those that run. */
static enum store_status fix_running(struct call *call, struct store_fix *out)
{
    const struct store_page page = {.limit = 2}; /* no more are open */
    struct store_fix_list open = {0};
    const enum store_status status = store_fix_list(call->db, call->student_id, true, &page, call->arena, &open);
    for (size_t i = 0; i < open.count && status == STORE_OK; i++) {
        if (!open.items[i].waits) {
            *out = open.items[i];
            return STORE_OK;
        }
    }
    return status == STORE_OK ? STORE_NOT_FOUND : status;
}

static bool fix_find(struct call *call, struct progress *progress)
{
    const char *id = exchange_query(call->exchange, "fix");
    if (id == NULL) {
        exchange_problem(call->exchange, 422, "invalid", "fix", "fix: say which fix with ?fix=.");
        return false;
    }
    enum store_status status = strcmp(id, "running") == 0 ? fix_running(call, &progress->fix)
                               : uuid_valid(id)           ? store_fix_get(call->db, id, call->arena, &progress->fix)
                                                          : STORE_NOT_FOUND;
    if (status == STORE_OK && (strcmp(progress->fix.student_id, call->student_id) != 0 ||
                               !fault_parse(progress->fix.fault, &progress->fault))) {
        status = STORE_NOT_FOUND;
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
    }
    return status == STORE_OK;
}

void progress_get(struct call *call)
{
    struct json_out out;
    struct progress *progress = arena_alloc(call->arena, sizeof *progress);
    if (progress == NULL) {
        answer_no_memory(call);
        return;
    }
    if (!fix_find(call, progress)) {
        return;
    }
    const struct rules_cache *rules = rules_borrow(call->api, call->db, call->rules_edits);
    const enum store_status status = rules == NULL ? STORE_ERROR : progress_make(call, progress, rules->standard, &out);
    if (rules != NULL) {
        rules_return(call->api, rules);
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    answer_json(call, &out, 0);
}
