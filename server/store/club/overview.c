/* Figures over the whole club, for the head professional alone. */
#include "store/club/overview.h"

#include "store/engine/query.h"

#define DRILL_ROWS_MAX 500

static void read_coach(struct query *query, struct arena *arena, void *item)
{
    struct store_coach_row *out = item;
    *out = (struct store_coach_row){0};
    query_get_id(query, 0, out->account_id, sizeof out->account_id);
    out->name = query_get_text(query, 1, arena);
    out->disabled = !query_is_null(query, 2);
    out->students = query_get_integer(query, 3);
    out->students_without_fix = query_get_integer(query, 4);
    out->homework_done = query_get_integer(query, 5);
    out->last_seen = query_get_integer(query, 6);
}

enum store_status store_overview_coaches(struct store_db *db, int64_t since, struct arena *arena,
                                         struct store_coach_rows *out)
{
    struct query query;
    query_open(&query, db, OVERVIEW_COACHES);
    query_integer(&query, 1, since);
    query_integer(&query, 2, STORE_PAGE_MAX);
    return query_list(&query, arena, STORE_PAGE_MAX, read_coach, out);
}

static void read_student(struct query *query, struct arena *arena, void *item)
{
    struct store_student_row *out = item;
    *out = (struct store_student_row){0};
    query_get_id(query, 0, out->student_id, sizeof out->student_id);
    out->name = query_get_text(query, 1, arena);
    out->team = query_get_integer(query, 2);
    out->open_fixes = query_get_integer(query, 3);
    out->oldest_fix = query_get_integer(query, 4);
    out->last_swing = query_get_integer(query, 5);
    out->last_lesson = query_get_integer(query, 6);
    out->last_done = query_get_integer(query, 7);
    out->retest_at = query_get_integer(query, 8);
    out->team_ids = query_is_null(query, 9) ? "" : query_get_text(query, 9, arena);
    out->faults = query_is_null(query, 10) ? "" : query_get_text(query, 10, arena);
    out->adult_from = query_get_integer(query, 11);
    out->waiting_fixes = query_get_integer(query, 12);
    out->paused = query_get_integer(query, 13);
    out->pain = (unsigned)query_get_integer(query, 14);
    out->member_number = query_get_text(query, 15, arena);
}

enum store_status store_overview_students(struct store_db *db, const struct store_page *page, struct arena *arena,
                                          struct store_student_rows *out)
{
    struct query query;
    query_open(&query, db, OVERVIEW_STUDENTS);
    query_page_after(&query, 1, page);
    return query_list(&query, arena, page_limit(page), read_student, out);
}
