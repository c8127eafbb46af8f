/* The people who may sign in. A password that the head gives or lets the server make up is temporary. */
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/body.h"
#include "api/frame/precondition.h"
#include "api/people/account_json.h"
#include "api/people/family.h"
#include "api/people/handlers.h"
#include "api/people/own_password.h"
#include "auth/sign_in_name.h"
#include "store/people/second_factor.h"
#include "store/people/session.h"

#define STUDENTS_MAX 50

struct person {
    struct store_account account;
    char key[SIGN_IN_KEY_TEXT];
    char invented[PASSWORD_INVENTED_TEXT]; /* "" = none was made up */
    char hash[PASSWORD_HASH_TEXT];
    const char *password; /* NULL = unchanged */
    bool disabled, disabled_given, students_given;
    bool factor_taken; /* the second factor is taken away */
    char students[STUDENTS_MAX][UUID_TEXT];
    int student_count;
};

void accounts_list(struct call *call)
{
    struct store_page page;
    struct store_account_list list;
    struct json_out out;
    if (!call_page(call, &page)) {
        return;
    }
    enum store_status status = store_account_list(call->db, &page, call->arena, &list);
    if (!answer_list_begin(call, &out, status, "accounts")) {
        return;
    }
    for (size_t i = 0; status == STORE_OK && i < list.count; i++) {
        json_out_object(&out, NULL);
        status = account_json(&out, call->db, call->arena, &list.items[i]);
        json_out_end_object(&out);
    }
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    answer_list_end(call, &out, ANSWER_NEXT(list));
}

void accounts_get(struct call *call)
{
    const char *id = exchange_capture(call->exchange, 0);
    struct store_account account;
    struct json_out out;
    enum store_status status =
        uuid_valid(id) ? store_account_get(call->db, id, call->arena, &account) : STORE_NOT_FOUND;
    if (status == STORE_OK) {
        status = family_reach(call->db, call->principal->account_id, &account, call->arena);
    }
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    status = status == STORE_OK ? account_json(&out, call->db, call->arena, &account) : status;
    json_out_end_object(&out);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    answer_json_moving(call, &out, account.version);
}

/* ---- reading ---- */

static bool take_student(struct tree *tree, int index, void *to)
{
    struct person *person = to;
    const char *id = tree_here(tree);
    if (id == NULL || !uuid_valid(id)) {
        return tree_refuse_at(tree, tree->at->up, "entry %d must be an id", index);
    }
    memcpy(person->students[index], id, UUID_TEXT);
    return true;
}

static void read_students(struct body *body, struct person *person)
{
    if (body->in.failed || !tree_has(&body->in, "students")) {
        return;
    }
    _Static_assert(STUDENTS_MAX == 50, "the sentence says so");
    person->students_given = true;
    if (person->account.role != STORE_GUARDIAN) {
        tree_refuse(&body->in, "students", "are only a guardian's");
        return;
    }
    tree_list(&body->in, "students", true, STUDENTS_MAX, "must be a list of at most 50 ids", take_student, person,
              &person->student_count);
}

static void read_role(struct body *body, struct person *person, bool required)
{
    const char *role = NULL;
    tree_text(&body->in, "role", required, 20, &role);
    if (role != NULL && !store_role_parse(role, &person->account.role)) {
        tree_refuse(&body->in, "role", "must be head, coach, student or guardian");
    }
}

static void read_password(struct body *body, struct person *person)
{
    if (person->password != NULL && !body->in.failed) {
        enum password_fault fault = own_password_check(body->call, person->password, &person->account);
        if (fault != PASSWORD_FINE) {
            tree_refuse(&body->in, "password", "%s", password_fault_text(fault));
        }
    }
}

/* A coach makes accounts for families alone, and a link lets them choose their own password. False: answered. */
static bool read_by_coach(struct body *body, const struct person *person)
{
    if (!body->in.failed && person->account.role < STORE_STUDENT) {
        (void)body_end(body);
        exchange_problem(body->call->exchange, 403, "not-allowed", "role",
                         "A coach makes accounts for students and guardians.");
        return false;
    }
    if (person->password != NULL) {
        tree_refuse(&body->in, "password", "is the family's own to choose: make a link into the account");
    }
    if (!body->in.failed && person->account.role == STORE_GUARDIAN && person->student_count == 0) {
        tree_refuse(&body->in, "students", "must name a junior for whom the guardian stands");
    }
    return true;
}

static bool read_new(struct call *call, struct person *person)
{
    static const char *const keys[] = {"role", "sign_in", "name", "password", "student_id", "students", NULL};
    struct store_account *account = &person->account;
    struct body body;
    if (!body_begin(&body, call, keys, false)) {
        return false;
    }
    read_role(&body, person, true);
    tree_name(&body.in, "sign_in", true, SIGN_IN_NAME_MAX, &account->sign_in);
    tree_name(&body.in, "name", true, 200, &account->name);
    tree_text(&body.in, "password", false, PASSWORD_LENGTH_MAX, &person->password);
    tree_uuid(&body.in, "student_id", false, account->student_id);
    read_students(&body, person);
    if (!body.in.failed && !sign_in_name_key(account->sign_in, person->key)) {
        tree_refuse(&body.in, "sign_in", "must not begin or end with a space");
    }
    read_password(&body, person);
    if (call->principal->role == STORE_COACH && !read_by_coach(&body, person)) {
        return false;
    }
    if (!body.in.failed && (account->role == STORE_STUDENT) != (account->student_id[0] != '\0')) {
        tree_refuse(&body.in, "student_id", "must be there for a student's account, and for no other");
    }
    return body_end(&body);
}

