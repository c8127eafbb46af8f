/* Figures over the whole club, for the head professional alone. */
#include "store/club/overview.h"

#include "store/engine/internal.h"

#define DRILL_ROWS_MAX 500
#define TEAM_STUDENTS                                                                                                  \
    "SELECT count(*) FROM team AS t CROSS JOIN student AS s ON s.id = t.student_id "                                   \
    "WHERE t.account_id = a.id AND s.archived IS NULL"

enum { COACHES, STUDENTS, DRILLS, STATEMENTS };
static const char *const sql[STATEMENTS] = {
    [COACHES] = "SELECT a.id, a.name, a.disabled, (" TEAM_STUDENTS "), (" TEAM_STUDENTS
                " AND NOT EXISTS (SELECT 1 FROM fix AS f WHERE f.student_id = s.id AND f.status = 'open')), "
                "(SELECT count(*) FROM team AS t CROSS JOIN homework AS h ON h.student_id = t.student_id "
                "CROSS JOIN homework_done AS d ON d.homework_id = h.id WHERE t.account_id = a.id AND d.done_at >= ?1), "
                "(SELECT max(last_seen) FROM session WHERE account_id = a.id) "
                "FROM account AS a WHERE a.role IN ('head', 'coach') ORDER BY a.role, a.id LIMIT ?2",
    [STUDENTS] = "SELECT s.id, s.name, (SELECT count(*) FROM team WHERE student_id = s.id), "
                 "(SELECT count(*) FROM fix WHERE student_id = s.id AND status = 'open'), "
                 "(SELECT min(opened_at) FROM fix WHERE student_id = s.id AND status = 'open' AND waits = 0), "
                 "(SELECT received_at FROM swing WHERE student_id = s.id ORDER BY id DESC LIMIT 1), "
                 "(SELECT held_at FROM lesson WHERE student_id = s.id ORDER BY id DESC LIMIT 1), "
                 "(SELECT max(d.done_at) FROM homework AS h CROSS JOIN homework_done AS d ON d.homework_id = h.id "
                 "WHERE h.student_id = s.id), "
                 "(SELECT min(h.retest_at) FROM homework AS h CROSS JOIN fix AS f ON f.id = h.fix_id "
                 "WHERE h.student_id = s.id AND h.ended IS NULL AND f.status = 'open' AND f.waits = 0), "
                 "(SELECT group_concat(account_id) FROM team WHERE student_id = s.id), "
                 "(SELECT group_concat(fault) FROM fix WHERE student_id = s.id AND status = 'open' AND waits = 0), "
                 "s.adult_from, "
                 "(SELECT count(*) FROM fix WHERE student_id = s.id AND status = 'open' AND waits = 1), "
                 "(SELECT count(*) FROM homework AS h CROSS JOIN fix AS f ON f.id = h.fix_id WHERE h.student_id = s.id "
                 "AND h.ended IS NULL AND h.paused_at IS NOT NULL AND f.status = 'open' AND f.waits = 0) "
                 "FROM student AS s WHERE s.id > ?1 AND s.archived IS NULL ORDER BY s.id LIMIT ?2",
    [DRILLS] = "/* whole: every homework ever given is what is counted */ "
               "SELECT h.drill_id, f.fault, count(*), "
               "sum((SELECT count(*) FROM homework_done AS d WHERE d.homework_id = h.id)), "
               "sum(f.status = 'open'), sum(f.status = 'closed'), sum(f.status = 'changed') "
               "FROM homework AS h CROSS JOIN fix AS f ON f.id = h.fix_id GROUP BY h.drill_id, f.fault "
               "ORDER BY h.drill_id, f.fault LIMIT ?1",
};
const struct store_statements store_overview_statements = {"overview", sql, STATEMENTS};

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
    struct query_items items;
    query_open(&query, db, STATEMENTS_OVERVIEW, COACHES);
    query_integer(&query, 1, since);
    query_integer(&query, 2, STORE_PAGE_MAX);
    const enum store_status status =
        query_list(&query, arena, STORE_PAGE_MAX, sizeof(struct store_coach_row), read_coach, &items);
    *out = (struct store_coach_rows){items.items, items.count};
    return status;
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
}

enum store_status store_overview_students(struct store_db *db, const struct store_page *page, struct arena *arena,
                                          struct store_student_rows *out)
{
    struct query query;
    struct query_items items;
    query_open(&query, db, STATEMENTS_OVERVIEW, STUDENTS);
    query_text(&query, 1, page_after(page));
    query_integer(&query, 2, page_limit(page) + 1);
    const enum store_status status =
        query_list(&query, arena, page_limit(page), sizeof(struct store_student_row), read_student, &items);
    *out = (struct store_student_rows){items.items, items.count, items.more};
    return status;
}

static void read_drill(struct query *query, struct arena *arena, void *item)
{
    struct store_drill_row *out = item;
    *out = (struct store_drill_row){0};
    query_get_id(query, 0, out->drill_id, sizeof out->drill_id);
    out->fault = query_get_text(query, 1, arena);
    out->given = query_get_integer(query, 2);
    out->done = query_get_integer(query, 3);
    out->fixes_open = query_get_integer(query, 4);
    out->fixes_closed = query_get_integer(query, 5);
    out->fixes_changed = query_get_integer(query, 6);
}

enum store_status store_overview_drills(struct store_db *db, struct arena *arena, struct store_drill_rows *out)
{
    struct query query;
    struct query_items items;
    query_open(&query, db, STATEMENTS_OVERVIEW, DRILLS);
    query_integer(&query, 1, DRILL_ROWS_MAX);
    const enum store_status status =
        query_list(&query, arena, DRILL_ROWS_MAX, sizeof(struct store_drill_row), read_drill, &items);
    *out = (struct store_drill_rows){items.items, items.count};
    return status;
}
