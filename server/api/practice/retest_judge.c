/* See retest_judge.h. */
#include "api/practice/retest_judge.h"

#include <math.h>
#include <string.h>

#include "api/frame/answer.h"
#include "api/lessons/scoring.h"
#include "api/practice/judging.h"
#include "api/practice/repeats.h"
#include "store/practice/fix.h"
#include "store/practice/homework.h"

struct seen {
    const struct store_reading *from;
    bool readable;
    enum club_class club;
    struct report_pick picks[SIGNS_MAX];
};

/* The mean of some swings. */
struct look {
    int swings;
    int64_t at; /* of the newest */
    double sum, squares, random, systematic;
};

struct judging {
    struct call *call;
    const struct rules_cache *rules;
    const struct store_retest *retest;
    struct store_fix fix;
    struct seen *seen; /* newest first */
    size_t count;
    int chosen; /* which of the fault's required signs */
    int item_count;
    enum measure_item items[SIGNS_MAX];
    double spread;
    enum club_class club;
    enum measure_source source;
    struct judged_range rule;
    int64_t from; /* the day of looking again begins */
};

/* ---- reading ---- */

static enum store_status seen_read(const struct judging *j, const struct store_reading_list *list, struct seen **out)
{
    enum store_status status = STORE_OK;
    struct seen *seen = arena_alloc(j->call->arena, (list->count + 1) * sizeof *seen);
    *out = seen;
    if (seen == NULL) {
        return STORE_NO_MEMORY;
    }
    for (size_t i = 0; i < list->count && status == STORE_OK; i++) {
        seen[i].from = &list->items[i];
        status = repeats_pick(j->call->db, list->items[i].report, j->items, j->item_count, seen[i].picks, &seen[i].club,
                              &seen[i].readable);
    }
    return status;
}

static bool is_baseline(const struct judging *j, const struct seen *seen)
{
    const struct store_fix *fix = &j->fix;
    if (fix->baseline_swing[0] != '\0' || fix->baseline_lesson[0] != '\0') {
        return strcmp(seen->from->swing_id, fix->baseline_swing) == 0 ||
               (fix->baseline_lesson[0] != '\0' && strcmp(seen->from->lesson_id, fix->baseline_lesson) == 0);
    }
    for (size_t i = 0; i < j->count; i++) { /* none was named: the newest that was there then, with its lesson */
        const struct store_reading *newest = j->seen[i].from;
        if (newest->at <= fix->opened_at) {
            return seen->from == newest ||
                   (newest->lesson_id[0] != '\0' && strcmp(seen->from->lesson_id, newest->lesson_id) == 0);
        }
    }
    return false;
}

static bool shows(const struct seen *seen, int item)
{
    return seen->readable && judging_shows(&seen->picks[item].measure);
}

static bool comparable(const struct judging *j, const struct seen *seen)
{
    return shows(seen, j->chosen) && seen->club == j->club && seen->picks[j->chosen].measure.source == j->source;
}

/* ---- looks ---- */

static void look_add(struct look *look, const struct seen *seen, int item)
{
    const struct measure *measure = &seen->picks[item].measure;
    look->at = seen->from->at > look->at ? seen->from->at : look->at;
    look->sum += measure->value;
    look->squares += measure->value * measure->value;
    look->random += measure->sd_random * measure->sd_random;
    look->systematic += measure->sd_systematic;
    look->swings++;
}

/* The player's own spread is in it from the first swing. */
static struct change_set look_set(const struct look *look, double spread)
{
    const int n = look->swings;
    const double mean = look->sum / n;
    const double between = n < 2 ? 0 : fmax(0, (look->squares - look->sum * mean) / (n - 1));
    const double within = spread * spread + look->random / n;
    return (struct change_set){.observed = true,
                               .value = mean,
                               .se_random = sqrt(fmax(between, within) / n),
                               .sd_systematic = look->systematic / n};
}

/* The heaviest required sign that the baseline shows, and how it was seen. */
static bool first_look(struct judging *j, struct look *first)
{
    for (j->chosen = 0; j->chosen < j->item_count; j->chosen++) {
        for (size_t i = 0; i < j->count; i++) {
            const struct seen *seen = &j->seen[i];
            if (!is_baseline(j, seen) || !shows(seen, j->chosen)) {
                continue;
            }
            if (first->swings == 0) {
                j->club = seen->club;
                j->source = seen->picks[j->chosen].measure.source;
            }
            if (comparable(j, seen)) {
                look_add(first, seen, j->chosen);
            }
        }
        if (first->swings > 0) {
            j->spread = j->rules->standard->spread[j->items[j->chosen]];
            return true;
        }
    }
    return false;
}

