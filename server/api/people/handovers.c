/* Handing a student over: the coach who is to carry on hears of it with a note, and says yes or no. A yes makes that
 * coach one of the student's team. */
#include <stdio.h>
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/body.h"
#include "api/frame/precondition.h"
#include "api/people/handlers.h"
#include "api/people/handover_write.h"
#include "store/club/inbox.h"
#include "store/people/account.h"
#include "store/people/handover.h"

#define NOTE_MAX 2000

static void handover_json(struct json_out *out, const struct store_handover *handover)
{
    json_out_object(out, NULL);
    json_out_text(out, "id", handover->id);
    json_out_text(out, "student_id", handover->student_id);
    json_out_text(out, "student_name", handover->student_name);
    json_out_text(out, "from", handover->from_id);
    json_out_text(out, "from_name", handover->from_name);
    json_out_text(out, "offered_by", handover->offered_by);
    json_out_text(out, "to", handover->to_id);
    json_out_text(out, "to_name", handover->to_name);
    json_out_text(out, "note", handover->note);
    json_out_bool(out, "stays", handover->stays);
    answer_time(out, "created", handover->created);
    json_out_text(out, "status", store_handover_status_name(handover->status));
    answer_id(out, "answered_by", handover->answered_by);
    answer_time(out, "answered_at", handover->answered_at);
    json_out_text(out, "reason", handover->reason);
    answer_integer(out, "version", handover->version);
    json_out_end_object(out);
}

static enum store_status write_answer(struct store_db *db, struct write *write, const char *id, int status)
{
    struct store_handover handover;
    struct json_out out;
    const enum store_status found = store_handover_get(db, id, write->call.arena, &handover);
    if (found != STORE_OK) {
        return found;
    }
    json_out_start(&out, write->call.arena);
    handover_json(&out, &handover);
    write->etag = handover.version;
    return answer_write(write, &out, status) ? STORE_OK : STORE_NO_MEMORY;
}

enum store_status handover_tell(struct store_db *db, const struct write *write, const struct store_handover *handover,
                                const char *kind, const char *account_id, const char *by)
{
    struct store_inbox item = {.kind = kind, .created = write->call.now};
    uuid7_new(item.id);
    memcpy(item.student_id, handover->student_id, UUID_TEXT);
    memcpy(item.account_id, account_id, UUID_TEXT);
    memcpy(item.by_id, by, UUID_TEXT);
    memcpy(item.handover_id, handover->id, UUID_TEXT);
    return store_inbox_insert(db, &item, false);
}

enum store_status handover_coach(struct store_db *db, struct write *write, const char *id, const char *path)
{
    struct store_account account;
    const enum store_status status = store_account_get(db, id, write->call.arena, &account);
    if (status == STORE_NOT_FOUND || (status == STORE_OK && (account.role > STORE_COACH || account.disabled != 0))) {
        return write_refuse(write, 422, "no-such-coach", path, "No coach or head in use has this id.");
    }
    return status;
}

/* ---- offering ---- */

/* Whose student it is, where a head hands over and is not on the team: who the head says, else the one coach in use
 * whom the team has beside the next one. Nobody, or several: then nobody leaves by it, and it is the head's own offer.
 */
static enum store_status former_find(struct store_db *db, struct write *write, struct store_handover *handover)
{
    struct store_coach_list team;
    const char *only = NULL;
    if (handover->from_id[0] != '\0') {
        const enum store_status on = store_team_may(db, handover->from_id, handover->student_id);
        return on == STORE_NOT_FOUND
                   ? write_refuse(write, 422, "not-of-the-team", "from", "This coach is not on the student's team.")
                   : on;
    }
    memcpy(handover->from_id, handover->offered_by, UUID_TEXT);
    enum store_status status = store_team_coaches(db, handover->student_id, write->call.arena, &team);
    size_t others = 0;
    for (size_t i = 0; status == STORE_OK && i < team.count; i++) {
        if (strcmp(team.items[i].id, handover->offered_by) == 0) {
            return STORE_OK;
        }
        if (strcmp(team.items[i].id, handover->to_id) != 0) {
            only = team.items[i].id;
            others++;
        }
    }
    if (others == 1) {
        memcpy(handover->from_id, only, UUID_TEXT);
    }
    return status;
}

