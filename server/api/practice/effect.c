/* What becomes of a fault after each drill: the change of its main measure in units of its own error, student by
 * student, partially pooled. Of fewer than eight students nothing is told, and never who coached them. */
#include <math.h>
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/heavy.h"
#include "api/lessons/scoring.h"
#include "api/practice/handlers.h"
#include "api/practice/repeats.h"
#include "core/change.h"
#include "core/pooling.h"
#include "store/practice/drill.h"
#include "store/practice/effect.h"

#define STUDENTS_LEAST 8
#define HABIT_SWINGS 3 /* a report on fewer leaves the player's own spread out of its error */
#define PAGE 50

/* Of one student who did the drill for the fault. */
struct tried {
    char student_id[UUID_TEXT];
    int64_t done;
    bool drawn; /* the value it began with was drawn to the club's mean */
    struct pooling_trial trial;
};

struct group {
    struct tried *items;
    int count, room;
    int undone; /* students who never ticked it off */
};

struct effects {
    struct call *call;
    const struct standard *standard;
    struct repeats repeats;
    struct json_out *out;
    struct arena *arena; /* of one drill */
    struct group groups[FAULT_COUNT];
    struct pooling_trial *trials;
};

/* ---- one student ---- */

/* The squared error of a value that stands for the player's habit. */
static double variance_of(const struct report_pick *pick, double spread)
{
    const struct measure *measure = &pick->measure;
    const double habit = pick->swings < HABIT_SWINGS ? spread * spread / pick->swings : 0;
    return measure->sd_random * measure->sd_random + measure->sd_systematic * measure->sd_systematic + habit;
}

/* The better, the greater; false where the value began within what is fine, or can't be compared. A value that was
 * looked for because it was far off is partly so by chance: it is drawn to the club's mean as far as it doesn't repeat
 * (Barnett, van der Pols & Dobson 2005), where the club's own repeats say how far that is. */
static bool change_of(const struct effects *effects, enum measure_item item, const struct report_pick *was,
                      const struct report_pick *is, const struct range_rule *rule, enum club_class club,
                      struct tried *out)
{
    const struct measure_range *range = &rule->range;
    const struct repeats_measure *club_own = &effects->repeats.of[item];
    const double spread = effects->standard->spread[item];
    double before = was->measure.value;
    double error = variance_of(was, spread);
    const bool above = range->ok_high.given && before > range->ok_high.value;
    const bool below = range->ok_low.given && before < range->ok_low.value;
    if (above == below || was->measure.clipped || is->measure.clipped) {
        return false;
    }
    out->drawn = club_own->enough && club_own->club == club;
    if (out->drawn) {
        const double between = club_own->between * club_own->between;
        const double repeats = between / (between + error);
        before = club_own->of.mean + repeats * (before - club_own->of.mean);
        error *= repeats;
    }
    error += variance_of(is, spread);
    const double change = above ? before - is->measure.value : is->measure.value - before;
    out->trial = (struct pooling_trial){.value = change / sqrt(error), .se = 1};
    return error > 0;
}

/* The fault's heaviest required sign that both reports show. */
static bool item_choose(const struct fault_rule *rule, const struct report_pick *was, const struct report_pick *is,
                        const int *places, int count, int *chosen)
{
    double heaviest = -1;
    for (int i = 0; i < count; i++) {
        const double weight = rule->signs[places[i]].weight;
        if (was[i].measure.observed && is[i].measure.observed && weight > heaviest) {
            heaviest = weight;
            *chosen = i;
        }
    }
    return heaviest >= 0;
}

