/* See roll.h. A row is read as the JSON of a new student, by the same reader, so that it is refused for the same. */
#include "api/people/roll.h"

#include <stdlib.h>
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/heavy.h"
#include "api/people/handlers.h"
#include "api/people/student_json.h"

NAMES(roll_column, enum roll_column, ROLL_COLUMNS_NAMES);
static NAMES_PARSE(roll_column, enum roll_column, ROLL_COLUMNS_NAMES);

/* ---- reading ---- */

struct word {
    const char *as, *means;
};

/* What else than the names above a heading may say, small. */
static const struct word headings[] = {
    {"geschlecht", "sex"}, {"geburtsdatum", "birth_date"}, {"geburtsjahr", "birth_year"},
    {"größe", "height_m"}, {"height", "height_m"},         {"ziel", "wants"},
    {"trainer", "coach"},  {"einwilligung", "consent_by"}, {"mitgliedsnummer", "member_number"},
    {"e-mail", "email"},   {"telefon", "phone"},
};

static const struct word values[] = {
    {"rechts", "right"},  {"links", "left"}, {"r", "right"},  {"l", "left"}, {"weiblich", "female"},
    {"männlich", "male"}, {"w", "female"},   {"f", "female"}, {"m", "male"}, {"ja", "true"},
    {"yes", "true"},      {"nein", "false"}, {"no", "false"}, {"1", "true"}, {"0", "false"},
};

/* English capitals made small; NULL when memory is short. */
static char *small(struct arena *arena, const char *text)
{
    char *copy = arena_strdup(arena, text);
    for (char *at = copy; at != NULL && *at != '\0'; at++) {
        *at = (char)(*at >= 'A' && *at <= 'Z' ? *at + 'a' - 'A' : *at);
    }
    return copy;
}

static const char *meaning(const struct word *words, size_t count, const char *text)
{
    for (size_t i = 0; i < count; i++) {
        if (strcmp(words[i].as, text) == 0) {
            return words[i].means;
        }
    }
    return text;
}
#define MEANING(words, text) meaning(words, sizeof(words) / sizeof *(words), text)

static bool refuse(struct wire_error *error, const char *path, const char *what)
{
    const struct wire_at at = wire_key(NULL, path);
    return wire_fail(error, &at, "%s", what);
}

bool roll_head_read(const struct table *table, struct roll_head *out, struct wire_error *error)
{
    *out = (struct roll_head){.decimal_commas = table->separator == ';'};
    for (int i = 0; i < ROLL_COLUMNS; i++) {
        out->at[i] = -1;
    }
    for (int i = 0; table->count > 0 && i < table->rows[0].count; i++) {
        char name[32];
        enum roll_column column;
        const char *cell = table->rows[0].cells[i];
        const size_t length = strlen(cell);
        if (length == 0) {
            continue; /* a column without a heading is the club's own */
        }
        for (size_t k = 0; k <= length && k < sizeof name; k++) {
            name[k] = (char)(cell[k] >= 'A' && cell[k] <= 'Z' ? cell[k] + 'a' - 'A' : cell[k]);
        }
        if (length >= sizeof name || !roll_column_parse(MEANING(headings, name), &column)) {
            return refuse(error, cell,
                          "unknown column; known are name, hand, sex, birth_date, birth_year, height_m, handicap, "
                          "junior, wants, tendencies, member_number, email, phone, consent_by, coach");
        }
        if (out->at[column] >= 0) {
            return refuse(error, cell, "this column is there twice");
        }
        out->at[column] = i;
    }
    return out->at[ROLL_NAME] >= 0 ? out->at[ROLL_HAND] >= 0 || refuse(error, "hand", "this column is missing")
                                   : refuse(error, "name", "this column is missing");
}

/* Of a row that may be shorter than the first; NULL = empty. */
static const char *cell_of(const struct roll_head *head, const struct table_row *row, enum roll_column column)
{
    const int at = head->at[column];
    return at < 0 || at >= row->count || row->cells[at][0] == '\0' ? NULL : row->cells[at];
}

/* A whole number or one with a point (or a comma); text as it is when it is none, to be refused. */
static json_t *number_of(const char *cell, bool comma, struct arena *arena)
{
    char *copy = arena_strdup(arena, cell);
    char *end = NULL;
    if (copy == NULL) {
        return NULL;
    }
    char *at = comma ? strchr(copy, ',') : NULL;
    if (at != NULL) {
        *at = '.';
    }
    const bool plain = strspn(copy, "+-.0123456789") == strlen(copy);
    const double value = plain ? strtod(copy, &end) : 0;
    if (!plain || end == copy || *end != '\0') {
        return json_string(cell);
    }
    return strchr(copy, '.') == NULL ? json_integer((json_int_t)value) : json_real(value);
}

/* 2.5.2012 or 02.05.2012 as 2012-05-02. */
static const char *date_of(const char *cell, struct arena *arena)
{
    char *end = NULL;
    const long day = strtol(cell, &end, 10);
    const long month = *end == '.' && day > 0 && day < 32 ? strtol(end + 1, &end, 10) : 0;
    const long year = *end == '.' && month > 0 && month < 13 ? strtol(end + 1, &end, 10) : 0;
    return *end == '\0' && year > 1000 && year < 10000 ? arena_printf(arena, "%04ld-%02ld-%02ld", year, month, day)
                                                       : cell;
}

