/* Students, their teams, and forgetting a student for good. */
#include "store/people/student.h"

#include "store/engine/internal.h"
#include "store/people/ledger.h"
#include "store/people/link.h"
#include "store/people/membership.h"

#define COLUMNS                                                                                                        \
    "SELECT s.id, s.name, s.hand, s.sex, s.birth_year, s.height_m, s.handicap, s.tendencies, s.pain, s.pain_note, "    \
    "s.wants, s.created, s.archived, s.version, s.birth_date, s.adult_from, " SQL_NOW ", c.id, c.said_by, "            \
    "c.given_at, c.withdrawn_at, c.expires, c.as_junior "

enum {
    INSERT,
    GET,
    UPDATE,
    EXISTS,
    LIST,
    LIST_TEAM,
    LAST_GUARDIAN,
    ERASE_OWN_ANSWERS,
    ERASE_DETAILS,
    ERASE,
    TEAM_ADD,
    TEAM_REMOVE,
    TEAM_MAY,
    TEAM_LIST,
    STATEMENTS
};

static const char *const sql[STATEMENTS] = {
    [INSERT] = "INSERT INTO student (id, name, hand, sex, birth_year, height_m, handicap, tendencies, pain, pain_note, "
               "wants, junior, birth_date, archived, created) "
               "VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15)",
    [GET] = COLUMNS "FROM student AS s " SQL_CONSENT_PICTURES "WHERE s.id = ?1",
    [UPDATE] = "UPDATE student SET name = ?2, hand = ?3, sex = ?4, birth_year = ?5, height_m = ?6, handicap = ?7, "
               "tendencies = ?8, pain = ?9, pain_note = ?10, wants = ?11, junior = ?12, birth_date = ?13, "
               "archived = ?14, version = version + 1 WHERE id = ?1 AND version = ?15",
    [EXISTS] = "SELECT 1 FROM student WHERE id = ?1",
    [LIST] = COLUMNS "FROM student AS s " SQL_CONSENT_PICTURES "WHERE s.id > ?1 ORDER BY s.id LIMIT ?2",
    [LIST_TEAM] = COLUMNS "FROM team AS t CROSS JOIN student AS s ON s.id = t.student_id " SQL_CONSENT_PICTURES
                          "WHERE t.account_id = ?3 AND t.student_id > ?1 ORDER BY t.student_id LIMIT ?2",
    /* one of the guardians of ?1 who stand for nobody else */
    [LAST_GUARDIAN] = ("SELECT g.account_id FROM guardian AS g CROSS JOIN account AS a ON a.id = g.account_id "
                       "WHERE g.student_id = ?1 AND a.role = 'guardian' AND NOT EXISTS (SELECT 1 FROM guardian AS o "
                       "WHERE o.account_id = g.account_id AND o.student_id <> ?1) LIMIT 1"),
    [ERASE_OWN_ANSWERS] = "DELETE FROM idempotency WHERE principal IN (SELECT id FROM account WHERE student_id = ?1)",
    [ERASE_DETAILS] = "UPDATE audit SET detail = NULL WHERE student_id = ?1 AND detail IS NOT NULL",
    [ERASE] = "DELETE FROM student WHERE id = ?1",
    [TEAM_ADD] = ("INSERT INTO team (account_id, student_id, created) VALUES (?1, ?2, ?3) "
                  "ON CONFLICT (account_id, student_id) DO NOTHING"),
    [TEAM_REMOVE] = "DELETE FROM team WHERE account_id = ?1 AND student_id = ?2",
    [TEAM_MAY] = "SELECT 1 FROM team WHERE account_id = ?1 AND student_id = ?2",
    [TEAM_LIST] = "SELECT account_id FROM team WHERE student_id = ?1 ORDER BY account_id LIMIT ?2",
};
const struct store_statements store_student_statements = {"student", sql, STATEMENTS};

/* As SQL_PICTURES has it; here once for each row and not for each column. */
static void read_consent(struct query *query, struct arena *arena, struct store_student *out)
{
    const int64_t now = query_get_integer(query, 16);
    out->pictures = !out->junior;
    if (query_is_null(query, 17)) {
        return;
    }
    out->pictures = !query_is_null(query, 19) && query_is_null(query, 20) &&
                    (query_is_null(query, 21) || query_get_integer(query, 21) > now) &&
                    (query_get_integer(query, 22) != 0) == out->junior;
    if (out->pictures) {
        out->consent_by = query_get_text(query, 18, arena);
        out->consent_at = query_get_integer(query, 19);
    }
}

static void read_student(struct query *query, struct arena *arena, void *item)
{
    struct store_student *out = item;
    *out = (struct store_student){0};
    query_get_id(query, 0, out->id, sizeof out->id);
    out->name = query_get_text(query, 1, arena);
    out->hand = query_get_text(query, 2, arena);
    out->sex = query_get_text(query, 3, arena);
    out->birth_year = (int)query_get_integer(query, 4);
    out->has_height = !query_is_null(query, 5);
    out->height_m = query_get_real(query, 5);
    out->has_handicap = !query_is_null(query, 6);
    out->handicap = query_get_real(query, 6);
    out->tendencies = query_get_text(query, 7, arena);
    out->pain = (unsigned)query_get_integer(query, 8);
    out->pain_note = query_get_text(query, 9, arena);
    out->wants = query_get_text(query, 10, arena);
    out->created = query_get_integer(query, 11);
    out->archived = query_get_integer(query, 12);
    out->version = query_get_integer(query, 13);
    out->birth_date = query_get_text(query, 14, arena);
    out->adult_from = query_get_integer(query, 15);
    out->junior = out->adult_from > query_get_integer(query, 16);
    read_consent(query, arena, out);
}

