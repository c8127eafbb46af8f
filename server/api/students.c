/* The club's students: a coach sees those whose team they are on, the head everybody. */
#include <string.h>

#include "api/answer.h"
#include "api/handlers.h"
#include "api/student_json.h"

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
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    json_out_array(&out, "students");
    for (size_t i = 0; i < list.count; i++) {
        json_out_object(&out, NULL);
        student_json(&out, &list.items[i]);
        json_out_end_object(&out);
    }
    json_out_end_array(&out);
    json_out_end_object(&out);
    call_link_next(call, list.more, list.count > 0 ? list.items[list.count - 1].id : NULL);
    answer_json(call, &out, 0);
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
    answer_json(call, &out, student.version);
}

static bool student_answer(struct write *write, const struct store_student *student, int status)
{
    struct json_out out;
    json_out_start(&out, write->call.arena);
    json_out_object(&out, NULL);
    student_json(&out, student);
    json_out_end_object(&out);
    write->etag = student->version;
    return answer_write(write, &out, status);
}

/* A coach's new student is theirs: otherwise nobody but the head could see it. */
static enum store_status create_job(struct store_db *db, struct write *write)
{
    const struct store_student *student = write->data;
    const struct principal *principal = write->call.principal;
    enum store_status status = store_student_insert(db, student);
    if (status == STORE_OK && principal->role == STORE_COACH) {
        status = store_team_add(db, student->id, principal->account_id, write->call.now);
    }
    answer_audit(write, "student.create", "student", student->id, student->id);
    return status;
}

void students_create(struct call *call)
{
    struct store_student *student = arena_alloc(call->arena, sizeof *student);
    struct body body;
    if (student == NULL) {
        answer_no_memory(call);
        return;
    }
    if (!body_begin(&body, call, student_keys, false)) {
        return;
    }
    student_read(&body, student, true);
    if (!body_end(&body)) {
        return;
    }
    uuid7_new(student->id);
    student->created = call->now;
    student->version = 1;
    struct write *write = write_new(call, create_job, student);
    if (write == NULL) {
        return;
    }
    write->location = arena_printf(call->arena, "/v1/students/%s", student->id);
    if (!student_answer(write, student, 201)) {
        answer_no_memory(call);
        return;
    }
    call_write(write);
}

static enum store_status update_job(struct store_db *db, struct write *write)
{
    struct store_student *student = write->data;
    enum store_status status = store_student_update(db, student);
    answer_audit(write, "student.update", "student", student->id, student->id);
    if (status == STORE_OK && !student_answer(write, student, 200)) {
        return STORE_NO_MEMORY;
    }
    return status;
}

void students_update(struct call *call)
{
    struct store_student *student = arena_alloc(call->arena, sizeof *student);
    struct body body;
    int64_t version;
    if (student == NULL) {
        answer_no_memory(call);
        return;
    }
    if (!call_if_match(call, &version)) {
        return;
    }
    enum store_status status = store_student_get(call->db, call->student_id, call->arena, student);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    if (!body_begin(&body, call, student_keys, false)) {
        return;
    }
    student->version = version;
    student_read(&body, student, false);
    if (!body_end(&body)) {
        return;
    }
    struct write *write = write_new(call, update_job, student);
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
