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
    query_id(&query, 8, item->account_id);
    query_id(&query, 9, item->by_id);
    query_time(&query, 10, item->due_at);
    query_id(&query, 11, item->handover_id);
    query_id(&query, 12, item->fix_id);
    query_id(&query, 13, item->retest_id);
    const enum store_status status = query_run(&query);
    const bool others = item->account_id[0] == '\0' && item->by_id[0] != '\0';
    return status == STORE_OK && others ? store_inbox_see(db, item->id, item->by_id, item->created) : status;
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
    query_get_id(query, 19, out->by_id, sizeof out->by_id);
    out->by_name = query_get_text(query, 20, arena);
    query_get_id(query, 21, out->handover_id, sizeof out->handover_id);
    query_get_id(query, 22, out->fix_id, sizeof out->fix_id);
    out->note = query_get_text(query, 23, arena);
    out->conflicts = query_get_text(query, 24, arena);
    out->fix_status = query_get_text(query, 25, arena);
    query_get_id(query, 26, out->retest_id, sizeof out->retest_id);
    out->due_at = query_get_integer(query, 27);
    query_get_id(query, 28, out->request_id, sizeof out->request_id);
    out->scope = query_get_text(query, 29, arena);
    out->asked_at = query_get_integer(query, 30);
    out->answered = (int)query_get_integer(query, 31);
    out->adult_from = query_get_integer(query, 32);
    out->still = query_get_text(query, 33, arena);
    out->open_fault = query_get_text(query, 34, arena);
}

static enum store_status count_waiting(struct store_db *db, const char *account_id, bool head, int64_t now,
                                       int64_t *out)
{
    struct query query;
    query_open(&query, db, head ? INBOX_COUNT_HEAD : INBOX_COUNT);
    query_text(&query, 1, account_id);
    query_integer(&query, 2, now);
    return query_number(&query, out);
}

/* Where the page's last item stands in the order; STORE_NOT_FOUND: it is gone. */
static enum store_status find_place(struct store_db *db, const char *id, bool head, int64_t *out)
{
    struct query query;
    query_open(&query, db, head ? INBOX_PLACE_HEAD : INBOX_PLACE);
    query_text(&query, 1, id);
    return query_number(&query, out);
}

enum store_status store_inbox_list(struct store_db *db, const char *account_id, bool head, int64_t now,
                                   const struct store_page *page, struct arena *arena, struct store_inbox_list *out)
{
    struct query query;
    int64_t waiting = 0;
    int64_t urgent = 2; /* before every row */
    enum store_status status = count_waiting(db, account_id, head, now, &waiting);
    if (status == STORE_OK && page != NULL && page->after != NULL && page->after[0] != '\0') {
        status = find_place(db, page->after, head, &urgent);
    }
    *out = (struct store_inbox_list){.waiting = waiting};
    if (status != STORE_OK) {
        return status == STORE_NOT_FOUND ? STORE_OK : status; /* after an item that is gone: nothing */
    }
    query_open(&query, db, head ? INBOX_LIST_HEAD : INBOX_LIST);
    query_text(&query, 1, account_id);
    query_integer(&query, 2, now);
    query_integer(&query, 3, urgent);
    query_page_before(&query, 4, page);
    return query_list(&query, arena, page_limit(page), read_item, out);
}

struct whose {
    char *student_id, *account_id;
};

static void read_whose(struct query *query, struct arena *arena, void *item)
{
    const struct whose *out = item;
    (void)arena;
    query_get_id(query, 0, out->student_id, UUID_TEXT);
    query_get_id(query, 1, out->account_id, UUID_TEXT);
}

enum store_status store_inbox_whose(struct store_db *db, const char *id, char student_id[UUID_TEXT],
                                    char account_id[UUID_TEXT])
{
    struct query query;
    struct whose whose = {student_id, account_id};
    query_open(&query, db, INBOX_WHOSE);
    query_text(&query, 1, id);
    return query_one(&query, NULL, read_whose, &whose);
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

enum store_status store_inbox_see_handover(struct store_db *db, const char *handover_id, const char *account_id,
                                           int64_t now)
{
    struct query query;
    query_open(&query, db, INBOX_SEE_HANDOVER);
    query_text(&query, 1, handover_id);
    query_text(&query, 2, account_id);
    query_integer(&query, 3, now);
    return query_run(&query);
}
