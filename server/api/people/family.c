/* See family.h. */
#include "api/people/family.h"

#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/body.h"
#include "api/people/handlers.h"

/* The one junior that need not be named. NULL: answered. */
static const char *only_junior(struct call *call)
{
    struct store_id_list juniors;
    const enum store_status status =
        store_guardian_students(call->db, call->principal->account_id, call->arena, &juniors);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return NULL;
    }
    if (juniors.count == 0) {
        exchange_problem(call->exchange, 404, "nobody-to-see", NULL,
                         "You stand for nobody here any more: a guardian's view ends on the child's 18th birthday.");
        return NULL;
    }
    if (juniors.count > 1) {
        exchange_problem(call->exchange, 422, "student-needed", "student", "student: say for whom.");
        return NULL;
    }
    return juniors.items[0];
}

bool family_choose(struct call *call, const char *wanted)
{
    const struct principal *principal = call->principal;
    enum store_status status = STORE_OK;
    if (principal->role == STORE_STUDENT) {
        status = wanted == NULL || strcmp(wanted, principal->student_id) == 0 ? STORE_OK : STORE_NOT_FOUND;
        wanted = principal->student_id;
    } else if (wanted != NULL) {
        status = uuid_valid(wanted) ? store_guardian_may(call->db, principal->account_id, wanted) : STORE_NOT_FOUND;
    } else {
        wanted = only_junior(call);
        if (wanted == NULL) {
            return false;
        }
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return false;
    }
    memcpy(call->student_id, wanted, UUID_TEXT);
    return true;
}

enum store_status family_reach(struct store_db *db, const char *staff_id, const struct store_account *account,
                               struct arena *arena)
{
    struct store_account staff;
    struct store_id_list juniors;
    enum store_status status = store_account_get(db, staff_id, arena, &staff);
    if (status == STORE_OK && (staff.disabled != 0 || staff.role > STORE_COACH)) {
        return STORE_NOT_FOUND;
    }
    if (status != STORE_OK || staff.role == STORE_HEAD) {
        return status;
    }
    if (account->role == STORE_STUDENT) {
        return store_team_may(db, staff_id, account->student_id);
    }
    if (account->role != STORE_GUARDIAN) {
        return STORE_NOT_FOUND;
    }
    status = store_guardian_students(db, account->id, arena, &juniors);
    if (status == STORE_OK && juniors.count == 0) {
        return STORE_NOT_FOUND;
    }
    for (size_t i = 0; status == STORE_OK && i < juniors.count; i++) {
        status = store_team_may(db, staff_id, juniors.items[i]);
    }
    return status;
}

/* ---- who has an account ---- */

void family_list(struct call *call)
{
    struct store_account_list list;
    struct json_out out;
    const enum store_status status = store_account_family(call->db, call->student_id, call->arena, &list);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    json_out_array(&out, "accounts");
    for (size_t i = 0; i < list.count; i++) {
        json_out_object(&out, NULL);
        json_out_text(&out, "id", list.items[i].id);
        json_out_text(&out, "role", store_role_name(list.items[i].role));
        json_out_text(&out, "name", list.items[i].name);
        json_out_text(&out, "sign_in", list.items[i].sign_in);
        answer_time(&out, "disabled", list.items[i].disabled);
        answer_time(&out, "last_seen", list.items[i].last_seen);
        json_out_end_object(&out);
    }
    json_out_end_array(&out);
    json_out_end_object(&out);
    answer_json(call, &out, 0);
}

/* Whether a coach knows this guardian: of one own student at least. */
static enum store_status known(struct store_db *db, const struct write *write, const char *guardian_id)
{
    struct store_id_list juniors;
    enum store_status status = store_guardian_students(db, guardian_id, write->call.arena, &juniors);
    enum store_status may = STORE_NOT_FOUND;
    for (size_t i = 0; status == STORE_OK && may == STORE_NOT_FOUND && i < juniors.count; i++) {
        may = store_team_may(db, write->call.principal->account_id, juniors.items[i]);
    }
    return status == STORE_OK ? may : status;
}

static enum store_status add_job(struct store_db *db, struct write *write)
{
    const char *id = write->data;
    struct store_account account;
    struct store_student student;
    enum store_status status = store_account_get(db, id, write->call.arena, &account);
    if (status == STORE_OK && write->call.principal->role == STORE_COACH) {
        status = known(db, write, id);
    }
    status = status == STORE_OK ? store_student_get(db, write->call.student_id, write->call.arena, &student) : status;
    if (status != STORE_OK) {
        return status;
    }
    if (account.role != STORE_GUARDIAN || account.disabled != 0) {
        return write_refuse(write, 422, "invalid", "account_id", "account_id: only a guardian in use can be added.");
    }
    if (!student.junior) {
        return write_refuse(write, 422, "invalid", "id", "A guardian stands for juniors only.");
    }
    status = store_guardian_add(db, id, write->call.student_id, write->call.now);
    if (status == STORE_OK) { /* or the head's list of before would take it back unseen */
        status = store_account_update(db, &account);
    }
    answer_audit(write, "family.add", "account", id, write->call.student_id);
    return status;
}

void family_add(struct call *call)
{
    static const char *const keys[] = {NULL};
    const char *id = exchange_capture(call->exchange, 1);
    struct body body;
    if (id == NULL || !uuid_valid(id)) {
        call_problem_store(call, STORE_NOT_FOUND);
        return;
    }
    if (!body_begin(&body, call, keys, true) || !body_end(&body)) {
        return;
    }
    struct write *write = write_new(call, add_job, (void *)id);
    if (write != NULL) {
        write->status = 204;
        call_write(write);
    }
}
