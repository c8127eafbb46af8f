/* The club's students: a coach sees those whose team they are on, the head everybody. */
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/precondition.h"
#include "api/people/consent_read.h"
#include "api/people/handlers.h"
#include "api/people/student_add.h"
#include "api/people/student_json.h"
#include "store/people/consent.h"

void students_list(struct call *call)
{
    struct store_page page;
    struct store_student_list list;
    struct json_out out;
    if (!call_page(call, &page)) {
        return;
    }
    const struct principal *principal = call->principal;
    enum store_status status = principal->role == STORE_HEAD ? store_student_list(call->db, &page, call->arena, &list)
                                                             : store_student_list_team(call->db, principal->account_id,
                                                                                       &page, call->arena, &list);
    if (!answer_list_begin(call, &out, status, "students")) {
        return;
    }
    for (size_t i = 0; i < list.count; i++) {
        json_out_object(&out, NULL);
        student_json(&out, &list.items[i]);
        json_out_end_object(&out);
    }
    answer_list_end(call, &out, ANSWER_NEXT(list));
}

void students_get(struct call *call)
{
    struct store_student student;
    struct store_id_list team;
    struct json_out out;
    enum store_status status = store_student_get(call->db, call->student_id, call->arena, &student);
    if (status == STORE_OK) {
        status = store_team_list(call->db, call->student_id, call->arena, &team);
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    student_json(&out, &student);
    json_out_array(&out, "team");
    for (size_t i = 0; i < team.count; i++) {
        json_out_text(&out, NULL, team.items[i]);
    }
    json_out_end_array(&out);
    json_out_end_object(&out);
    answer_json_moving(call, &out, student.version);
}

/* The student as kept now, in the answer. */
static enum store_status student_answer(struct store_db *db, struct write *write, const char *id, int status)
{
    struct store_student student;
    struct json_out out;
    const enum store_status read = store_student_get(db, id, write->call.arena, &student);
    if (read != STORE_OK) {
        return read;
    }
    json_out_start(&out, write->call.arena);
    json_out_object(&out, NULL);
    student_json(&out, &student);
    json_out_end_object(&out);
    write->etag = student.version;
    return answer_write(write, &out, status) ? STORE_OK : STORE_NO_MEMORY;
}

static enum store_status create_job(struct store_db *db, struct write *write)
{
    const struct store_student *student = write->data;
    const enum store_status status = student_add(db, write, student);
    answer_audit(write, "student.create", "student", student->id, student->id);
    return status == STORE_OK ? student_answer(db, write, student->id, 201) : student_number_taken(write, status);
}

void students_create(struct call *call)
{
    struct store_student *student = arena_alloc(call->arena, sizeof *student);
    struct body body;
    if (student == NULL) {
        answer_no_memory(call);
        return;
    }
    *student = (struct store_student){0};
    if (!body_begin(&body, call, student_keys, false)) {
        return;
    }
    student_read(&body, student, true);
    if (!body_end(&body)) {
        return;
    }
    uuid7_new(student->id);
    student->created = call->now;
    struct write *write = write_new(call, create_job, student);
    if (write != NULL) {
        write->location = arena_printf(call->arena, "/v1/students/%s", student->id);
        call_write(write);
    }
}

/* ---- changing ---- */

struct update {
    struct store_student student;
    const char *detail; /* the names of the fields that the body has, as JSON */
};

static bool same_text(const char *a, const char *b)
{
    return a == b || (a != NULL && b != NULL && strcmp(a, b) == 0);
}

/* The age of a child stands between the child and everybody else: only the head changes it, and only the head says that
 * somebody of known age is a child after all. False: answered. */
static bool age_may_change(struct call *call, const struct store_student *old, const struct store_student *student)
{
    const bool changed = old->junior != student->junior || old->birth_year != student->birth_year ||
                         !same_text(old->birth_date, student->birth_date);
    if (!changed || call->principal->role == STORE_HEAD ||
        !(old->junior || (old->birth_year != 0 && (student->junior || student->birth_year == 0)))) {
        return true;
    }
    exchange_problem(call->exchange, 403, "not-allowed", old->junior != student->junior ? "junior" : "birth_date",
                     "Only the head professional may change a child's date or year of birth.");
    return false;
}

/* {"fields":["birth_date","junior"]}; NULL when memory is short. */
static const char *fields_named(const struct body *body)
{
    struct json_out out;
    size_t length;
    json_out_start(&out, body->call->arena);
    json_out_object(&out, NULL);
    json_out_array(&out, "fields");
    for (size_t i = 0; student_keys[i] != NULL; i++) {
        if (tree_has(&body->in, student_keys[i])) {
            json_out_text(&out, NULL, student_keys[i]);
        }
    }
    json_out_end_array(&out);
    json_out_end_object(&out);
    return json_out_finish(&out, &length);
}

static enum store_status update_job(struct store_db *db, struct write *write)
{
    struct update *update = write->data;
    const enum store_status status = store_student_update(db, &update->student);
    answer_audit(write, "student.update", "student", update->student.id, update->student.id);
    write->audit.detail = update->detail;
    return status == STORE_OK ? student_answer(db, write, update->student.id, 200)
                              : student_number_taken(write, status);
}

/* The body put over the student as read. False: answered. */
static bool update_read(struct call *call, struct update *update)
{
    const struct store_student old = update->student;
    struct body body;
    if (!body_begin(&body, call, student_keys, false)) {
        return false;
    }
    student_read(&body, &update->student, false);
    update->detail = fields_named(&body);
    if (!body_end(&body)) {
        return false;
    }
    if (update->detail == NULL) {
        answer_no_memory(call);
        return false;
    }
    return age_may_change(call, &old, &update->student);
}

void students_update(struct call *call)
{
    struct update *update = arena_alloc(call->arena, sizeof *update);
    if (update == NULL) {
        answer_no_memory(call);
        return;
    }
    enum store_status status = store_student_get(call->db, call->student_id, call->arena, &update->student);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    if (!precondition_edit(call, update->student.version) || !update_read(call, update)) {
        return;
    }
    struct write *write = write_new(call, update_job, update);
    if (write != NULL) {
        call_write(write);
    }
}

/* The audit row says that somebody was erased, not who. */
static enum store_status erase_job(struct store_db *db, struct write *write)
{
    enum store_status status = store_student_erase(db, write->call.student_id);
    answer_audit(write, "student.erase", "student", write->call.student_id, write->call.student_id);
    return status;
}

void students_erase(struct call *call)
{
    struct write *write = write_new(call, erase_job, NULL);
    if (write != NULL) {
        write->status = 204;
        call_write(write);
    }
}