/* Of another day than the first where the camera stood the same all day, and soon enough. */
static bool second_look(const struct judging *j, const struct look *first, struct look *second)
{
    for (size_t i = 0; i < j->count; i++) {
        const struct seen *seen = &j->seen[i];
        const int64_t at = seen->from->at;
        if (at > first->at && at <= j->fix.opened_at + JUDGING_SECOND_LOOK_MS && at < j->from &&
            !is_baseline(j, seen) && (!judging_placed(j->source) || at / DAY_MS != first->at / DAY_MS) &&
            comparable(j, seen)) {
            look_add(second, seen, j->chosen);
        }
    }
    return second->swings >= JUDGING_SWINGS;
}

struct again {
    struct look look;
    int swings; /* since the day, whatever they show */
    int shown;  /* that show the measure */
    int club;   /* and were made with the same kind of club */
};

/* The newest day with enough of them. */
static bool later_look(const struct judging *j, struct again *again)
{
    const int64_t end = j->retest->ended_at != 0 ? j->retest->ended_at : INT64_MAX;
    int64_t day = -1;
    for (size_t i = 0; i < j->count; i++) {
        const struct seen *seen = &j->seen[i];
        if (seen->from->at < j->from || seen->from->at > end || is_baseline(j, seen)) {
            continue;
        }
        again->swings++;
        again->shown += shows(seen, j->chosen);
        again->club += shows(seen, j->chosen) && seen->club == j->club;
    }
    for (size_t k = 0; k < j->count; k++) {
        const int64_t wanted = j->seen[k].from->at / DAY_MS;
        struct look look = {0};
        for (size_t i = 0; i < j->count && wanted > day; i++) {
            const struct seen *seen = &j->seen[i];
            if (seen->from->at / DAY_MS == wanted && seen->from->at >= j->from && seen->from->at <= end &&
                !is_baseline(j, seen) && comparable(j, seen)) {
                look_add(&look, seen, j->chosen);
            }
        }
        if (look.swings >= JUDGING_SWINGS) {
            again->look = look;
            day = wanted;
        }
    }
    return day >= 0;
}

/* ---- what it proposes ---- */

static void look_write(struct json_out *out, const char *key, const struct look *look, const struct change_set *set,
                       const char *kind, double kept)
{
    json_out_object(out, key);
    if (kind != NULL) {
        json_out_text(out, "kind", kind);
        json_out_number(out, "seen", look->sum / look->swings, 4);
        json_out_number(out, "kept", kept, 3);
    }
    answer_time(out, "at", look->at);
    answer_integer(out, "swings", look->swings);
    json_out_number(out, "value", set->value, 4);
    json_out_number(out, "sd", hypot(set->se_random, set->sd_systematic), 4);
    json_out_end_object(out);
}

/* Was half of what was asked for ticked off? */
static enum store_status practised(const struct judging *j, bool *out)
{
    struct store_homework_list list;
    double asked = 0;
    double done = 0;
    const enum store_status status =
        store_homework_list(j->call->db, j->retest->student_id, false, 0, NULL, j->call->arena, &list);
    for (size_t i = 0; status == STORE_OK && i < list.count; i++) {
        if (strcmp(list.items[i].fix_id, j->retest->fix_id) == 0) {
            asked += (double)list.items[i].sessions_per_week * (double)(j->retest->due_at - j->retest->begun_at) /
                     (double)WEEK_MS;
            done += (double)list.items[i].done_count;
        }
    }
    *out = done > 0 && 2 * done >= asked;
    return status;
}

static bool is_fine(const struct measure_range *range, double value)
{
    return (!range->ok_low.given || value >= range->ok_low.value) &&
           (!range->ok_high.given || value <= range->ok_high.value);
}

static void nothing_write(struct json_out *out)
{
    static const char *const keys[] = {"outcome", "difference", "needed", "proposal", "reason"};
    for (size_t i = 0; i < sizeof keys / sizeof *keys; i++) {
        json_out_null(out, keys[i]);
    }
}

static void outcome_write(struct json_out *out, const struct change_result *result, const char *proposal,
                          const char *reason)
{
    json_out_text(out, "outcome", change_name(result->verdict));
    if (result->verdict == CHANGE_NOT_COMPARABLE) {
        json_out_null(out, "difference");
        json_out_null(out, "needed");
    } else {
        json_out_number(out, "difference", result->difference, 4);
        json_out_number(out, "needed", result->needed, 4);
    }
    json_out_text(out, "proposal", proposal);
    json_out_text(out, "reason", reason);
}

