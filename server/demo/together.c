/* See together.h. Few of each, so that every room of the desk and the bay has something to show a newcomer. */
#include "demo/together.h"

#include <stdio.h>
#include <string.h>

#include "store/club/inbox.h"
#include "store/lessons/opinion.h"
#include "store/lessons/swing.h"
#include "store/people/handover.h"
#include "store/people/student.h"
#include "store/practice/fix.h"
#include "store/practice/homework.h"
#include "store/practice/retest.h"

#define DAY_MS (INT64_C(24) * 3600 * 1000)
#define SHARED 5      /* every fifth student has two coaches (club.c) */
#define CONFLICTED 20 /* the student with a second fix */

struct sharing {
    struct demo_world *world;
    struct store_db *db;
    struct arena *arena;
    const struct store_student *who;
    int index;                  /* of the student, as club.c counts */
    const char *coach, *second; /* the student's own, and another */
    struct store_fix fix;       /* what runs */
};

/* A few looks are overdue, the others were put off to a day ahead. */
static enum store_status look_plan(struct sharing *sharing)
{
    static const int late[] = {4, 9, 22, 39};
    struct demo_world *world = sharing->world;
    struct store_retest look = {.begun_at = sharing->fix.opened_at};
    bool stays = false;
    demo_id(world, sharing->fix.opened_at, look.id);
    memcpy(look.student_id, sharing->who->id, UUID_TEXT);
    memcpy(look.fix_id, sharing->fix.id, UUID_TEXT);
    memcpy(look.planned_by, sharing->coach, UUID_TEXT);
    enum store_status status = store_retest_plan(sharing->db, &look);
    if (status == STORE_OK) {
        status = store_retest_get(sharing->db, look.id, sharing->arena, &look);
    }
    for (size_t i = 0; i < sizeof late / sizeof *late; i++) {
        stays = stays || sharing->index == late[i];
    }
    if (status != STORE_OK || stays || look.due_at > world->now) {
        return status == STORE_NOT_FOUND ? STORE_OK : status; /* without homework nothing is planned */
    }
    look.due_at = world->now + (1 + sharing->index * 5 % 20) * DAY_MS;
    look.moved_at = world->now - 2 * DAY_MS;
    look.moved_reason = "Invented: away for a while.";
    memcpy(look.moved_by, sharing->coach, UUID_TEXT);
    return store_retest_move(sharing->db, &look);
}

/* Tells one coach of a hand-over, or the team of a fix. */
static enum store_status tell(struct sharing *sharing, const char *kind, const char *to, const char *handover,
                              const char *fix, int64_t at)
{
    struct store_inbox item = {.kind = kind, .created = at};
    demo_id(sharing->world, at, item.id);
    memcpy(item.student_id, sharing->who->id, UUID_TEXT);
    memcpy(item.by_id, strcmp(to, sharing->second) == 0 ? sharing->coach : sharing->second, UUID_TEXT);
    (void)snprintf(item.account_id, sizeof item.account_id, "%s", to);
    (void)snprintf(item.handover_id, sizeof item.handover_id, "%s", handover);
    (void)snprintf(item.fix_id, sizeof item.fix_id, "%s", fix);
    return store_inbox_insert(sharing->db, &item, false);
}

static enum store_status hand_over(struct sharing *sharing, bool accepted)
{
    const int64_t at = sharing->world->now - (accepted ? 9 : 1) * DAY_MS;
    struct store_handover handover = {
        .note = "Invented: one thought at a time works best; ask about the back first.", .stays = true, .created = at};
    demo_id(sharing->world, at, handover.id);
    memcpy(handover.student_id, sharing->who->id, UUID_TEXT);
    memcpy(handover.from_id, sharing->coach, UUID_TEXT);
    memcpy(handover.to_id, sharing->second, UUID_TEXT);
    if (accepted) {
        handover.status = STORE_HANDOVER_ACCEPTED;
        handover.answered_at = at + DAY_MS;
        memcpy(handover.answered_by, sharing->second, UUID_TEXT);
    }
    enum store_status status = store_handover_insert(sharing->db, &handover);
    if (status == STORE_OK && accepted) {
        status = store_team_add(sharing->db, sharing->who->id, sharing->second, at + DAY_MS);
    }
    if (status == STORE_OK) {
        status =
            demo_audit(sharing->db, "handover.create", "handover", handover.id, sharing->who->id, sharing->coach, at);
    }
    return status != STORE_OK ? status
           : accepted         ? tell(sharing, "handover_accepted", sharing->coach, handover.id, "", at + DAY_MS)
                              : tell(sharing, "handover", sharing->second, handover.id, "", at);
}

/* Both coaches of a shared student said what they see in the newest swing; every third time they see the fix otherwise.
 */
static enum store_status opinions_give(struct sharing *sharing)
{
    const struct store_page newest = {.limit = 1};
    struct store_swing_list swings = {0};
    const char *coaches[] = {sharing->coach, sharing->second};
    enum store_status status = store_swing_list(sharing->db, sharing->who->id, &newest, sharing->arena, &swings);
    for (int i = 0; i < 2 && status == STORE_OK && swings.count > 0; i++) {
        const bool sees = i == 0 || sharing->index % 3 != 0;
        char said[120];
        struct store_opinion opinion = {.created = sharing->world->now - 3 * DAY_MS + i, .first = said, .now = said};
        (void)snprintf(said, sizeof said, "{\"%s\":\"%s\"}", sharing->fix.fault, sees ? "present" : "absent");
        demo_id(sharing->world, opinion.created, opinion.id);
        memcpy(opinion.swing_id, swings.items[0].id, UUID_TEXT);
        memcpy(opinion.account_id, coaches[i], UUID_TEXT);
        status = store_opinion_put(sharing->db, &opinion);
    }
    return status;
}