static enum store_status tried_read(struct effects *effects, const struct store_effect *row, enum fault_id fault,
                                    struct tried *out, bool *good)
{
    const struct fault_rule *rule = &effects->standard->faults[fault];
    enum measure_item items[SIGNS_MAX];
    int places[SIGNS_MAX];
    struct report_pick was[SIGNS_MAX];
    struct report_pick is[SIGNS_MAX];
    enum club_class clubs[2];
    struct scored_student scored;
    bool readable[2] = {false, false};
    int count = 0;
    int chosen = 0;
    struct store_db *db = effects->call->db;
    for (int i = 0; i < rule->sign_count; i++) {
        if (rule->signs[i].required) {
            items[count] = rule->signs[i].item;
            places[count++] = i;
        }
    }
    enum store_status status = repeats_pick(db, row->before, items, count, was, &clubs[0], &readable[0]);
    status = status == STORE_OK ? repeats_pick(db, row->after, items, count, is, &clubs[1], &readable[1]) : status;
    *good = status == STORE_OK && readable[0] && readable[1] && clubs[0] == clubs[1] &&
            item_choose(rule, was, is, places, count, &chosen);
    if (!*good) {
        return status;
    }
    status = store_student_get(db, row->student_id, effects->arena, &scored.student);
    if (status != STORE_OK) {
        return status;
    }
    scoring_player(&scored.student, effects->call->now, &scored.player);
    const struct range_rule *range = standard_range(effects->standard, items[chosen], clubs[0], scored.player.sex,
                                                    age_band_of(scored.player.age_years));
    *good = range != NULL && change_of(effects, items[chosen], &was[chosen], &is[chosen], range, clubs[0], out);
    return STORE_OK;
}

/* ---- one drill ---- */

static bool is_there(const struct group *group, const char *student_id)
{
    for (int i = 0; i < group->count; i++) {
        if (strcmp(group->items[i].student_id, student_id) == 0) {
            return true;
        }
    }
    return false;
}

/* Each student once, by the newest. */
static enum store_status row_take(struct effects *effects, const struct store_effect *row)
{
    enum fault_id fault;
    bool good = false;
    if (!fault_parse(row->fault, &fault) || is_there(&effects->groups[fault], row->student_id)) {
        return STORE_OK;
    }
    struct group *group = &effects->groups[fault];
    if (row->done == 0) {
        group->undone++;
        return STORE_OK;
    }
    if (row->before == 0 || row->after == 0) {
        return STORE_OK;
    }
    if (group->count == group->room) {
        const int room = group->room == 0 ? 16 : 2 * group->room;
        struct tried *grown = arena_resize(effects->arena, group->items, (size_t)group->room * sizeof *grown,
                                           (size_t)room * sizeof *grown);
        if (grown == NULL) {
            return STORE_NO_MEMORY;
        }
        group->items = grown;
        group->room = room;
    }
    struct tried *tried = &group->items[group->count];
    *tried = (struct tried){.done = row->done};
    memcpy(tried->student_id, row->student_id, UUID_TEXT);
    const enum store_status status = tried_read(effects, row, fault, tried, &good);
    group->count += good;
    return status;
}

/* Students one by one, to the head alone. */
static void each_write(struct json_out *out, const struct effects *effects, const struct group *group)
{
    json_out_array(out, "each");
    for (int i = 0; i < group->count && effects->call->principal->role == STORE_HEAD; i++) {
        json_out_object(out, NULL);
        json_out_text(out, "student_id", group->items[i].student_id);
        json_out_number(out, "change", effects->trials[i].value, 2);
        json_out_number(out, "pooled", effects->trials[i].pooled, 2);
        answer_integer(out, "sessions", group->items[i].done);
        json_out_end_object(out);
    }
    json_out_end_array(out);
}

static void pooled_write(struct json_out *out, const struct effects *effects, const struct group *group)
{
    int drawn = 0;
    double sessions = 0;
    for (int i = 0; i < group->count; i++) {
        effects->trials[i] = group->items[i].trial;
        drawn += group->items[i].drawn;
        sessions += (double)group->items[i].done / group->count;
    }
    const struct pooling pooling = pooling_of(effects->trials, group->count);
    json_out_object(out, "effect");
    json_out_number(out, "mean", pooling.mean, 2);
    json_out_number(out, "low", pooling.low, 2);
    json_out_number(out, "high", pooling.high, 2);
    json_out_number(out, "tau", pooling.tau, 2);
    json_out_number(out, "sessions", sessions, 1);
    answer_integer(out, "drawn", drawn);
    each_write(out, effects, group);
    json_out_end_object(out);
}

