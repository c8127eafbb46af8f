/* Fixes and their history. */
#include "store/practice/fix.h"

#include <string.h>

#include "store/engine/internal.h"

#define COLUMNS                                                                                                        \
    "SELECT id, student_id, fault, opened_by, opened_at, status, ended_at, reason, overrule, baseline_swing, "         \
    "baseline_lesson, version, waits, together FROM fix "
/* The free one of a student's two places; both taken leaves 2, which the index then refuses. */
#define FREE_PLACE(student)                                                                                            \
    "CASE WHEN EXISTS (SELECT 1 FROM fix AS o WHERE o.student_id = " student                                           \
    " AND o.place = 1 AND o.status = 'open') "                                                                         \
    "THEN 2 ELSE 1 END"

/* Does another fix of the student run now? */
#define ANOTHER_RUNS(student, id)                                                                                      \
    "EXISTS (SELECT 1 FROM fix AS r WHERE r.student_id = " student " AND r.status = 'open' AND r.waits = 0 "           \
    "AND r.id <> " id ")"

enum {
    INSERT,
    GET,
    LIST,
    LIST_OPEN,
    UPDATE,
    EXISTS,
    EVENT,
    HISTORY,
    DRILLS,
    RUNNING_DRILLS,
    NEXT,
    NEXT_HOMEWORK,
    NEXT_EVENT,
    STATEMENTS
};
static const char *const sql[STATEMENTS] = {
    [INSERT] = "INSERT INTO fix (id, student_id, fault, place, opened_by, opened_at, status, reason, overrule, "
               "baseline_swing, baseline_lesson, waits, together) VALUES (?1, ?2, ?3, " FREE_PLACE(
                   "?2") ", ?4, ?5, 'open', ?6, ?7, ?8, ?9, ?10 IS NULL AND " ANOTHER_RUNS("?2", "?1") ", ?10)",
    [GET] = COLUMNS "WHERE id = ?1",
    [LIST] = COLUMNS "WHERE student_id = ?1 AND id < ?2 ORDER BY id DESC LIMIT ?3",
    [LIST_OPEN] = COLUMNS "WHERE student_id = ?1 AND id < ?2 AND status = 'open' ORDER BY id DESC LIMIT ?3",
    /* clang-format off */
    [UPDATE] = ("UPDATE fix SET "
                "place = CASE WHEN ?2 = 'open' AND status <> 'open' THEN " FREE_PLACE("fix.student_id") " ELSE place END, "
                "ended_at = CASE WHEN ?2 = 'open' THEN NULL ELSE coalesce(ended_at, ?3) END, "
                "waits = CASE WHEN ?2 = 'open' AND status <> 'open' THEN " ANOTHER_RUNS("fix.student_id", "?1") " ELSE ?9 END, "
                "together = CASE WHEN ?2 = 'open' AND status <> 'open' THEN NULL ELSE ?10 END, "
                "status = ?2, reason = ?4, overrule = ?5, baseline_swing = ?6, baseline_lesson = ?7, "
                "version = version + 1 WHERE id = ?1 AND version = ?8"),
    /* clang-format on */
    [EXISTS] = "SELECT 1 FROM fix WHERE id = ?1",
    [EVENT] = "INSERT INTO fix_event (fix_id, at, account_id, status, reason) VALUES (?1, ?2, ?3, ?4, ?5)",
    [HISTORY] = "SELECT at, account_id, status, reason FROM fix_event WHERE fix_id = ?1 ORDER BY number LIMIT ?2",
    [DRILLS] = "SELECT count(*) FROM homework WHERE fix_id = ?1 AND ended IS NULL",
    [RUNNING_DRILLS] = "SELECT count(*) FROM homework AS h CROSS JOIN fix AS f ON f.id = h.fix_id "
                       "WHERE h.student_id = ?1 AND h.ended IS NULL AND f.status = 'open' AND f.waits = 0",
    /* At most one waits, for at most two are open. */
    [NEXT] = "UPDATE fix SET waits = 0, version = version + 1 WHERE student_id = ?1 AND status = 'open' AND waits = 1 "
             "AND NOT " ANOTHER_RUNS("?1", "fix.id"),
    [NEXT_HOMEWORK] =
        "UPDATE homework SET retest_at = ?2 + retest_at - created, created = ?2, version = version + 1 "
        "WHERE student_id = ?1 AND ended IS NULL AND NOT EXISTS (SELECT 1 FROM homework_done AS d WHERE d.homework_id "
        "= homework.id) AND fix_id = (SELECT id FROM fix WHERE student_id = ?1 AND status = 'open')",
    [NEXT_EVENT] = "INSERT INTO fix_event (fix_id, at, account_id, status) SELECT id, ?2, ?3, 'open' FROM fix "
                   "WHERE student_id = ?1 AND status = 'open'",
};
const struct store_statements store_fix_statements = {"fix", sql, STATEMENTS};

