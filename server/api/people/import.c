/* Students out of a spreadsheet: every bad row is named, whoever may be there already is shown, and all of them come in
 * one write or none. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/heavy.h"
#include "api/people/handlers.h"
#include "api/people/roll.h"
#include "api/people/student_add.h"
#include "auth/sign_in_name.h"
#include "wire/json/out.h"

#define ROWS_MAX 5000
#define CELLS_MAX 40
#define SHOWN_MAX 200 /* of bad rows, and of doubles */
#define PAGE 200

/* Somebody of the file or of the club, to find who is there twice. */
struct person {
    const char *key; /* the name, small, with single spaces */
    char id[UUID_TEXT];
    int row; /* 0 = of the club */
    int year;
    const char *date;
    const char *number; /* the club's own; NULL = none */
};

struct incomer {
    int row;
    struct store_student student;
    char coach[UUID_TEXT]; /* "" = none */
    const struct person *double_of;
};

struct bad {
    int row;
    struct wire_error error;
};

struct import {
    bool dry, skip;
    enum store_status status;
    struct wire_error error; /* of the table as a whole; what[0] = '\0': it can be read */
    int rows;
    struct incomer *incomers;
    int count;
    struct bad *bad;
    int bad_count;
    int doubles;
};

/* ---- who is there twice ---- */

/* Letters of English made small, spaces single. */
static const char *key_of(struct arena *arena, const char *name)
{
    char *key = arena_strdup(arena, name);
    char *to = key;
    for (const char *at = key; at != NULL && *at != '\0'; at++) {
        if (*at != ' ' || (to > key && to[-1] != ' ')) {
            *to++ = (char)(*at >= 'A' && *at <= 'Z' ? *at + 'a' - 'A' : *at);
        }
    }
    if (key != NULL) {
        to -= to > key && to[-1] == ' ';
        *to = '\0';
    }
    return key;
}

static struct person person_of(struct arena *arena, const struct store_student *student, int row)
{
    struct person person = {.key = key_of(arena, student->name),
                            .row = row,
                            .year = student->birth_year,
                            .date = student->birth_date == NULL ? NULL : arena_strdup(arena, student->birth_date),
                            .number =
                                student->member_number == NULL ? NULL : arena_strdup(arena, student->member_number)};
    memcpy(person.id, student->id, UUID_TEXT);
    return person;
}

static int person_order(const void *left, const void *right)
{
    const struct person *a = left;
    const struct person *b = right;
    const int order = strcmp(a->key, b->key);
    return order != 0 ? order : a->row - b->row;
}

/* Those without a number first. */
static int number_order(const void *left, const void *right)
{
    const struct person *a = left;
    const struct person *b = right;
    const int order = strcmp(a->number == NULL ? "" : a->number, b->number == NULL ? "" : b->number);
    return order != 0 ? order : a->row - b->row;
}

/* Of one name: the same as far as their births are known. */
static bool same_birth(const struct person *a, const struct person *b)
{
    return a->date != NULL && b->date != NULL ? strcmp(a->date, b->date) == 0
                                              : a->year == 0 || b->year == 0 || a->year == b->year;
}

/* Everybody of the club, then those of the file. */
static enum store_status people_read(struct call *call, const struct import *import, struct person **out, size_t *count)
{
    size_t have = 0;
    char after[UUID_TEXT] = "";
    enum store_status status = STORE_OK;
    bool more = true;
    *out = NULL;
    *count = 0;
    while (status == STORE_OK && more) {
        const struct store_page page = {.after = after, .limit = PAGE};
        struct store_student_list list = {.count = 0};
        struct arena *own = arena_new(0);
        struct person *grown = *out;
        if (*count + PAGE + (size_t)import->count > have) {
            const size_t next = 2 * have + PAGE + (size_t)import->count;
            grown = arena_resize(call->arena, *out, have * sizeof *grown, next * sizeof *grown);
            have = next;
            *out = grown;
        }
        status = own == NULL || grown == NULL ? STORE_NO_MEMORY : store_student_list(call->db, &page, own, &list);
        for (size_t i = 0; status == STORE_OK && i < list.count; i++) {
            grown[*count] = person_of(call->arena, &list.items[i], 0);
            status = grown[(*count)++].key == NULL ? STORE_NO_MEMORY : STORE_OK;
            memcpy(after, list.items[i].id, UUID_TEXT);
        }
        more = list.more;
        arena_free(own);
    }
    for (int i = 0; status == STORE_OK && i < import->count; i++) {
        (*out)[*count] = person_of(call->arena, &import->incomers[i].student, import->incomers[i].row);
        status = (*out)[(*count)++].key == NULL ? STORE_NO_MEMORY : STORE_OK;
    }
    return status;
}

static struct incomer *incomer_at(const struct import *import, int row)
{
    for (int i = 0; i < import->count; i++) {
        if (import->incomers[i].row == row) {
            return &import->incomers[i];
        }
    }
    return NULL;
}

