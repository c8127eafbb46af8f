/* When fixes are looked at again, and what is looked at then. */
#include "store/practice/retest.h"

#include <sodium.h>
#include <string.h>

#include "store/club/inbox.h"
#include "store/engine/query.h"

static void read_retest(struct query *query, struct arena *arena, void *item)
{
    struct store_retest *out = item;
    *out = (struct store_retest){0};
    query_get_id(query, 0, out->id, sizeof out->id);
    query_get_id(query, 1, out->student_id, sizeof out->student_id);
    query_get_id(query, 2, out->fix_id, sizeof out->fix_id);
    out->begun_at = query_get_integer(query, 3);
    out->due_at = query_get_integer(query, 4);
    query_get_id(query, 5, out->planned_by, sizeof out->planned_by);
    query_get_id(query, 6, out->moved_by, sizeof out->moved_by);
    out->moved_at = query_get_integer(query, 7);
    out->moved_reason = query_get_text(query, 8, arena);
    out->ended_at = query_get_integer(query, 9);
    out->version = query_get_integer(query, 10);
    out->student_name = query_get_text(query, 11, arena);
    out->fault = query_get_text(query, 12, arena);
    out->waits = query_get_integer(query, 13) != 0;
}

enum store_status store_retest_plan(struct store_db *db, const struct store_retest *retest)
{
    struct query query;
    query_open(&query, db, RETEST_PLAN);
    query_text(&query, 1, retest->id);
    query_text(&query, 2, retest->student_id);
    query_text(&query, 3, retest->fix_id);
    query_integer(&query, 4, retest->begun_at);
    query_text(&query, 5, retest->planned_by);
    const enum store_status status = query_run(&query);
    return status == STORE_OK ? store_retest_announce(db, retest->student_id) : status;
}

enum store_status store_retest_get(struct store_db *db, const char *id, struct arena *arena, struct store_retest *out)
{
    struct query query;
    query_open(&query, db, RETEST_BY_ID);
    query_text(&query, 1, id);
    return query_one(&query, arena, read_retest, out);
}

enum store_status store_retest_list(struct store_db *db, const char *student_id, const struct store_page *page,
                                    struct arena *arena, struct store_retest_list *out)
{
    struct query query;
    query_open(&query, db, RETEST_LIST);
    query_text(&query, 1, student_id);
    query_page_before(&query, 2, page);
    return query_list(&query, arena, page_limit(page), read_retest, out);
}

enum store_status store_retest_due(struct store_db *db, const char *account_id, bool head,
                                   const struct store_page *page, struct arena *arena, struct store_retest_list *out)
{
    struct query query;
    struct store_retest last = {.due_at = INT64_MIN};
    *out = (struct store_retest_list){0};
    if (page->after != NULL && page->after[0] != '\0') {
        const enum store_status status = store_retest_get(db, page->after, arena, &last);
        if (status != STORE_OK) {
            return status == STORE_NOT_FOUND ? STORE_OK : status; /* after one that is gone: nothing */
        }
    }
    query_open(&query, db, head ? RETEST_DUE_HEAD : RETEST_DUE);
    query_text(&query, 1, account_id);
    query_integer(&query, 2, page->to);
    query_integer(&query, 3, last.due_at);
    query_text(&query, 4, last.id);
    query_integer(&query, 5, page_limit(page) + 1);
    return query_list(&query, arena, page_limit(page), read_retest, out);
}

/* Of one or two parameters: an id, and a time. */
static enum store_status run_at(struct store_db *db, enum statement statement, const char *id, int64_t at)
{
    struct query query;
    query_open(&query, db, statement);
    query_text(&query, 1, id);
    if (at != 0) {
        query_integer(&query, 2, at);
    }
    return query_run(&query);
}

enum store_status store_retest_move(struct store_db *db, const struct store_retest *retest)
{
    struct query query;
    query_open(&query, db, RETEST_MOVE);
    query_text(&query, 1, retest->id);
    query_integer(&query, 2, retest->due_at);
    query_text(&query, 3, retest->moved_by);
    query_integer(&query, 4, retest->moved_at);
    query_text(&query, 5, retest->moved_reason);
    query_integer(&query, 6, retest->version);
    enum store_status status = query_run_versioned(&query, RETEST_EXISTS, retest->id);
    status = status == STORE_OK ? run_at(db, RETEST_HOMEWORK, retest->fix_id, retest->due_at) : status;
    return status == STORE_OK ? store_retest_announce(db, retest->student_id) : status;
}

