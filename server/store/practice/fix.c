/* Fixes and their history. */
#include "store/practice/fix.h"

#include <string.h>

#include "store/engine/query.h"
#include "store/practice/retest.h"

#define HISTORY_MAX 1000

NAMES(store_fix_status, enum store_fix_status, STORE_FIX_STATUS_NAMES);
NAMES_PARSE(store_fix_status, enum store_fix_status, STORE_FIX_STATUS_NAMES);

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
    out->conflicts = query_get_text(query, 14, arena);
}

static enum store_status add_event(struct store_db *db, const char *fix_id, int64_t at, const char *account_id,
                                   enum store_fix_status fix_status, const char *reason)
{
    struct query query;
    query_open(&query, db, FIX_EVENT);
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
    query_open(&query, db, FIX_INSERT);
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
    query_text(&query, 11, fix->conflicts);
    const enum store_status status = query_run(&query);
    if (status != STORE_OK) {
        return status;
    }
    return add_event(db, fix->id, fix->opened_at, fix->opened_by, STORE_FIX_OPEN, fix->reason);
}

enum store_status store_fix_get(struct store_db *db, const char *id, struct arena *arena, struct store_fix *out)
{
    struct query query;
    query_open(&query, db, FIX_BY_ID);
    query_text(&query, 1, id);
    return query_one(&query, arena, read_fix, out);
}

enum store_status store_fix_list(struct store_db *db, const char *student_id, bool open_only,
                                 const struct store_page *page, struct arena *arena, struct store_fix_list *out)
{
    struct query query;
    query_open(&query, db, open_only ? FIX_LIST_OPEN : FIX_LIST);
    query_text(&query, 1, student_id);
    query_page_before(&query, 2, page);
    query_page_since(&query, 4, page);
    return query_list(&query, arena, page_limit(page), read_fix, out);
}

/* The fix that waited begins, when none runs any more. */
static enum store_status begin_next(struct store_db *db, const char *student_id, const char *account_id, int64_t now)
{
    struct query query;
    query_open(&query, db, FIX_NEXT);
    query_text(&query, 1, student_id);
    enum store_status status = query_run_one(&query);
    if (status != STORE_OK) {
        return status == STORE_NOT_FOUND ? STORE_OK : status;
    }
    query_open(&query, db, FIX_NEXT_HOMEWORK);
    query_text(&query, 1, student_id);
    query_integer(&query, 2, now);
    status = query_run(&query);
    if (status != STORE_OK) {
        return status;
    }
    query_open(&query, db, FIX_NEXT_EVENT);
    query_text(&query, 1, student_id);
    query_integer(&query, 2, now);
    query_text(&query, 3, account_id);
    status = query_run(&query);
    return status == STORE_OK ? store_retest_begin(db, student_id, now) : status;
}

static enum store_status count_drills(struct store_db *db, enum statement statement, const char *id, int64_t *out)
{
    struct query query;
    query_open(&query, db, statement);
    query_text(&query, 1, id);
    return query_number(&query, out);
}

enum store_status store_fix_drills(struct store_db *db, const char *id, int64_t *out)
{
    return count_drills(db, FIX_DRILLS, id, out);
}

enum store_status store_fix_running_drills(struct store_db *db, const char *student_id, int64_t *out)
{
    return count_drills(db, FIX_RUNNING_DRILLS, student_id, out);
}

enum store_status store_fix_update(struct store_db *db, struct store_fix *fix, const char *why, const char *account_id,
                                   int64_t now)
{
    struct query query;
    query_open(&query, db, FIX_UPDATE);
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
    query_text(&query, 11, fix->conflicts);
    enum store_status status = query_run_versioned(&query, FIX_EXISTS, fix->id);
    if (status == STORE_OK) {
        status = add_event(db, fix->id, now, account_id, fix->status, why);
    }
    if (status == STORE_OK && fix->status != STORE_FIX_OPEN) {
        status = begin_next(db, fix->student_id, account_id, now);
        status = status == STORE_OK ? store_retest_end(db, fix->id, now) : status;
    } else if (status == STORE_OK && fix->ended_at != 0) {
        status = store_retest_again(db, fix->id, account_id, now);
    }
    status = status == STORE_OK ? store_retest_announce(db, fix->student_id) : status;
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
    query_open(&query, db, FIX_HISTORY);
    query_text(&query, 1, id);
    query_integer(&query, 2, HISTORY_MAX);
    return query_list(&query, arena, HISTORY_MAX, read_event, out);
}
