/* See fix_drills.h. */
#include "api/practice/fix_drills.h"

#include <stdio.h>
#include <string.h>

#include "api/frame/answer.h"

/* What the drills are for, and for whom. */
struct fixing {
    const struct store_fix *fix;
    enum fault_id fault;
    struct scored_student *scored;
    struct fix_drills *drills;
};

/* One entry of "drills": {"drill": id, "confirm_reason": why}. */
static bool take_choice(struct tree *tree, int index, void *to)
{
    static const char *const keys[] = {"drill", "confirm_reason", NULL};
    struct fix_drills *drills = to;
    struct fix_drill *choice = &drills->chosen[index];
    if (!tree_keys(tree, keys) || !tree_text(tree, "drill", true, STORE_SLUG - 1, &choice->id) ||
        !tree_text(tree, "confirm_reason", false, FIX_REASON_MAX, &choice->reason)) {
        return false;
    }
    for (int k = 0; k < index; k++) {
        if (strcmp(drills->chosen[k].id, choice->id) == 0) {
            return tree_refuse_at(tree, tree->at->up, "the same drill twice");
        }
    }
    return true;
}

void fix_drills_read(struct tree *tree, struct fix_drills *drills)
{
    static const char shape[] = "a list of one or two drills is expected";
    drills->given = tree_has(tree, "drills");
    if (tree_list(tree, "drills", false, FIX_DRILLS_MAX, shape, take_choice, drills, &drills->count) && drills->given &&
        drills->count < 1) {
        (void)tree_refuse(tree, "drills", "%s", shape);
    }
}

/* Can this student get the i-th drill at all? Whether it needs a word is asked with the other conflicts. False:
 * answered.
 */
static bool drill_check(struct call *call, const struct fixing *fixing, int i, const struct drill *drill)
{
    char path[32];
    const struct fix_drill *choice = &fixing->drills->chosen[i];
    (void)snprintf(path, sizeof path, "drills[%d]", i);
    if (drill == NULL) {
        exchange_problem(call->exchange, 422, "unknown-drill", path, "No such drill is in use: %s.", choice->id);
        return false;
    }
    if (!drill->faults[fixing->fault]) {
        exchange_problem(call->exchange, 422, "drill-does-not-fit", path, "%s is not a drill for %s.", drill->name,
                         fixing->fix->fault);
        return false;
    }
    if (drill->adult_only && fixing->scored->student.junior) {
        exchange_problem(call->exchange, 409, "drill-adult-only", path, "%s is not for juniors.", drill->name);
        return false;
    }
    return true;
}

static void homework_fill(const struct call *call, const struct fixing *fixing, int i, const struct drill *drill)
{
    struct store_homework *homework = &fixing->drills->homework[i];
    const struct dose dose = practice_dose(drill, fixing->scored->player.age_years);
    uuid7_new(homework->id);
    memcpy(homework->fix_id, fixing->fix->id, sizeof homework->fix_id);
    memcpy(homework->student_id, call->student_id, sizeof homework->student_id);
    (void)snprintf(homework->drill_id, sizeof homework->drill_id, "%s", drill->id);
    homework->sessions_per_week = dose.sessions_per_week;
    homework->minutes = dose.minutes;
    homework->self_check_every = dose.self_check_every;
    homework->created = call->now;
    homework->retest_at = call->now + dose.retest_days * DAY_MS;
    if (practice_needs_word(drill, fixing->scored->player.pain, fixing->scored->unsteady)) {
        const char *reason = fixing->drills->chosen[i].reason;
        homework->confirmed = reason != NULL ? reason : fixing->fix->overrule;
        homework->word_pain = fixing->scored->player.pain;
    }
    memcpy(homework->assigned_by, call->principal->account_id, sizeof homework->assigned_by);
}

/* Without a list of the coach's own: what fits fault and body best, as in the report, by today's drills and pains;
 * never what needs a word. */
static void drills_suggest(const struct fixing *fixing, const struct rules_cache *rules)
{
    const struct practice_wish wish = {.fault = fixing->fault,
                                       .pain = fixing->scored->player.pain,
                                       .junior = fixing->scored->student.junior,
                                       .unsteady = fixing->scored->unsteady};
    struct practice_pick picks[FIX_DRILLS_MAX];
    fixing->drills->count = practice_suggest(rules->drills, rules->drill_count, &wish, picks, FIX_DRILLS_MAX);
    if (fixing->drills->count > 0 && picks[0].needs_confirmation) {
        fixing->drills->count = 0;
    }
    for (int i = 0; i < fixing->drills->count; i++) {
        fixing->drills->chosen[i] = (struct fix_drill){.id = rules->drills[picks[i].index].id};
    }
}

bool fix_drills_take(struct call *call, const struct store_fix *fix, enum fault_id fault, struct scored_student *scored,
                     struct fix_drills *drills)
{
    const struct fixing one = {fix, fault, scored, drills};
    const struct fixing *fixing = &one;
    const struct rules_cache *rules = rules_borrow(call->api, call->db, call->rules_edits);
    bool good = rules != NULL;
    if (!good) {
        call_problem_store(call, STORE_ERROR);
        return false;
    }
    fixing->scored->unsteady =
        practice_unsteady(rules->standard, fixing->scored->player.age_years, fixing->scored->player.pain);
    if (!fixing->drills->given) {
        drills_suggest(fixing, rules);
    }
    if (fixing->drills->count == 0) {
        exchange_problem(
            call->exchange, 409, "no-drill-fits", "drills",
            "No drill fits this fault and this student without more: name one with confirm_reason, or add one "
            "to the club's drills.");
        good = false;
    }
    for (int i = 0; good && i < fixing->drills->count; i++) {
        const struct drill *drill = rules_drill(rules, fixing->drills->chosen[i].id);
        good = drill_check(call, fixing, i, drill);
        if (good) {
            homework_fill(call, fixing, i, drill);
        }
    }
    rules_return(call->api, rules);
    return good;
}