enum store_status store_retest_end(struct store_db *db, const char *fix_id, int64_t now)
{
    return run_at(db, RETEST_END, fix_id, now);
}

enum store_status store_retest_again(struct store_db *db, const char *fix_id, const char *account_id, int64_t now)
{
    struct query query;
    char id[UUID_TEXT];
    uuid7_new(id);
    query_open(&query, db, RETEST_AGAIN);
    query_text(&query, 1, id);
    query_text(&query, 2, fix_id);
    query_integer(&query, 3, now);
    query_text(&query, 4, account_id);
    return query_run(&query);
}

enum store_status store_retest_begin(struct store_db *db, const char *student_id, int64_t now)
{
    return run_at(db, RETEST_BEGIN, student_id, now);
}

#define RUNNING_MAX 2

struct planned {
    struct store_retest items[RUNNING_MAX];
    int count;
};

static enum store_status planned_read(struct store_db *db, const char *student_id, struct planned *out)
{
    struct query query;
    query_open(&query, db, RETEST_PLANNED);
    query_text(&query, 1, student_id);
    query_integer(&query, 2, RUNNING_MAX);
    enum store_status status = STORE_OK;
    while (out->count < RUNNING_MAX && (status = query_row(&query)) == STORE_OK) {
        struct store_retest *retest = &out->items[out->count++];
        query_get_id(&query, 0, retest->id, sizeof retest->id);
        query_get_id(&query, 2, retest->fix_id, sizeof retest->fix_id);
        retest->due_at = query_get_integer(&query, 4);
    }
    query_close(&query);
    return status == STORE_NOT_FOUND ? STORE_OK : status;
}

enum store_status store_retest_announce(struct store_db *db, const char *student_id)
{
    struct planned planned = {.count = 0};
    enum store_status status = run_at(db, RETEST_SILENCE, student_id, 0);
    status = status == STORE_OK ? planned_read(db, student_id, &planned) : status;
    for (int i = 0; status == STORE_OK && i < planned.count; i++) {
        const struct store_retest *retest = &planned.items[i];
        struct store_inbox item = {.kind = "retest_due", .created = retest->due_at, .due_at = retest->due_at};
        uint8_t random[10];
        randombytes_buf(random, sizeof random);
        uuid7_format(retest->due_at, random, item.id); /* its place is among what comes then */
        memcpy(item.student_id, student_id, UUID_TEXT);
        memcpy(item.fix_id, retest->fix_id, UUID_TEXT);
        memcpy(item.retest_id, retest->id, UUID_TEXT);
        status = store_inbox_insert(db, &item, false);
    }
    return status;
}

static void read_reading(struct query *query, struct arena *arena, void *item)
{
    struct store_reading *out = item;
    (void)arena;
    *out = (struct store_reading){0};
    query_get_id(query, 0, out->swing_id, sizeof out->swing_id);
    query_get_id(query, 1, out->lesson_id, sizeof out->lesson_id);
    out->at = query_get_integer(query, 2);
    out->report = query_get_integer(query, 3);
}

enum store_status store_retest_readings(struct store_db *db, const char *student_id, struct arena *arena,
                                        struct store_reading_list *out)
{
    struct query query;
    query_open(&query, db, RETEST_READINGS);
    query_text(&query, 1, student_id);
    query_integer(&query, 2, STORE_READINGS_MAX);
    return query_list(&query, arena, STORE_READINGS_MAX, read_reading, out);
}

enum store_status store_retest_firsts(struct store_db *db, struct arena *arena, struct store_reading_list *out)
{
    struct query query;
    query_open(&query, db, RETEST_FIRSTS);
    query_text(&query, 1, "");
    query_integer(&query, 2, STORE_FIRSTS_MAX);
    return query_list(&query, arena, STORE_FIRSTS_MAX, read_reading, out);
}