#define HISTORY_MAX 1000

static const char *const status_names[STORE_FIX_STATUS_COUNT] = {"open", "closed", "changed"};

const char *store_fix_status_name(enum store_fix_status status)
{
    return (unsigned)status < STORE_FIX_STATUS_COUNT ? status_names[status] : "unknown";
}

bool store_fix_status_parse(const char *name, enum store_fix_status *out)
{
    for (int status = 0; status < STORE_FIX_STATUS_COUNT; status++) {
        if (name && strcmp(name, status_names[status]) == 0) {
            *out = (enum store_fix_status)status;
            return true;
        }
    }
    return false;
}

static enum store_fix_status read_status(struct query *query, int column)
{
    char name[16];
    enum store_fix_status status = STORE_FIX_OPEN;
    query_get_id(query, column, name, sizeof name);
    if (!store_fix_status_parse(name, &status) && query->status == STORE_OK) {
        query->status = STORE_CORRUPT;
    }
    return status;
}

static void read_fix(struct query *query, struct arena *arena, void *item)
{
    struct store_fix *out = item;
    *out = (struct store_fix){0};
    query_get_id(query, 0, out->id, sizeof out->id);
    query_get_id(query, 1, out->student_id, sizeof out->student_id);
    out->fault = query_get_text(query, 2, arena);
    query_get_id(query, 3, out->opened_by, sizeof out->opened_by);
    out->opened_at = query_get_integer(query, 4);
    out->status = read_status(query, 5);
    out->ended_at = query_get_integer(query, 6);
    out->reason = query_get_text(query, 7, arena);
    out->overrule = query_get_text(query, 8, arena);
    query_get_id(query, 9, out->baseline_swing, sizeof out->baseline_swing);
    query_get_id(query, 10, out->baseline_lesson, sizeof out->baseline_lesson);
    out->version = query_get_integer(query, 11);
    out->waits = query_get_integer(query, 12) != 0;
    out->together = query_get_text(query, 13, arena);
}

static enum store_status add_event(struct store_db *db, const char *fix_id, int64_t at, const char *account_id,
                                   enum store_fix_status fix_status, const char *reason)
{
    struct query query;
    query_open(&query, db, STATEMENTS_FIX, EVENT);
    query_text(&query, 1, fix_id);
    query_integer(&query, 2, at);
    query_text(&query, 3, account_id);
    query_text(&query, 4, store_fix_status_name(fix_status));
    query_text(&query, 5, reason);
    return query_run(&query);
}

enum store_status store_fix_insert(struct store_db *db, const struct store_fix *fix)
{
    struct query query;
    query_open(&query, db, STATEMENTS_FIX, INSERT);
    query_text(&query, 1, fix->id);
    query_text(&query, 2, fix->student_id);
    query_text(&query, 3, fix->fault);
    query_text(&query, 4, fix->opened_by);
    query_integer(&query, 5, fix->opened_at);
    query_text(&query, 6, fix->reason);
    query_text(&query, 7, fix->overrule);
    query_id(&query, 8, fix->baseline_swing);
    query_id(&query, 9, fix->baseline_lesson);
    query_text(&query, 10, fix->together);
    const enum store_status status = query_run(&query);
    if (status != STORE_OK) {
        return status;
    }
    return add_event(db, fix->id, fix->opened_at, fix->opened_by, STORE_FIX_OPEN, fix->reason);
}

enum store_status store_fix_get(struct store_db *db, const char *id, struct arena *arena, struct store_fix *out)
{
    struct query query;
    query_open(&query, db, STATEMENTS_FIX, GET);
    query_text(&query, 1, id);
    enum store_status status = query_row(&query);
    if (status == STORE_OK) {
        read_fix(&query, arena, out);
        status = query.status;
    }
    query_close(&query);
    return status;
}