/* NULL when memory is short. */
static json_t *value_of(const struct roll_head *head, enum roll_column column, const char *cell, struct arena *arena)
{
    if (column == ROLL_BIRTH_YEAR || column == ROLL_HEIGHT || column == ROLL_HANDICAP) {
        return number_of(cell, head->decimal_commas, arena);
    }
    if (column == ROLL_BIRTH_DATE) {
        const char *date = date_of(cell, arena);
        return date == NULL ? NULL : json_string(date);
    }
    if (column != ROLL_HAND && column != ROLL_SEX && column != ROLL_JUNIOR) {
        return column == ROLL_CONSENT_BY ? json_pack("{s:s}", "by", cell) : json_string(cell);
    }
    const char *text = small(arena, cell);
    text = text == NULL ? NULL : MEANING(values, text);
    return text == NULL                                              ? NULL
           : column != ROLL_JUNIOR                                   ? json_string(text)
           : strcmp(text, "true") == 0 || strcmp(text, "false") == 0 ? json_boolean(text[0] == 't')
                                                                     : json_string(cell);
}

/* NULL when memory is short. */
static json_t *row_json(const struct roll_head *head, const struct table_row *row, struct arena *arena)
{
    json_t *json = json_object();
    for (int i = 0; i < ROLL_COACH; i++) {
        const enum roll_column column = (enum roll_column)i;
        const char *cell = cell_of(head, row, column);
        const char *key = column == ROLL_CONSENT_BY ? "consent" : roll_column_name(column);
        if (cell != NULL && json_object_set_new(json, key, value_of(head, column, cell, arena)) != 0) {
            json_decref(json);
            return NULL;
        }
    }
    return json;
}

bool roll_row_read(struct call *call, const struct roll_head *head, const struct table_row *row,
                   struct store_student *out, const char **coach, struct wire_error *error)
{
    struct body body = {.call = call, .in = {.arena = call->arena, .error = error}};
    *error = (struct wire_error){.path = ""};
    *out = (struct store_student){0};
    *coach = cell_of(head, row, ROLL_COACH);
    body.json = row_json(head, row, call->arena);
    if (body.json == NULL) {
        return refuse(error, "", "memory is short");
    }
    body.in.value = body.json;
    student_read(&body, out, true);
    json_decref(body.json);
    return !body.in.failed;
}

/* ---- writing ---- */

#define PAGE 200

static void number_put(struct text *out, bool has, double value)
{
    char text[32] = "";
    if (has) {
        (void)snprintf(text, sizeof text, "%.6g", value);
    }
    text_printf(out, "%s,", text); /* ours, and no formula: -2.5 stays a number */
}

static void row_put(struct text *out, const struct store_student *student)
{
    table_put(out, student->name, false);
    table_put(out, student->hand, false);
    table_put(out, student->sex, false);
    table_put(out, student->birth_date, false);
    number_put(out, student->birth_year != 0, student->birth_year);
    number_put(out, student->has_height, student->height_m);
    number_put(out, student->has_handicap, student->handicap);
    table_put(out, student->junior ? "true" : "false", false);
    table_put(out, student->wants, false);
    table_put(out, student->tendencies, false);
    table_put(out, student->member_number, false);
    table_put(out, student->email, false);
    table_put(out, student->phone, false);
    table_put(out, student->consent_by, true);
}

struct roll {
    struct text text;
    enum store_status status;
};

/* On a heavy thread: everybody in lessons, each page in memory of its own. */
static void roll_make(struct call *call, void *data)
{
    struct roll *roll = data;
    char after[UUID_TEXT] = "";
    bool more = true;
    text_start(&roll->text, call->arena, TEXT_NO_LIMIT);
    text_put(&roll->text, "\xef\xbb\xbf");
    for (int i = 0; i < ROLL_COACH; i++) {
        text_put(&roll->text, roll_column_name((enum roll_column)i));
        text_put(&roll->text, i + 1 < ROLL_COACH ? "," : "\r\n");
    }
    while (roll->status == STORE_OK && more) {
        const struct store_page page = {.after = after, .limit = PAGE, .archived = -1};
        struct store_student_list list = {.count = 0};
        struct arena *own = arena_new(0);
        roll->status = own == NULL                         ? STORE_NO_MEMORY
                       : atomic_load(&call->api->refusing) ? STORE_CLOSED
                                                           : store_student_list(call->db, &page, own, &list);
        for (size_t i = 0; roll->status == STORE_OK && i < list.count; i++) {
            row_put(&roll->text, &list.items[i]);
            memcpy(after, list.items[i].id, UUID_TEXT);
        }
        more = list.more;
        arena_free(own);
    }
}

static void roll_reply(struct call *call, enum store_status status, void *data)
{
    size_t length;
    struct roll *roll = data;
    const char *text = text_take(&roll->text, &length);
    status = status == STORE_OK ? roll->status : status;
    if (status != STORE_OK || text == NULL) {
        call_problem_store(call, status != STORE_OK ? status : STORE_NO_MEMORY);
        return;
    }
    exchange_add_header(call->exchange, "Content-Disposition", "attachment; filename=\"students.csv\"");
    exchange_reply(call->exchange, 200, "text/csv; charset=utf-8", text, length);
}

static enum store_status roll_job(struct store_db *db, struct write *write)
{
    (void)db;
    answer_audit(write, "student.export", "list", "", "");
    return STORE_OK;
}

static void roll_begin(struct write *write)
{
    (void)call_heavy(&write->call, roll_make, roll_reply, write->data, NULL);
}

/* It is made when it is on record that it was asked for. */
void roll_export(struct call *call)
{
    struct roll *roll = arena_alloc(call->arena, sizeof *roll);
    struct write *write = roll == NULL ? NULL : write_new(call, roll_job, roll);
    if (roll == NULL) {
        answer_no_memory(call);
    } else if (write != NULL) {
        write->reply = roll_begin;
        call_write(write);
    }
}
