/* Students, their teams, and forgetting a student for good. */
#include "store/people/student.h"

#include "store/engine/ledger.h"
#include "store/engine/query.h"
#include "store/people/invitation.h"
#include "store/people/membership.h"

/* The rule of may_keep_pictures (consent.sql), here once for each row and not for each column. */
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
    out->member_number = query_get_text(query, 23, arena);
    out->email = query_get_text(query, 24, arena);
    out->phone = query_get_text(query, 25, arena);
}

/* Parameters 1 to 17: the same in inserting and updating. */
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
    query_text(query, 15, student->member_number);
    query_text(query, 16, student->email);
    query_text(query, 17, student->phone);
}

enum store_status store_student_insert(struct store_db *db, const struct store_student *student)
{
    struct query query;
    query_open(&query, db, STUDENT_INSERT);
    bind_student(&query, student);
    query_integer(&query, 18, student->created);
    return query_run(&query);
}

enum store_status store_student_get(struct store_db *db, const char *id, struct arena *arena, struct store_student *out)
{
    struct query query;
    query_open(&query, db, STUDENT_BY_ID);
    query_text(&query, 1, id);
    return query_one(&query, arena, read_student, out);
}

enum store_status store_student_touch(struct store_db *db, const char *id)
{
    struct query query;
    query_open(&query, db, STUDENT_TOUCH);
    query_text(&query, 1, id);
    return query_run_one(&query);
}

enum store_status store_student_update(struct store_db *db, struct store_student *student)
{
    struct query query;
    query_open(&query, db, STUDENT_UPDATE);
    bind_student(&query, student);
    query_integer(&query, 18, student->version);
    const enum store_status status = query_run_versioned(&query, STUDENT_EXISTS, student->id);
    student->version += status == STORE_OK;
    return status;
}

static enum store_status read_list(struct query *query, const struct store_page *page, struct arena *arena,
                                   struct store_student_list *out)
{
    query_page_after(query, 1, page);
    query_page_names(query, 3, page);
    query_page_since(query, 5, page);
    return query_list(query, arena, page_limit(page), read_student, out);
}

enum store_status store_student_list(struct store_db *db, const struct store_page *page, struct arena *arena,
                                     struct store_student_list *out)
{
    struct query query;
    query_open(&query, db, page && page->updated_since ? STUDENT_LIST_UPDATED : STUDENT_LIST);
    return read_list(&query, page, arena, out);
}

enum store_status store_student_list_team(struct store_db *db, const char *account_id, const struct store_page *page,
                                          struct arena *arena, struct store_student_list *out)
{
    struct query query;
    query_open(&query, db, STUDENT_LIST_TEAM);
    query_text(&query, 6, account_id);
    return read_list(&query, page, arena, out);
}

/* Whoever stands for this student alone is forgotten with the student. */
static enum store_status erase_guardians(struct store_db *db, const char *id)
{
    enum store_status status = STORE_OK;
    while (status == STORE_OK) {
        char guardian[UUID_TEXT];
        struct query query;
        query_open(&query, db, STUDENT_LAST_GUARDIAN);
        query_text(&query, 1, id);
        status = query_one(&query, NULL, query_read_id, guardian);
        status = status == STORE_OK ? store_account_erase(db, guardian) : status;
    }
    return status == STORE_NOT_FOUND ? STORE_OK : status;
}

enum store_status store_student_erase(struct store_db *db, const char *id)
{
    static const enum statement steps[] = {STUDENT_ERASE_OWN_ANSWERS, STUDENT_ERASE_DETAILS};
    struct query query;
    enum store_status status = store_invitation_end_student(db, id);
    status = status == STORE_OK ? erase_guardians(db, id) : status;
    for (size_t i = 0; status == STORE_OK && i < sizeof steps / sizeof steps[0]; i++) {
        query_open(&query, db, steps[i]);
        query_text(&query, 1, id);
        status = query_run(&query);
    }
    if (status != STORE_OK) {
        return status;
    }
    query_open(&query, db, STUDENT_ERASE);
    query_text(&query, 1, id);
    status = query_run_one(&query);
    return status == STORE_OK ? store_ledger_add(db, STORE_ENDED_STUDENT, id, clock_now_ms()) : status;
}

enum store_status store_team_add(struct store_db *db, const char *student_id, const char *account_id, int64_t now)
{
    return membership_add(db, STUDENT_TEAM_ADD, account_id, student_id, now);
}

enum store_status store_team_remove(struct store_db *db, const char *student_id, const char *account_id)
{
    const enum store_status status = membership_remove(db, STUDENT_TEAM_REMOVE, account_id, student_id);
    return status == STORE_OK && sqlite3_changes64(db->handle) > 0 ? store_invitation_end_student(db, student_id)
                                                                   : status;
}

enum store_status store_team_may(struct store_db *db, const char *account_id, const char *student_id)
{
    return membership_may(db, STUDENT_TEAM_MAY, account_id, student_id);
}

enum store_status store_team_list(struct store_db *db, const char *student_id, struct arena *arena,
                                  struct store_id_list *out)
{
    return membership_list(db, STUDENT_TEAM_LIST, student_id, arena, out);
}

static void read_coach(struct query *query, struct arena *arena, void *item)
{
    struct store_coach *out = item;
    query_get_id(query, 0, out->id, sizeof out->id);
    out->name = query_get_text(query, 1, arena);
}

enum store_status store_team_coaches(struct store_db *db, const char *student_id, struct arena *arena,
                                     struct store_coach_list *out)
{
    struct query query;
    query_open_all(&query, db, STUDENT_TEAM_COACHES, student_id);
    return query_list(&query, arena, STORE_PAGE_MAX, read_coach, out);
}

static void read_left(struct query *query, struct arena *arena, void *item)
{
    struct store_left *out = item;
    query_get_id(query, 0, out->id, sizeof out->id);
    out->name = query_get_text(query, 1, arena);
    out->covered = query_get_integer(query, 2) != 0;
}

enum store_status store_team_left(struct store_db *db, const char *account_id, struct arena *arena,
                                  struct store_left_list *out)
{
    struct query query;
    query_open(&query, db, STUDENT_LEFT);
    query_text(&query, 1, account_id);
    query_integer(&query, 2, STORE_LEFT_MAX + 1);
    return query_list(&query, arena, STORE_LEFT_MAX, read_left, out);
}

enum store_status store_team_leave(struct store_db *db, const char *account_id)
{
    struct query query;
    query_open(&query, db, STUDENT_LEAVE);
    query_text(&query, 1, account_id);
    return query_run(&query);
}
