/* What becomes of a fault after each drill: the change of its main measure in units of its own error, student by
 * student, partially pooled. Of fewer than eight students nothing is told, and never who coached them. */
#include <math.h>
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/heavy.h"
#include "api/lessons/scoring.h"
#include "api/practice/handlers.h"
#include "api/practice/judging.h"
#include "api/practice/repeats.h"
#include "core/pooling.h"
#include "store/practice/drill.h"
#include "store/practice/effect.h"

#define STUDENTS_LEAST 8
#define PAGE 50

/* Of one student who did the drill for the fault. */
struct tried {
    char student_id[UUID_TEXT];
    int64_t done;
    bool drawn; /* the value it began with was drawn to the club's mean, and not to the standard's middle */
    struct pooling_trial trial;
};

struct group {
    struct tried *items;
    int count, room;
    int undone; /* students who never ticked it off */
};

/* What the club shows at first, once it was asked for. */
struct known {
    struct known *next;
    struct judging_like like;
    struct change_prior prior;
    bool enough;
};

struct effects {
    struct call *call;
    const struct standard *standard;
    struct known *known;
    struct json_out *out;
    struct arena *arena; /* of one drill */
    struct group groups[FAULT_COUNT];
    struct pooling_trial *trials;
};

/* ---- one student ---- */

static enum store_status known_find(struct effects *effects, const struct judging_like *like, const struct known **out)
{
    for (const struct known *known = effects->known; known != NULL; known = known->next) {
        if (known->like.item == like->item && known->like.club == like->club && known->like.source == like->source) {
            *out = known;
            return STORE_OK;
        }
    }
    struct known *known = arena_alloc(effects->call->arena, sizeof *known);
    if (known == NULL) {
        return STORE_NO_MEMORY;
    }
    *known = (struct known){.next = effects->known, .like = *like};
    effects->known = known;
    *out = known;
    return judging_club(effects->call, like, &known->prior, &known->enough);
}

/* The better, the greater, in units of its own error; *good is false where the value began within what is fine, or
 * can't be compared. A value that was looked for because it was far off is partly so by chance: it is drawn to the
 * mean. */
static enum store_status change_of(struct effects *effects, const struct judging_like *like,
                                   const struct report_pick *was, const struct report_pick *is,
                                   const struct measure_range *range, struct tried *out, bool *good)
{
    const struct known *known = NULL;
    const double seen = was->measure.value;
    const bool above = range->ok_high.given && seen > range->ok_high.value;
    const bool below = range->ok_low.given && seen < range->ok_low.value;
    const bool same = like->source == is->measure.source && !judging_placed(like->source);
    *good = above != below && !was->measure.clipped && !is->measure.clipped;
    const enum store_status status = *good ? known_find(effects, like, &known) : STORE_OK;
    if (status != STORE_OK || !*good) {
        return status;
    }
    const struct change_prior prior = known->enough ? known->prior : judging_middle(range, like->spread);
    const struct change_set first = judging_set(was, like->spread);
    const struct change_set before = change_drawn(&first, &prior, same, NULL);
    const struct change_set after = judging_set(is, like->spread);
    const struct change_result result = change_judge(&before, &after, same, range);
    const double error = result.needed / CHANGE_BELIEVED;
    out->drawn = known->enough;
    out->trial = (struct pooling_trial){.value = (above ? -1 : 1) * result.difference / error, .se = 1};
    *good = error > 0;
    return STORE_OK;
}

/* The fault's heaviest required sign that both reports show. */
static bool item_choose(const struct report_pick *was, const struct report_pick *is, int count, int *chosen)
{
    for (*chosen = 0; *chosen < count; ++*chosen) {
        if (was[*chosen].measure.observed && is[*chosen].measure.observed) {
            return true;
        }
    }
    return false;
}

static enum store_status tried_read(struct effects *effects, const struct store_effect *row, enum fault_id fault,
                                    struct tried *out, bool *good)
{
    enum measure_item items[SIGNS_MAX];
    struct report_pick was[SIGNS_MAX];
    struct report_pick is[SIGNS_MAX];
    enum club_class clubs[2];
    struct scored_student scored;
    bool readable[2] = {false, false};
    int chosen = 0;
    struct store_db *db = effects->call->db;
    const int count = judging_items(&effects->standard->faults[fault], items);
    enum store_status status = repeats_pick(db, row->before, items, count, was, &clubs[0], &readable[0]);
    status = status == STORE_OK ? repeats_pick(db, row->after, items, count, is, &clubs[1], &readable[1]) : status;
    *good = status == STORE_OK && readable[0] && readable[1] && clubs[0] == clubs[1] &&
            item_choose(was, is, count, &chosen);
    if (!*good) {
        return status;
    }
    status = store_student_get(db, row->student_id, effects->arena, &scored.student);
    if (status != STORE_OK) {
        return status;
    }
    scoring_player(&scored.student, effects->call->now, &scored.player);
    const struct player who = score_class(&scored.player, clubs[0]);
    const struct judged_range range = standard_range(effects->standard, items[chosen], &who);
    const struct judging_like like = {items[chosen], clubs[0], was[chosen].measure.source,
                                      effects->standard->spread[items[chosen]]};
    *good = range.given;
    return *good ? change_of(effects, &like, &was[chosen], &is[chosen], &range.range, out, good) : STORE_OK;
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
    effects->known = NULL;
    const struct rules_cache *rules = rules_borrow(call->api, call->db, call->rules_edits);
    if (rules == NULL) {
        return STORE_ERROR;
    }
    effects->standard = rules->standard;
    json_out_object(out, NULL);
    answer_integer(out, "told_from", STUDENTS_LEAST);
    json_out_array(out, "effects");
    const enum store_status status = drills_take(effects, page);
    json_out_end_array(out);
    json_out_end_object(out);
    rules_return(call->api, rules);
    return status;
}

void drills_effect(struct call *call)
{
    call_figures(call, effect_make);
}