/* A drill that trains it without asking for a coach's word. */
static const struct drill *drill_for(const struct demo_world *world, enum fault_id fault, unsigned pain)
{
    for (int i = 0; i < world->drill_count; i++) {
        const struct drill *drill = &world->drills[i];
        if (drill->faults[fault] && !drill->adult_only && !drill->balance &&
            ((drill->loads | drill->contraindicated) & pain) == 0) {
            return drill;
        }
    }
    return NULL;
}

/* The other coach opened a second fix, told of the first and saying why; it waits until that one has ended. */
static enum store_status conflict_solve(struct sharing *sharing)
{
    struct demo_world *world = sharing->world;
    const enum fault_id fault =
        strcmp(sharing->fix.fault, fault_name(FAULT_OVERSWING)) == 0 ? FAULT_HURRIED_TEMPO : FAULT_OVERSWING;
    const int64_t at = world->now - 6 * DAY_MS;
    const struct drill *drill = drill_for(world, fault, sharing->who->pain);
    struct store_fix fix = {.fault = fault_name(fault),
                            .opened_at = at,
                            .reason = "Invented: it shows on the course.",
                            .overrule = "Invented: it comes second, when the first is done."};
    char against[400];
    if (drill == NULL) {
        return STORE_OK;
    }
    (void)snprintf(
        against, sizeof against,
        "[{\"kind\":\"two_fixes_open\",\"fix_id\":\"%s\",\"opened_by\":\"%s\",\"fault\":\"%s\",\"drill\":null,"
        "\"drill_name\":null,\"measure\":null,\"checkpoint\":null,\"areas\":[],\"flight\":null}]",
        sharing->fix.id, sharing->fix.opened_by, sharing->fix.fault);
    fix.conflicts = against;
    demo_id(world, at, fix.id);
    memcpy(fix.student_id, sharing->who->id, UUID_TEXT);
    memcpy(fix.opened_by, sharing->second, UUID_TEXT);
    enum store_status status = store_fix_insert(sharing->db, &fix);
    const struct dose dose = practice_dose(drill, 30);
    struct store_homework homework = {.sessions_per_week = dose.sessions_per_week,
                                      .minutes = dose.minutes,
                                      .self_check_every = dose.self_check_every,
                                      .retest_at = at + dose.retest_days * DAY_MS,
                                      .created = at};
    demo_id(world, at, homework.id);
    memcpy(homework.fix_id, fix.id, UUID_TEXT);
    memcpy(homework.student_id, sharing->who->id, UUID_TEXT);
    memcpy(homework.assigned_by, sharing->second, UUID_TEXT);
    (void)snprintf(homework.drill_id, sizeof homework.drill_id, "%s", drill->id);
    if (status == STORE_OK) {
        status = store_homework_insert(sharing->db, &homework);
    }
    if (status == STORE_OK) {
        status = demo_audit(sharing->db, "fix.open", "fix", fix.id, sharing->who->id, sharing->second, at);
    }
    return status == STORE_OK ? tell(sharing, "fix_conflict", "", "", fix.id, at) : status;
}

/* The fix that runs; STORE_NOT_FOUND: none does. */
static enum store_status running_fix(struct sharing *sharing)
{
    const struct store_page page = {.limit = 1};
    struct store_fix_list open = {0};
    const enum store_status status = store_fix_list(sharing->db, sharing->who->id, true, &page, sharing->arena, &open);
    if (status == STORE_OK && open.count > 0) {
        sharing->fix = open.items[0];
    }
    return status == STORE_OK && open.count == 0 ? STORE_NOT_FOUND : status;
}

static enum store_status student_share(struct sharing *sharing)
{
    enum store_status status = running_fix(sharing);
    if (status != STORE_OK) {
        return status == STORE_NOT_FOUND ? STORE_OK : status;
    }
    status = look_plan(sharing);
    if (status == STORE_OK && sharing->index % SHARED == 0) {
        status = opinions_give(sharing);
    }
    if (status == STORE_OK && sharing->index == CONFLICTED) {
        status = conflict_solve(sharing);
    }
    if (status == STORE_OK && (sharing->index == 10 || sharing->index == 11)) {
        status = hand_over(sharing, sharing->index == 10);
    }
    return status;
}

enum store_status demo_together(struct demo_world *world, struct store_db *db)
{
    const struct store_page all = {.limit = DEMO_STUDENTS};
    struct store_student_list list = {0};
    struct sharing sharing = {.world = world, .db = db, .arena = world->arena};
    enum store_status status = store_student_list(db, &all, world->arena, &list);
    for (size_t i = 0; i < list.count && status == STORE_OK; i++) {
        sharing.index = (int)i;
        sharing.who = &list.items[i];
        sharing.coach = world->coaches[i % DEMO_COACHES];
        sharing.second = world->coaches[(i + 1) % DEMO_COACHES];
        status = student_share(&sharing);
    }
    return status;
}
