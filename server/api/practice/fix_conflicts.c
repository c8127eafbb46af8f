/* What speaks against a fix that is to be open, all of it in one list. */
#include "api/practice/fix_conflicts.h"

#include <string.h>

#include "api/frame/answer.h"
#include "api/practice/homework_write.h"
#include "core/conflict.h"
#include "wire/report/codes.h"

struct gathering {
    struct call *call;
    struct fix_asked *asked;
    const struct rules_cache *rules;
    struct json_out out;
    int count;
    bool unanswered;
};

/* One conflict; other, drill and item where it has them. answered: the coach has said why all the same. */
struct against {
    enum conflict kind;
    const struct store_fix *other;
    const char *fault; /* of the other fix, or what comes first */
    const char *drill, *drill_name;
    bool has_item, has_flight, answered;
    enum measure_item item;
    unsigned areas;
};

static void areas_write(struct json_out *out, unsigned areas)
{
    json_out_array(out, "areas");
    for (int i = 0; i < AREA_BITS; i++) {
        if ((areas & 1U << i) != 0) {
            json_out_text(out, NULL, area_name((enum area)(1U << i)));
        }
    }
    json_out_end_array(out);
}

static void flight_write(struct json_out *out, const struct flight_class *flight, bool given)
{
    if (!given) {
        json_out_null(out, "flight");
        return;
    }
    json_out_object(out, "flight");
    json_out_text(out, "start", flight->start == FLIGHT_UNKNOWN ? NULL : flight_side_name(flight->start));
    json_out_text(out, "curve", flight->curve == FLIGHT_UNKNOWN ? NULL : flight_side_name(flight->curve));
    json_out_text(out, "strike", flight->strike == STRIKE_UNKNOWN ? NULL : strike_name(flight->strike));
    json_out_end_object(out);
}

static void add(struct gathering *g, const struct against *conflict)
{
    struct json_out *out = &g->out;
    const struct measure_info *info = conflict->has_item ? measure_info(conflict->item) : NULL;
    const bool named = info != NULL && info->checkpoint != CHECKPOINT_NONE;
    json_out_object(out, NULL);
    json_out_text(out, "kind", conflict_name(conflict->kind));
    json_out_text(out, "fix_id", conflict->other == NULL ? NULL : conflict->other->id);
    json_out_text(out, "opened_by", conflict->other == NULL ? NULL : conflict->other->opened_by);
    json_out_text(out, "fault", conflict->other == NULL ? conflict->fault : conflict->other->fault);
    json_out_text(out, "drill", conflict->drill);
    json_out_text(out, "drill_name", conflict->drill_name);
    json_out_text(out, "measure", info == NULL ? NULL : info->name);
    json_out_text(out, "checkpoint", named ? checkpoint_name(info->checkpoint) : NULL);
    areas_write(out, conflict->areas);
    flight_write(out, &g->asked->flight, conflict->has_flight);
    json_out_end_object(out);
    g->count++;
    g->unanswered = g->unanswered || !conflict->answered;
}

/* The drills that stand of another open fix, against the new fault. */
static void drills_of_other(struct gathering *g, const struct store_fix *other,
                            const struct store_homework_list *homework)
{
    const struct standard *standard = g->rules->standard;
    for (size_t i = 0; i < homework->count; i++) {
        const struct store_homework *work = &homework->items[i];
        struct against against = {.kind = CONFLICT_DRILL_AGAINST,
                                  .other = other,
                                  .drill = work->drill_id,
                                  .has_item = true,
                                  .answered = g->asked->fix->overrule != NULL};
        struct drill drill;
        if (work->ended == 0 && strcmp(work->fix_id, other->id) == 0 &&
            homework_drill_find(g->call, work->drill_id, g->rules, &drill) != NULL &&
            conflict_drill(standard, &drill, g->asked->fault, &against.item)) {
            against.drill_name = drill.name;
            add(g, &against);
        }
    }
}

/* The new drills, against another open fix. */
static void drills_against(struct gathering *g, const struct store_fix *other, enum fault_id fault)
{
    for (int i = 0; i < g->asked->drills->count; i++) {
        struct against against = {.kind = CONFLICT_DRILL_AGAINST,
                                  .other = other,
                                  .drill = g->asked->drills->chosen[i].id,
                                  .has_item = true,
                                  .answered = g->asked->fix->overrule != NULL};
        struct drill drill;
        if (homework_drill_find(g->call, against.drill, g->rules, &drill) != NULL &&
            conflict_drill(g->rules->standard, &drill, fault, &against.item)) {
            against.drill_name = drill.name;
            add(g, &against);
        }
    }
}

static void with_other(struct gathering *g, const struct store_fix *other, const struct store_homework_list *homework)
{
    const struct store_fix *fix = g->asked->fix;
    struct against opposite = {
        .kind = CONFLICT_OPPOSITE_MEASURE, .other = other, .has_item = true, .answered = fix->overrule != NULL};
    const struct against two = {
        .kind = CONFLICT_TWO_FIXES_OPEN, .other = other, .answered = fix->overrule != NULL || fix->together != NULL};
    enum fault_id fault;
    if (fault_parse(other->fault, &fault)) {
        if (conflict_faults(g->rules->standard, g->asked->fault, fault, &opposite.item)) {
            add(g, &opposite);
        }
        drills_against(g, other, fault);
        drills_of_other(g, other, homework);
    }
    add(g, &two);
}

