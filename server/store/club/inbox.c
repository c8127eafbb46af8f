/* What waits for a student's coaches. */
#include "store/club/inbox.h"

#include "store/engine/query.h"

enum store_status store_inbox_insert(struct store_db *db, const struct store_inbox *item, bool always_head)
{
    struct query query;
    query_open(&query, db, INBOX_INSERT);
    query_text(&query, 1, item->id);
    query_text(&query, 2, item->student_id);
    query_text(&query, 3, item->kind);
    query_id(&query, 4, item->done.id);
    query_integer(&query, 5, item->urgent);
    query_integer(&query, 6, item->created);
    query_integer(&query, 7, always_head);
    return query_run(&query);
}

static void read_item(struct query *query, struct arena *arena, void *item)
{
    struct store_inbox *out = item;
    *out = (struct store_inbox){0};
    query_get_id(query, 0, out->id, sizeof out->id);
    query_get_id(query, 1, out->student_id, sizeof out->student_id);
    out->kind = query_get_text(query, 2, arena);
    out->urgent = query_get_integer(query, 3) != 0;
    out->created = query_get_integer(query, 4);
    out->student_name = query_get_text(query, 5, arena);
    query_get_id(query, 6, out->done.id, sizeof out->done.id);
    query_get_id(query, 7, out->done.homework_id, sizeof out->done.homework_id);
    out->done.done_at = query_get_integer(query, 8);
    query_get_id(query, 9, out->done.account_id, sizeof out->done.account_id);
    out->done.comment = query_get_text(query, 10, arena);
    out->done.passed = (int)query_get_integer(query, 11);
    out->done.passed_of = (int)query_get_integer(query, 12);
    out->done.pain_area = (unsigned)query_get_integer(query, 13);
    out->done.pain_level = (int)query_get_integer(query, 14);
    query_get_id(query, 15, out->drill_id, sizeof out->drill_id);
    out->drill_name = query_get_text(query, 16, arena);
    out->fault = query_get_text(query, 17, arena);
    out->paused_at = query_get_integer(query, 18);
}

/* One number of one text; STORE_NOT_FOUND: no row. */
static enum store_status number_of(struct store_db *db, enum statement statement, const char *text, int64_t *out)
{
    struct query query;
    query_open(&query, db, statement);
    query_text(&query, 1, text);
    return query_number(&query, out);
}

enum store_status store_inbox_list(struct store_db *db, const char *account_id, bool head,
                                   const struct store_page *page, struct arena *arena, struct store_inbox_list *out)
{
    struct query query;
    int64_t waiting = 0;
    int64_t urgent = 2; /* before every row */
    enum store_status status = number_of(db, head ? INBOX_COUNT_HEAD : INBOX_COUNT, account_id, &waiting);
    if (status == STORE_OK && page != NULL && page->after != NULL && page->after[0] != '\0') {
        status = number_of(db, head ? INBOX_PLACE_HEAD : INBOX_PLACE, page->after, &urgent);
    }
    *out = (struct store_inbox_list){.waiting = waiting};
    if (status != STORE_OK) {
        return status == STORE_NOT_FOUND ? STORE_OK : status; /* after an item that is gone: nothing */
    }
    query_open(&query, db, head ? INBOX_LIST_HEAD : INBOX_LIST);
    query_text(&query, 1, account_id);
    query_integer(&query, 2, urgent);
    query_page_before(&query, 3, page);
    return query_list(&query, arena, page_limit(page), read_item, out);
}

enum store_status store_inbox_student(struct store_db *db, const char *id, char student_id[UUID_TEXT])
{
    struct query query;
    query_open(&query, db, INBOX_STUDENT);
    query_text(&query, 1, id);
    return query_one(&query, NULL, query_read_id, student_id);
}

enum store_status store_inbox_see(struct store_db *db, const char *id, const char *account_id, int64_t now)
{
    struct query query;
    query_open(&query, db, INBOX_SEE);
    query_text(&query, 1, id);
    query_text(&query, 2, account_id);
    query_integer(&query, 3, now);
    return query_run(&query);
}