/* Parameters 1 to 14: the same in inserting and updating. */
static void bind_student(struct query *query, const struct store_student *student)
{
    query_text(query, 1, student->id);
    query_text(query, 2, student->name);
    query_text(query, 3, student->hand);
    query_text(query, 4, student->sex);
    query_time(query, 5, student->birth_year);
    query_real(query, 6, student->has_height, student->height_m);
    query_real(query, 7, student->has_handicap, student->handicap);
    query_text(query, 8, student->tendencies);
    query_integer(query, 9, student->pain);
    query_text(query, 10, student->pain_note);
    query_text(query, 11, student->wants);
    query_integer(query, 12, student->junior);
    query_text(query, 13, student->birth_date);
    query_time(query, 14, student->archived);
}

enum store_status store_student_insert(struct store_db *db, const struct store_student *student)
{
    struct query query;
    query_open(&query, db, STATEMENTS_STUDENT, INSERT);
    bind_student(&query, student);
    query_integer(&query, 15, student->created);
    return query_run(&query);
}

enum store_status store_student_get(struct store_db *db, const char *id, struct arena *arena, struct store_student *out)
{
    struct query query;
    query_open(&query, db, STATEMENTS_STUDENT, GET);
    query_text(&query, 1, id);
    enum store_status status = query_row(&query);
    if (status == STORE_OK) {
        read_student(&query, arena, out);
        status = query.status;
    }
    query_close(&query);
    return status;
}

enum store_status store_student_update(struct store_db *db, struct store_student *student)
{
    struct query query;
    query_open(&query, db, STATEMENTS_STUDENT, UPDATE);
    bind_student(&query, student);
    query_integer(&query, 15, student->version);
    const enum store_status status = query_run_versioned(&query, STATEMENTS_STUDENT, EXISTS, student->id);
    student->version += status == STORE_OK;
    return status;
}

static enum store_status read_list(struct query *query, const struct store_page *page, struct arena *arena,
                                   struct store_student_list *out)
{
    struct query_items items;
    query_text(query, 1, page_after(page));
    query_integer(query, 2, page_limit(page) + 1);
    const enum store_status status =
        query_list(query, arena, page_limit(page), sizeof(struct store_student), read_student, &items);
    *out = (struct store_student_list){items.items, items.count, items.more};
    return status;
}

enum store_status store_student_list(struct store_db *db, const struct store_page *page, struct arena *arena,
                                     struct store_student_list *out)
{
    struct query query;
    query_open(&query, db, STATEMENTS_STUDENT, LIST);
    return read_list(&query, page, arena, out);
}

enum store_status store_student_list_team(struct store_db *db, const char *account_id, const struct store_page *page,
                                          struct arena *arena, struct store_student_list *out)
{
    struct query query;
    query_open(&query, db, STATEMENTS_STUDENT, LIST_TEAM);
    query_text(&query, 3, account_id);
    return read_list(&query, page, arena, out);
}

/* Whoever stands for this student alone is forgotten with the student. */
static enum store_status erase_guardians(struct store_db *db, const char *id)
{
    enum store_status status = STORE_OK;
    while (status == STORE_OK) {
        char guardian[UUID_TEXT];
        struct query query;
        query_open(&query, db, STATEMENTS_STUDENT, LAST_GUARDIAN);
        query_text(&query, 1, id);
        status = query_row(&query);
        if (status == STORE_OK) {
            query_get_id(&query, 0, guardian, sizeof guardian);
            status = query.status;
        }
        query_close(&query);
        status = status == STORE_OK ? store_account_erase(db, guardian) : status;
    }
    return status == STORE_NOT_FOUND ? STORE_OK : status;
}

enum store_status store_student_erase(struct store_db *db, const char *id)
{
    static const int steps[] = {ERASE_OWN_ANSWERS, ERASE_DETAILS};
    struct query query;
    enum store_status status = store_link_end_student(db, id);
    status = status == STORE_OK ? erase_guardians(db, id) : status;
    for (size_t i = 0; status == STORE_OK && i < sizeof steps / sizeof steps[0]; i++) {
        query_open(&query, db, STATEMENTS_STUDENT, steps[i]);
        query_text(&query, 1, id);
        status = query_run(&query);
    }
    if (status != STORE_OK) {
        return status;
    }
    query_open(&query, db, STATEMENTS_STUDENT, ERASE);
    query_text(&query, 1, id);
    status = query_run_one(&query);
    return status == STORE_OK ? store_ledger_add(db, STORE_ENDED_STUDENT, id, clock_now_ms()) : status;
}

enum store_status store_team_add(struct store_db *db, const char *student_id, const char *account_id, int64_t now)
{
    return membership_add(db, STATEMENTS_STUDENT, TEAM_ADD, account_id, student_id, now);
}

enum store_status store_team_remove(struct store_db *db, const char *student_id, const char *account_id)
{
    const enum store_status status = membership_remove(db, STATEMENTS_STUDENT, TEAM_REMOVE, account_id, student_id);
    return status == STORE_OK && sqlite3_changes64(db->handle) > 0 ? store_link_end_student(db, student_id) : status;
}

enum store_status store_team_may(struct store_db *db, const char *account_id, const char *student_id)
{
    return membership_may(db, STATEMENTS_STUDENT, TEAM_MAY, account_id, student_id);
}

enum store_status store_team_list(struct store_db *db, const char *student_id, struct arena *arena,
                                  struct store_id_list *out)
{
    return membership_list(db, STATEMENTS_STUDENT, TEAM_LIST, student_id, arena, out);
}