static enum store_status verdict_write(struct json_out *out, const struct judging *j,
                                       const struct change_result *result, double value)
{
    bool done = false;
    const enum store_status status = practised(j, &done);
    const bool fine = is_fine(&j->rule.range, value);
    if (status != STORE_OK) {
        return status;
    }
    switch (result->verdict) {
    case CHANGE_IMPROVED:
        outcome_write(out, result, fine ? "close" : "keep", fine ? "in_range" : "moving");
        break;
    case CHANGE_WORSE:
        outcome_write(out, result, "change", "got_worse");
        break;
    default:
        outcome_write(out, result, done ? "change" : "keep", done ? "practised" : "not_practised");
        break;
    }
    return STORE_OK;
}

/* ---- all of it ---- */

static enum store_status looked_write(struct json_out *out, struct judging *j, const struct look *first,
                                      const struct again *again)
{
    struct look second = {0};
    struct change_prior prior = {0, 0};
    double kept = 1;
    bool club = false;
    const bool same = !judging_placed(j->source);
    const bool twice = second_look(j, first, &second);
    const struct look *base = twice ? &second : first;
    struct change_set was = look_set(base, j->spread);
    const struct change_set is = look_set(&again->look, j->spread);
    if (!twice) {
        const struct judging_like like = {j->items[j->chosen], j->club, j->source, j->spread};
        const enum store_status status = judging_club(j->call, &like, &prior, &club);
        if (status != STORE_OK) {
            return status;
        }
        prior = club ? prior : judging_middle(&j->rule.range, j->spread);
        was = change_drawn(&was, &prior, same, &kept);
    }
    look_write(out, "baseline", base, &was, twice ? "second_look" : club ? "drawn_to_club" : "drawn_to_standard", kept);
    look_write(out, "after", &again->look, &is, NULL, 1);
    const struct change_result result = change_judge(&was, &is, same, &j->rule.range);
    return verdict_write(out, j, &result, is.value);
}

/* Why swings that are there can't be set beside the first. */
static const char *why_not(const struct again *again)
{
    return again->shown == 0               ? "not_shown"
           : again->club == 0              ? "other_club"
           : again->club >= JUDGING_SWINGS ? "other_view"
                                           : "too_few";
}

static enum store_status state_write(struct json_out *out, struct judging *j)
{
    struct look first = {0};
    struct again again = {.swings = 0};
    struct scored_student scored;
    const bool based = first_look(j, &first);
    const bool enough = later_look(j, &again);
    enum store_status status = store_student_get(j->call->db, j->retest->student_id, j->call->arena, &scored.student);
    if (status != STORE_OK) {
        return status;
    }
    scoring_player(&scored.student, j->call->now, &scored.player);
    if (based) {
        const struct player who = score_class(&scored.player, j->club);
        j->rule = standard_range(j->rules->standard, j->items[j->chosen], &who);
    }
    const char *state = again.swings > 0 ? "looked" : j->call->now >= j->from ? "due" : "planned";
    json_out_text(out, "state", j->retest->waits && j->retest->ended_at == 0 ? "waiting" : state);
    if (enough && based && j->rule.given) {
        return looked_write(out, j, &first, &again);
    }
    json_out_null(out, "baseline");
    json_out_null(out, "after");
    if (again.swings == 0) {
        nothing_write(out);
    } else {
        outcome_write(out, &(struct change_result){.verdict = CHANGE_NOT_COMPARABLE}, "keep",
                      based && j->rule.given ? why_not(&again) : "no_baseline");
    }
    return STORE_OK;
}

enum store_status retest_judge(struct json_out *out, struct call *call, const struct rules_cache *rules,
                               const struct store_retest *retest)
{
    struct judging *j = arena_alloc(call->arena, sizeof *j);
    struct store_reading_list list;
    enum fault_id fault;
    if (j == NULL) {
        return STORE_NO_MEMORY;
    }
    *j = (struct judging){.call = call, .rules = rules, .retest = retest, .from = retest->due_at / DAY_MS * DAY_MS};
    enum store_status status = store_fix_get(call->db, retest->fix_id, call->arena, &j->fix);
    if (status == STORE_OK && fault_parse(j->fix.fault, &fault)) {
        j->item_count = judging_items(&j->rules->standard->faults[fault], j->items);
    }
    status = status == STORE_OK ? store_retest_readings(call->db, retest->student_id, call->arena, &list) : status;
    status = status == STORE_OK ? seen_read(j, &list, &j->seen) : status;
    j->count = status == STORE_OK ? list.count : 0;
    return status == STORE_OK ? state_write(out, j) : status;
}