/* ---- writing ---- */

/* The answer; with the made-up password, which is shown this once and not kept for repeated requests. */
static enum store_status person_answer(struct store_db *db, struct write *write, int status)
{
    struct person *person = write->data;
    const bool head = write->call.principal->role == STORE_HEAD; /* a coach makes a link */
    for (int secret = person->invented[0] != '\0'; secret >= 0; secret--) {
        struct json_out out;
        json_out_start(&out, write->call.arena);
        json_out_object(&out, NULL);
        enum store_status read = account_json(&out, db, write->call.arena, &person->account);
        if (person->invented[0] != '\0') {
            json_out_text(&out, "password", secret == 1 && head ? person->invented : NULL);
        }
        json_out_end_object(&out);
        const char *shown = write->json;
        size_t shown_length = write->json_length;
        if (read != STORE_OK || !answer_write(write, &out, status)) {
            return read != STORE_OK ? read : STORE_NO_MEMORY;
        }
        if (secret == 0 && person->invented[0] != '\0') {
            write->kept_json = write->json;
            write->json = shown;
            write->json_length = shown_length;
        }
    }
    write->etag = person->account.version;
    return STORE_OK;
}

static enum store_status link_students(struct store_db *db, struct write *write)
{
    const struct person *person = write->data;
    struct store_id_list old = {0};
    enum store_status status = store_guardian_students(db, person->account.id, write->call.arena, &old);
    for (size_t i = 0; status == STORE_OK && i < old.count; i++) {
        bool stays = false;
        for (int k = 0; k < person->student_count; k++) {
            stays = stays || strcmp(person->students[k], old.items[i]) == 0;
        }
        if (!stays) {
            status = store_guardian_remove(db, person->account.id, old.items[i]);
        }
    }
    for (int i = 0; status == STORE_OK && i < person->student_count; i++) {
        struct store_student student;
        status = store_student_get(db, person->students[i], write->call.arena, &student);
        if (status == STORE_OK && !student.junior) {
            return write_refuse(write, 422, "invalid", "students", "students: a guardian stands for juniors only.");
        }
        if (status == STORE_OK) {
            status = store_guardian_add(db, person->account.id, person->students[i], write->call.now);
        }
        if (status == STORE_NOT_FOUND) {
            return write_refuse(write, 422, "invalid", "students", "students: no such student.");
        }
    }
    return status;
}

/* Somebody else's students are nobody whom a coach knows. */
static enum store_status own_students(struct store_db *db, struct write *write)
{
    const struct person *person = write->data;
    const char *coach = write->call.principal->account_id;
    const bool student = person->account.role == STORE_STUDENT;
    enum store_status status = student ? store_team_may(db, coach, person->account.student_id) : STORE_OK;
    for (int i = 0; status == STORE_OK && i < person->student_count; i++) {
        status = store_team_may(db, coach, person->students[i]);
    }
    if (status == STORE_NOT_FOUND) {
        return student ? write_refuse(write, 422, "invalid", "student_id", "student_id: no such student.")
                       : write_refuse(write, 422, "invalid", "students", "students: no such student.");
    }
    return status;
}

static enum store_status create_job(struct store_db *db, struct write *write)
{
    struct person *person = write->data;
    enum store_status status = write->call.principal->role == STORE_COACH ? own_students(db, write) : STORE_OK;
    status = status == STORE_OK ? store_account_insert(db, &person->account, person->key) : status;
    if (status == STORE_CONFLICT) {
        return write_refuse(write, 409, "conflict", "sign_in",
                            "sign_in: somebody has this name already, or the student has an account.");
    }
    if (status == STORE_NOT_FOUND) {
        return write_refuse(write, 422, "invalid", "student_id", "student_id: no such student.");
    }
    if (status == STORE_OK && person->students_given) {
        status = link_students(db, write);
    }
    person->account.version = 1;
    answer_audit(write, "account.create", "account", person->account.id, person->account.student_id);
    write->location = arena_printf(write->call.arena, "/v1/accounts/%s", person->account.id);
    return status == STORE_OK ? person_answer(db, write, 201) : status;
}