static enum store_status create_job(struct store_db *db, struct write *write)
{
    struct store_handover *handover = write->data;
    enum store_status status = handover_coach(db, write, handover->to_id, "to");
    if (status == STORE_OK) {
        status = former_find(db, write, handover);
    }
    if (status == STORE_OK) {
        status = store_handover_insert(db, handover);
    }
    if (status == STORE_CONFLICT) {
        return write_refuse(write, 409, "handover-open", "to",
                            "This student is offered to this coach already, who has not answered yet.");
    }
    if (status == STORE_OK) {
        status = handover_tell(db, write, handover, "handover", handover->to_id, handover->offered_by);
    }
    return status == STORE_OK ? write_answer(db, write, handover->id, 201) : status;
}

static bool offer_read(struct call *call, struct store_handover *handover)
{
    static const char *const keys[] = {"to", "from", "note", "stays", NULL};
    const bool head = call->principal->role == STORE_HEAD;
    struct body body;
    if (!body_begin(&body, call, keys, false)) {
        return false;
    }
    if (tree_uuid(&body.in, "to", true, handover->to_id) && strcmp(handover->to_id, call->principal->account_id) == 0) {
        (void)tree_refuse(&body.in, "to", "nobody hands over to himself");
    }
    if (tree_uuid(&body.in, "from", false, handover->from_id) && handover->from_id[0] != '\0') {
        if (!head && strcmp(handover->from_id, call->principal->account_id) != 0) {
            (void)tree_refuse(&body.in, "from", "only the head hands over for somebody else");
        } else if (strcmp(handover->from_id, handover->to_id) == 0) {
            (void)tree_refuse(&body.in, "from", "nobody hands over to himself");
        }
    }
    (void)tree_text(&body.in, "note", true, NOTE_MAX, &handover->note);
    (void)tree_boolean(&body.in, "stays", false, &handover->stays);
    return body_end(&body);
}

void handovers_create(struct call *call)
{
    struct store_handover *handover = arena_alloc(call->arena, sizeof *handover);
    if (handover == NULL) {
        answer_no_memory(call);
        return;
    }
    *handover = (struct store_handover){.created = call->now};
    if (!offer_read(call, handover)) {
        return;
    }
    uuid7_new(handover->id);
    memcpy(handover->student_id, call->student_id, UUID_TEXT);
    memcpy(handover->offered_by, call->principal->account_id, UUID_TEXT);
    if (call->principal->role != STORE_HEAD) {
        memcpy(handover->from_id, call->principal->account_id, UUID_TEXT);
    }
    struct write *write = write_new(call, create_job, handover);
    if (write != NULL) {
        write->location = arena_printf(call->arena, "/v1/handovers/%s", handover->id);
        answer_audit(write, "handover.create", "handover", handover->id, call->student_id);
        call_write(write);
    }
}

/* ---- reading ---- */

void handovers_list(struct call *call)
{
    struct store_page page;
    struct store_handover_list list;
    struct json_out out;
    if (!call_page(call, &page)) {
        return;
    }
    const enum store_status status = store_handover_list(call->db, call->student_id, &page, call->arena, &list);
    if (!answer_list_begin(call, &out, status, "handovers")) {
        return;
    }
    for (size_t i = 0; i < list.count; i++) {
        handover_json(&out, &list.items[i]);
    }
    answer_list_end(call, &out, ANSWER_NEXT(list));
}

void handovers_get(struct call *call)
{
    struct store_handover handover;
    struct json_out out;
    const enum store_status status =
        store_handover_get(call->db, exchange_capture(call->exchange, 0), call->arena, &handover);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    json_out_start(&out, call->arena);
    handover_json(&out, &handover);
    answer_json_moving(call, &out, handover.version);
}

/* ---- answering ---- */

static enum store_status team_change(struct store_db *db, struct write *write, const struct store_handover *handover)
{
    enum store_status status = handover_coach(db, write, handover->to_id, "to"); /* may have gone meanwhile */
    if (status == STORE_OK) {
        status = store_team_add(db, handover->student_id, handover->to_id, write->call.now);
    }
    if (status == STORE_OK && !handover->stays) {
        status = store_team_remove(db, handover->student_id, handover->from_id);
    }
    return status;
}