static void double_is(const struct import *import, const struct person *person, const struct person *of)
{
    struct incomer *incomer = person->row == 0 ? NULL : incomer_at(import, person->row);
    if (incomer != NULL) {
        incomer->double_of = of;
    }
}

/* Of one name and birth, or of one number. people stand where they are: an incomer points at them. */
static enum store_status numbers_find(struct call *call, struct import *import, const struct person *people,
                                      size_t count)
{
    struct person *sorted = arena_alloc(call->arena, count * sizeof *sorted);
    if (sorted == NULL) {
        return STORE_NO_MEMORY;
    }
    memcpy(sorted, people, count * sizeof *sorted);
    qsort(sorted, count, sizeof *sorted, number_order);
    for (size_t i = 1; i < count; i++) {
        if (sorted[i].number != NULL && sorted[i - 1].number != NULL &&
            strcmp(sorted[i].number, sorted[i - 1].number) == 0) {
            double_is(import, &sorted[i], &sorted[i - 1]);
        }
    }
    return STORE_OK;
}

static enum store_status doubles_find(struct call *call, struct import *import)
{
    struct person *people;
    size_t count;
    enum store_status status = people_read(call, import, &people, &count);
    if (status != STORE_OK || count == 0) {
        return status;
    }
    qsort(people, count, sizeof *people, person_order);
    for (size_t i = 1; i < count; i++) {
        for (size_t k = i; people[i].row != 0 && k > 0 && strcmp(people[k - 1].key, people[i].key) == 0; k--) {
            if (same_birth(&people[k - 1], &people[i])) {
                double_is(import, &people[i], &people[k - 1]);
            }
        }
    }
    status = numbers_find(call, import, people, count);
    for (int i = 0; i < import->count; i++) {
        import->doubles += import->incomers[i].double_of != NULL;
    }
    return status;
}

/* ---- reading ---- */

static enum store_status coach_find(struct call *call, const char *typed, char id[UUID_TEXT], struct wire_error *error)
{
    char key[SIGN_IN_KEY_TEXT];
    struct store_account account;
    const struct wire_at at = wire_key(NULL, "coach");
    const enum store_status status = !sign_in_name_key(typed, key)
                                         ? STORE_NOT_FOUND
                                         : store_account_by_sign_in(call->db, key, call->arena, &account);
    if (status == STORE_OK && account.disabled == 0 && (account.role == STORE_COACH || account.role == STORE_HEAD)) {
        memcpy(id, account.id, UUID_TEXT);
    } else if (status == STORE_OK || status == STORE_NOT_FOUND) {
        (void)wire_fail(error, &at, "no coach signs in by this name");
        return STORE_NOT_FOUND;
    }
    return status;
}

static enum store_status row_take(struct call *call, struct import *import, const struct roll_head *head,
                                  const struct table_row *row)
{
    const char *coach;
    struct bad *bad = &import->bad[import->bad_count];
    struct incomer *incomer = &import->incomers[import->count];
    *incomer = (struct incomer){.row = row->number};
    bool good = roll_row_read(call, head, row, &incomer->student, &coach, &bad->error);
    if (good && coach != NULL) {
        const enum store_status status = coach_find(call, coach, incomer->coach, &bad->error);
        if (status != STORE_OK && status != STORE_NOT_FOUND) {
            return status;
        }
        good = status == STORE_OK;
    }
    bad->row = row->number;
    import->bad_count += !good;
    import->count += good;
    return STORE_OK;
}

/* On a heavy thread. */
static void import_read(struct call *call, void *data)
{
    struct import *import = data;
    struct table table;
    struct roll_head head;
    size_t length;
    const char *body = exchange_body(call->exchange, &length);
    if (!table_read(body, length, ROWS_MAX + 1, CELLS_MAX, call->arena, &table, import->error.what) ||
        !roll_head_read(&table, &head, &import->error)) {
        return;
    }
    import->rows = table.count - 1;
    import->incomers = arena_alloc(call->arena, (size_t)table.count * sizeof *import->incomers);
    import->bad = arena_alloc(call->arena, (size_t)table.count * sizeof *import->bad);
    import->status = import->incomers == NULL || import->bad == NULL ? STORE_NO_MEMORY : STORE_OK;
    for (int i = 1; import->status == STORE_OK && i < table.count; i++) {
        import->status = row_take(call, import, &head, &table.rows[i]);
    }
    if (import->status == STORE_OK) {
        import->status = doubles_find(call, import);
    }
}

/* ---- answering ---- */

static int coming(const struct import *import)
{
    return import->count - import->doubles;
}

static void bad_write(struct json_out *out, const struct import *import)
{
    json_out_array(out, "bad");
    for (int i = 0; i < import->bad_count && i < SHOWN_MAX; i++) {
        json_out_object(out, NULL);
        answer_integer(out, "row", import->bad[i].row);
        json_out_text(out, "column", import->bad[i].error.path);
        json_out_text(out, "what", import->bad[i].error.what);
        json_out_end_object(out);
    }
    json_out_end_array(out);
}