enum store_status store_fix_list(struct store_db *db, const char *student_id, bool open_only,
                                 const struct store_page *page, struct arena *arena, struct store_fix_list *out)
{
    struct query query;
    struct query_items items;
    query_open(&query, db, STATEMENTS_FIX, open_only ? LIST_OPEN : LIST);
    query_text(&query, 1, student_id);
    query_text(&query, 2, page_before(page));
    query_integer(&query, 3, page_limit(page) + 1);
    const enum store_status status =
        query_list(&query, arena, page_limit(page), sizeof(struct store_fix), read_fix, &items);
    *out = (struct store_fix_list){items.items, items.count, items.more};
    return status;
}

/* The fix that waited begins, when none runs any more. */
static enum store_status begin_next(struct store_db *db, const char *student_id, const char *account_id, int64_t now)
{
    struct query query;
    query_open(&query, db, STATEMENTS_FIX, NEXT);
    query_text(&query, 1, student_id);
    enum store_status status = query_run_one(&query);
    if (status != STORE_OK) {
        return status == STORE_NOT_FOUND ? STORE_OK : status;
    }
    query_open(&query, db, STATEMENTS_FIX, NEXT_HOMEWORK);
    query_text(&query, 1, student_id);
    query_integer(&query, 2, now);
    status = query_run(&query);
    if (status != STORE_OK) {
        return status;
    }
    query_open(&query, db, STATEMENTS_FIX, NEXT_EVENT);
    query_text(&query, 1, student_id);
    query_integer(&query, 2, now);
    query_text(&query, 3, account_id);
    return query_run(&query);
}

static enum store_status count_drills(struct store_db *db, int statement, const char *id, int64_t *out)
{
    struct query query;
    query_open(&query, db, STATEMENTS_FIX, statement);
    query_text(&query, 1, id);
    const enum store_status status = query_row(&query);
    *out = status == STORE_OK ? query_get_integer(&query, 0) : 0;
    query_close(&query);
    return status;
}

enum store_status store_fix_drills(struct store_db *db, const char *id, int64_t *out)
{
    return count_drills(db, DRILLS, id, out);
}

enum store_status store_fix_running_drills(struct store_db *db, const char *student_id, int64_t *out)
{
    return count_drills(db, RUNNING_DRILLS, student_id, out);
}

enum store_status store_fix_update(struct store_db *db, struct store_fix *fix, const char *why, const char *account_id,
                                   int64_t now)
{
    struct query query;
    query_open(&query, db, STATEMENTS_FIX, UPDATE);
    query_text(&query, 1, fix->id);
    query_text(&query, 2, store_fix_status_name(fix->status));
    query_integer(&query, 3, now);
    query_text(&query, 4, fix->reason);
    query_text(&query, 5, fix->overrule);
    query_id(&query, 6, fix->baseline_swing);
    query_id(&query, 7, fix->baseline_lesson);
    query_integer(&query, 8, fix->version);
    query_integer(&query, 9, fix->waits);
    query_text(&query, 10, fix->together);
    enum store_status status = query_run_versioned(&query, STATEMENTS_FIX, EXISTS, fix->id);
    if (status == STORE_OK) {
        status = add_event(db, fix->id, now, account_id, fix->status, why);
    }
    if (status == STORE_OK && fix->status != STORE_FIX_OPEN) {
        status = begin_next(db, fix->student_id, account_id, now);
    }
    if (status == STORE_OK) {
        fix->version++;
        if (fix->status == STORE_FIX_OPEN) {
            fix->ended_at = 0;
        } else if (fix->ended_at == 0) {
            fix->ended_at = now;
        }
    }
    return status;
}

static void read_event(struct query *query, struct arena *arena, void *item)
{
    struct store_fix_event *out = item;
    *out = (struct store_fix_event){0};
    out->at = query_get_integer(query, 0);
    query_get_id(query, 1, out->account_id, sizeof out->account_id);
    out->status = read_status(query, 2);
    out->reason = query_get_text(query, 3, arena);
}

enum store_status store_fix_history(struct store_db *db, const char *id, struct arena *arena,
                                    struct store_fix_history *out)
{
    struct query query;
    struct query_items items;
    query_open(&query, db, STATEMENTS_FIX, HISTORY);
    query_text(&query, 1, id);
    query_integer(&query, 2, HISTORY_MAX);
    const enum store_status status =
        query_list(&query, arena, HISTORY_MAX, sizeof(struct store_fix_event), read_event, &items);
    *out = (struct store_fix_history){items.items, items.count};
    return status;
}