/* With a row of its own in the audit, for it makes the account easier to get into. */
static enum store_status remove_factor(struct store_db *db, struct write *write)
{
    struct person *person = write->data;
    struct store_audit audit = {.at = write->call.now, .action = "second_factor.off", .object_kind = "account"};
    enum store_status status = store_second_factor_remove(db, person->account.id);
    if (status == STORE_NOT_FOUND) {
        status = STORE_OK;
    }
    memcpy(audit.account_id, write->call.principal->account_id, UUID_TEXT);
    memcpy(audit.object_id, person->account.id, UUID_TEXT);
    memcpy(audit.student_id, person->account.student_id, UUID_TEXT);
    person->account.second_factor = false;
    return status == STORE_OK ? store_audit_add(db, &audit) : status;
}

static enum store_status update_job(struct store_db *db, struct write *write)
{
    struct person *person = write->data;
    struct store_account *account = &person->account;
    int64_t heads = 0;
    enum store_status status = store_account_update(db, account);
    if (status == STORE_OK) {
        status = store_account_count_heads(db, &heads);
    }
    if (status == STORE_OK && heads == 0) {
        return write_refuse(write, 409, "last-head", "role", "The last head professional must stay.");
    }
    if (status == STORE_OK && person->students_given) {
        status = link_students(db, write);
    }
    if (status == STORE_OK && person->hash[0] != '\0') {
        status = store_account_set_password(db, account->id, person->hash, true);
        if (status == STORE_OK) {
            status = store_session_revoke_all(db, account->id, NULL, write->call.now);
        }
        if (status == STORE_OK) {
            status = store_account_get(db, account->id, write->call.arena, account);
        }
    }
    if (status == STORE_OK && person->factor_taken) {
        status = remove_factor(db, write);
    }
    answer_audit(write, "account.update", "account", account->id, account->student_id);
    return status == STORE_OK ? person_answer(db, write, 200) : status;
}

static void create_hashed(struct call *call, bool right, const char *new_hash, void *data)
{
    struct person *person = data;
    struct write *write = right ? write_new(call, create_job, person) : NULL;
    if (write == NULL) {
        answer_no_memory(call);
        return;
    }
    memcpy(person->hash, new_hash, sizeof person->hash);
    person->account.password_hash = person->hash;
    person->account.password_temporary = true;
    call_write(write);
}

void accounts_create(struct call *call)
{
    struct person *person = arena_alloc(call->arena, sizeof *person);
    if (person == NULL) {
        answer_no_memory(call);
        return;
    }
    if (!read_new(call, person)) {
        return;
    }
    uuid7_new(person->account.id);
    person->account.created = call->now;
    if (person->password == NULL) {
        password_invent_text(person->invented);
        person->password = person->invented;
    }
    call_hash(call, person->password, create_hashed, person);
}

/* ---- changing ---- */

/* Only its owner turns one on; false takes it away, and may be said when there is none. */
static void read_second_factor(struct body *body, struct person *person)
{
    bool wanted = person->account.second_factor;
    tree_boolean(&body->in, "second_factor", false, &wanted);
    if (wanted && !person->account.second_factor) {
        tree_refuse(&body->in, "second_factor", "can only be turned on by whom it belongs to");
    }
    person->factor_taken = person->account.second_factor && !wanted;
}

static bool read_change(struct call *call, struct person *person)
{
    static const char *const keys[] = {"name", "role", "disabled", "students", "new_password", "second_factor", NULL};
    struct store_account *account = &person->account;
    const enum store_role before = account->role;
    bool fresh = false;
    bool disabled = account->disabled != 0;
    struct body body;
    if (!body_begin(&body, call, keys, false)) {
        return false;
    }
    tree_name(&body.in, "name", false, 200, &account->name);
    read_role(&body, person, false);
    if (account->role != before && (before >= STORE_STUDENT || account->role >= STORE_STUDENT)) {
        tree_refuse(&body.in, "role", "can only change between head and coach");
    }
    tree_boolean(&body.in, "disabled", false, &disabled);
    tree_boolean(&body.in, "new_password", false, &fresh);
    read_second_factor(&body, person);
    read_students(&body, person);
    if (disabled != (account->disabled != 0)) {
        account->disabled = disabled ? call->now : 0;
    }
    if (fresh) {
        password_invent_text(person->invented);
    }
    return body_end(&body);
}

static void update_write(struct call *call, struct person *person)
{
    struct write *write = write_new(call, update_job, person);
    if (write != NULL) {
        call_write(write);
    }
}

static void update_hashed(struct call *call, bool right, const char *new_hash, void *data)
{
    struct person *person = data;
    if (!right) {
        answer_no_memory(call);
        return;
    }
    memcpy(person->hash, new_hash, sizeof person->hash);
    update_write(call, person);
}

void accounts_update(struct call *call)
{
    const char *id = exchange_capture(call->exchange, 0);
    struct person *person = arena_alloc(call->arena, sizeof *person);
    if (person == NULL) {
        answer_no_memory(call);
        return;
    }
    enum store_status status =
        uuid_valid(id) ? store_account_get(call->db, id, call->arena, &person->account) : STORE_NOT_FOUND;
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    if (!precondition_edit(call, person->account.version) || !read_change(call, person)) {
        return;
    }
    if (person->invented[0] != '\0') {
        call_hash(call, person->invented, update_hashed, person);
    } else {
        update_write(call, person);
    }
}