static void doubles_write(struct json_out *out, const struct import *import)
{
    int shown = 0;
    json_out_array(out, "doubles");
    for (int i = 0; i < import->count && shown < SHOWN_MAX; i++) {
        const struct person *of = import->incomers[i].double_of;
        if (of == NULL) {
            continue;
        }
        json_out_object(out, NULL);
        answer_integer(out, "row", import->incomers[i].row);
        json_out_text(out, "name", import->incomers[i].student.name);
        if (of->row != 0) {
            answer_integer(out, "of_row", of->row);
        } else {
            json_out_null(out, "of_row");
        }
        answer_id(out, "student_id", of->id);
        json_out_end_object(out);
        shown++;
    }
    json_out_end_array(out);
}

static void import_write(struct json_out *out, const struct import *import)
{
    json_out_object(out, NULL);
    json_out_bool(out, "dry_run", import->dry);
    answer_integer(out, "rows", import->rows);
    answer_integer(out, "students", coming(import));
    answer_integer(out, "bad_rows", import->bad_count);
    answer_integer(out, "double_rows", import->doubles);
    bad_write(out, import);
    doubles_write(out, import);
    json_out_end_object(out);
}

static enum store_status audit_one(struct store_db *db, const struct write *write, const char *student_id)
{
    struct store_audit audit = {.at = write->call.now, .action = "student.create", .object_kind = "student"};
    memcpy(audit.account_id, write->call.principal->account_id, UUID_TEXT);
    memcpy(audit.object_id, student_id, UUID_TEXT);
    memcpy(audit.student_id, student_id, UUID_TEXT);
    return store_audit_add(db, &audit);
}

static enum store_status import_job(struct store_db *db, struct write *write)
{
    const struct import *import = write->data;
    enum store_status status = STORE_OK;
    for (int i = 0; i < import->count && status == STORE_OK; i++) {
        const struct incomer *incomer = &import->incomers[i];
        if (incomer->double_of != NULL) {
            continue;
        }
        status = student_number_taken(write, student_add(db, write, &incomer->student));
        if (status == STORE_OK && incomer->coach[0] != '\0') {
            status = store_team_add(db, incomer->student.id, incomer->coach, write->call.now);
        }
        status = status == STORE_OK ? audit_one(db, write, incomer->student.id) : status;
    }
    return status;
}

static void import_keep(struct call *call, struct import *import)
{
    struct json_out out;
    struct write *write = write_new(call, import_job, import);
    if (write == NULL) {
        return;
    }
    for (int i = 0; i < import->count; i++) {
        uuid7_new(import->incomers[i].student.id);
        import->incomers[i].student.created = call->now;
    }
    json_out_start(&out, call->arena);
    import_write(&out, import);
    answer_audit(write, "student.import", "list", "", "");
    if (!answer_write(write, &out, 201)) {
        answer_no_memory(call);
        return;
    }
    call_write(write);
}

static void import_reply(struct call *call, enum store_status status, void *data)
{
    struct json_out out;
    struct import *import = data;
    const struct wire_error *error = &import->error;
    status = status == STORE_OK ? import->status : status;
    if (status != STORE_OK) {
        call_problem_store(call, status);
    } else if (error->what[0] != '\0') {
        exchange_problem(call->exchange, 422, "invalid-table", error->path, "%s%s%s.", error->path,
                         error->path[0] == '\0' ? "" : ": ", error->what);
    } else if (import->dry) {
        json_out_start(&out, call->arena);
        import_write(&out, import);
        answer_json(call, &out, 0);
    } else if (import->bad_count > 0) {
        exchange_problem(call->exchange, 422, "invalid-rows", import->bad[0].error.path,
                         "Nothing was imported: %d rows can't be, the first of them row %d (%s: %s). Ask with "
                         "?dry_run=true for all of them.",
                         import->bad_count, import->bad[0].row, import->bad[0].error.path, import->bad[0].error.what);
    } else if (import->doubles > 0 && !import->skip) {
        exchange_problem(call->exchange, 409, "doubles", NULL,
                         "Nothing was imported: %d rows may be of students that are there already. Look at them with "
                         "?dry_run=true; ?doubles=skip leaves them out.",
                         import->doubles);
    } else {
        import_keep(call, import);
    }
}

/* ?name=: absent or off, or on. False: answered. */
static bool choice_read(struct call *call, const char *name, const char *on, const char *off, bool *out)
{
    const char *text = exchange_query(call->exchange, name);
    *out = text != NULL && strcmp(text, on) == 0;
    if (text == NULL || *out || strcmp(text, off) == 0) {
        return true;
    }
    exchange_problem(call->exchange, 422, "invalid", name, "%s must be %s or %s.", name, on, off);
    return false;
}

void students_import(struct call *call)
{
    struct import *import = arena_alloc(call->arena, sizeof *import);
    if (import == NULL) {
        answer_no_memory(call);
    } else if (choice_read(call, "dry_run", "true", "false", &import->dry) &&
               choice_read(call, "doubles", "skip", "refuse", &import->skip)) {
        (void)call_heavy(call, import_read, import_reply, import, NULL);
    }
}