static void group_write(const struct effects *effects, const struct store_drill *drill, int fault)
{
    struct json_out *out = effects->out;
    const struct group *group = &effects->groups[fault];
    if (group->count + group->undone == 0) {
        return;
    }
    json_out_object(out, NULL);
    json_out_text(out, "drill", drill->id);
    json_out_text(out, "drill_name", drill->name);
    json_out_text(out, "fault", fault_name((enum fault_id)fault));
    answer_integer(out, "students", group->count);
    answer_integer(out, "undone", group->undone);
    if (group->count < STUDENTS_LEAST) {
        json_out_null(out, "effect");
    } else {
        pooled_write(out, effects, group);
    }
    json_out_end_object(out);
}

static enum store_status drill_take(struct effects *effects, const struct store_drill *drill,
                                    const struct store_page *page)
{
    struct store_effect_list list;
    memset(effects->groups, 0, sizeof effects->groups);
    effects->arena = arena_new(0);
    enum store_status status = effects->arena == NULL ? STORE_NO_MEMORY
                                                      : store_effect_list(effects->call->db, drill->id, page,
                                                                          effects->call->now, effects->arena, &list);
    for (size_t i = 0; status == STORE_OK && i < list.count; i++) {
        status = atomic_load(&effects->call->api->refusing) ? STORE_CLOSED : row_take(effects, &list.items[i]);
    }
    for (int fault = 0; status == STORE_OK && fault < FAULT_COUNT; fault++) {
        group_write(effects, drill, fault);
    }
    arena_free(effects->arena);
    return status;
}

/* ---- all of them ---- */

static enum store_status drills_take(struct effects *effects, const struct store_page *page)
{
    char after[STORE_SLUG] = "";
    enum store_status status = STORE_OK;
    bool more = true;
    while (status == STORE_OK && more) {
        const struct store_page drills = {.after = after, .limit = PAGE};
        struct store_drill_list list = {.count = 0};
        struct arena *own = arena_new(0);
        status = own == NULL ? STORE_NO_MEMORY : store_drill_list(effects->call->db, true, &drills, own, &list);
        for (size_t i = 0; status == STORE_OK && i < list.count; i++) {
            status = drill_take(effects, &list.items[i], page);
            memcpy(after, list.items[i].id, sizeof after);
        }
        more = list.more;
        arena_free(own);
    }
    return status;
}

static enum store_status effect_make(struct call *call, const struct store_page *page, struct json_out *out)
{
    struct effects *effects = arena_alloc(call->arena, sizeof *effects);
    struct pooling_trial *trials = arena_alloc(call->arena, STORE_EFFECTS_MAX * sizeof *trials);
    if (effects == NULL || trials == NULL) {
        return STORE_NO_MEMORY;
    }
    effects->call = call;
    effects->out = out;
    effects->trials = trials;
    enum store_status status = repeats_gather(call, &effects->repeats);
    const struct rules_cache *rules = status == STORE_OK ? rules_borrow(call->api, call->db, call->rules_edits) : NULL;
    if (rules == NULL) {
        return status == STORE_OK ? STORE_ERROR : status;
    }
    effects->standard = rules->standard;
    json_out_object(out, NULL);
    answer_integer(out, "told_from", STUDENTS_LEAST);
    json_out_array(out, "effects");
    status = drills_take(effects, page);
    json_out_end_array(out);
    json_out_end_object(out);
    rules_return(call->api, rules);
    return status;
}

void drills_effect(struct call *call)
{
    call_figures(call, effect_make);
}