/* Whoever did not answer it hears how it was answered; of the coach who did, nothing waits any more. */
static enum store_status tell_both(struct store_db *db, const struct write *write,
                                   const struct store_handover *handover)
{
    const bool accepted = handover->status == STORE_HANDOVER_ACCEPTED;
    const char *kind = accepted ? "handover_accepted" : "handover_declined";
    const char *who = write->call.principal->account_id;
    enum store_status status = store_inbox_see_handover(db, handover->id, handover->to_id, write->call.now);
    if (status == STORE_OK && accepted && strcmp(who, handover->to_id) != 0) {
        status = handover_tell(db, write, handover, kind, handover->to_id, who);
    }
    if (status == STORE_OK && strcmp(who, handover->offered_by) != 0) {
        status = handover_tell(db, write, handover, kind, handover->offered_by, who);
    }
    const bool theirs = strcmp(handover->from_id, handover->offered_by) != 0 && strcmp(who, handover->from_id) != 0;
    if (status == STORE_OK && theirs && accepted) {
        status = handover_tell(db, write, handover, kind, handover->from_id, who);
    }
    return status;
}

static enum store_status answer_job(struct store_db *db, struct write *write)
{
    const struct store_handover *handover = write->data;
    enum store_status status = store_handover_answer(db, handover);
    if (status == STORE_OK && handover->status == STORE_HANDOVER_ACCEPTED) {
        status = team_change(db, write, handover);
    }
    if (status == STORE_OK) {
        status = tell_both(db, write, handover);
    }
    return status == STORE_OK ? write_answer(db, write, handover->id, 200) : status;
}

/* The coach it is for and the head: either way; who offered it may take it back. False: answered. */
static bool may_answer(struct call *call, const struct store_handover *handover, enum store_handover_status wanted)
{
    const struct principal *principal = call->principal;
    const bool back = wanted == STORE_HANDOVER_DECLINED && strcmp(principal->account_id, handover->offered_by) == 0;
    if (principal->role != STORE_HEAD && strcmp(principal->account_id, handover->to_id) != 0 && !back) {
        exchange_problem(call->exchange, 403, "not-allowed", "status",
                         "The coach it is for answers this, or the head; who offered it may take it back.");
        return false;
    }
    if (handover->status != STORE_HANDOVER_OFFERED) {
        exchange_problem(call->exchange, 409, "handover-answered", "status", "This was answered already: %s.",
                         store_handover_status_name(handover->status));
        return false;
    }
    return true;
}

static bool answer_read(struct call *call, enum store_handover_status *status, const char **reason)
{
    static const char *const keys[] = {"status", "reason", NULL};
    const char *name = NULL;
    struct body body;
    if (!body_begin(&body, call, keys, false)) {
        return false;
    }
    if (tree_text_borrow(&body.in, "status", true, 16, &name) &&
        (!store_handover_status_parse(name, status) || *status == STORE_HANDOVER_OFFERED)) {
        (void)tree_refuse(&body.in, "status", "accepted or declined is expected");
    }
    (void)tree_text(&body.in, "reason", false, NOTE_MAX, reason);
    return body_end(&body);
}

void handovers_answer(struct call *call)
{
    struct store_handover *handover = arena_alloc(call->arena, sizeof *handover);
    enum store_handover_status wanted = STORE_HANDOVER_OFFERED;
    const char *reason = NULL;
    const enum store_status status =
        handover == NULL ? STORE_NO_MEMORY
                         : store_handover_get(call->db, exchange_capture(call->exchange, 0), call->arena, handover);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    if (!precondition_edit(call, handover->version) || !answer_read(call, &wanted, &reason) ||
        !may_answer(call, handover, wanted)) {
        return;
    }
    handover->status = wanted;
    handover->reason = reason;
    handover->answered_at = call->now;
    memcpy(handover->answered_by, call->principal->account_id, UUID_TEXT);
    struct write *write = write_new(call, answer_job, handover);
    if (write != NULL) {
        answer_audit(write, wanted == STORE_HANDOVER_ACCEPTED ? "handover.accept" : "handover.decline", "handover",
                     handover->id, call->student_id);
        call_write(write);
    }
}