/* What the drills ask of this body. */
static void with_body(struct gathering *g)
{
    const struct score_player *player = &g->asked->scored->player;
    const bool unsteady = practice_unsteady(g->rules->standard, player->age_years, player->pain);
    for (int i = 0; i < g->asked->drills->count; i++) {
        const struct fix_drill *choice = &g->asked->drills->chosen[i];
        const bool answered = choice->reason != NULL || g->asked->fix->overrule != NULL;
        struct drill drill;
        if (homework_drill_find(g->call, choice->id, g->rules, &drill) == NULL) {
            continue;
        }
        const struct codes_word word = codes_word(&drill, player->pain, unsteady);
        if ((word.loaded | word.ruled_out) != 0) {
            add(g, &(struct against){.kind = CONFLICT_SORE_AREA,
                                     .drill = choice->id,
                                     .drill_name = drill.name,
                                     .areas = word.loaded | word.ruled_out,
                                     .answered = answered});
        }
        if (word.balance) {
            add(g, &(struct against){
                       .kind = CONFLICT_UNSTEADY, .drill = choice->id, .drill_name = drill.name, .answered = answered});
        }
    }
}

static void gather(struct gathering *g, const struct store_homework_list *homework)
{
    const struct fix_asked *asked = g->asked;
    for (size_t i = 0; i < asked->open.count; i++) {
        with_other(g, &asked->open.items[i], homework);
    }
    if (asked->first[0] != '\0' && strcmp(asked->first, asked->fix->fault) != 0) {
        add(g, &(struct against){.kind = CONFLICT_ANOTHER_FIRST,
                                 .fault = asked->first,
                                 .answered = asked->fix->overrule != NULL || asked->fix->reason != NULL});
    }
    with_body(g);
    if (conflict_flight(g->rules->standard, asked->fault, &asked->flight)) {
        add(g, &(struct against){
                   .kind = CONFLICT_BALL_FLIGHT, .has_flight = true, .answered = asked->fix->overrule != NULL});
    }
}

/* A third, or the same fault again, no reason makes possible: the write says so. */
static bool hopeless(const struct fix_asked *asked)
{
    bool same = false;
    for (size_t i = 0; i < asked->open.count; i++) {
        same = same || strcmp(asked->open.items[i].fault, asked->fix->fault) == 0;
    }
    return same || asked->open.count > 1;
}

static void refuse(struct gathering *g, const char *json)
{
    const char *more = arena_printf(g->call->arena, "\"conflicts\":%s", json);
    if (more == NULL) {
        answer_no_memory(g->call);
        return;
    }
    exchange_problem_more(
        g->call->exchange, 409, "fix-conflict", "overrule", more,
        "Something speaks against this fix (\"conflicts\"): say why with overrule, or choose another.");
}

/* Without the fix itself. */
static void others_alone(struct store_fix_list *list, const char *id)
{
    size_t kept = 0;
    for (size_t i = 0; i < list->count; i++) {
        if (strcmp(list->items[i].id, id) != 0) {
            list->items[kept++] = list->items[i];
        }
    }
    list->count = kept;
}

enum store_status fix_conflicts_check(struct store_db *db, struct write *write, const struct fix_asked *asked)
{
    const struct store_fix_list *then = &asked->open;
    const struct store_page page = {.limit = FIX_DRILLS_MAX + 1};
    struct store_fix_list now;
    const enum store_status status = store_fix_list(db, asked->fix->student_id, true, &page, write->call.arena, &now);
    if (status != STORE_OK) {
        return status;
    }
    others_alone(&now, asked->fix->id);
    bool same = now.count == then->count;
    for (size_t i = 0; same && i < then->count; i++) {
        same = strcmp(now.items[i].id, then->items[i].id) == 0 && now.items[i].version == then->items[i].version;
    }
    return same ? STORE_OK
                : write_refuse(write, 409, "fixes-changed", NULL,
                               "The student's fixes were changed at this moment: look at them, and try again.");
}

bool fix_conflicts_ask(struct call *call, struct fix_asked *asked, const char **json)
{
    struct gathering g = {.call = call, .asked = asked};
    struct store_homework_list homework;
    const struct store_page page = {.limit = FIX_DRILLS_MAX + 1};
    size_t length;
    *json = NULL;
    enum store_status status = store_fix_list(call->db, call->student_id, true, &page, call->arena, &asked->open);
    if (status == STORE_OK) {
        others_alone(&asked->open, asked->fix->id);
        status = store_homework_list(call->db, call->student_id, false, 0, NULL, call->arena, &homework);
    }
    g.rules = status == STORE_OK ? rules_borrow(call->api, call->db, call->rules_edits) : NULL;
    if (g.rules == NULL) {
        call_problem_store(call, status == STORE_OK ? STORE_ERROR : status);
        return false;
    }
    json_out_start(&g.out, call->arena);
    json_out_array(&g.out, NULL);
    gather(&g, &homework);
    json_out_end_array(&g.out);
    rules_return(call->api, g.rules);
    const char *text = json_out_finish(&g.out, &length);
    if (text == NULL) {
        answer_no_memory(call);
        return false;
    }
    if (g.unanswered && !hopeless(asked)) {
        refuse(&g, text);
        return false;
    }
    *json = g.count > 0 ? text : NULL;
    return true;
}
