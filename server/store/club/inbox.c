/* What waits for a student's coaches. */
#include "store/club/inbox.h"

#include "store/engine/internal.h"

#define COLUMNS(urgent)                                                                                                \
    "SELECT i.id, i.student_id, i.kind, i." urgent ", i.created, s.name, d.id, d.homework_id, d.done_at, "             \
    "d.account_id, d.comment, d.passed, d.passed_of, d.pain_area, d.pain_level, h.drill_id, r.name, f.fault, "         \
    "h.paused_at "
#define JOINS                                                                                                          \
    "CROSS JOIN student AS s ON s.id = i.student_id LEFT JOIN homework_done AS d ON d.id = i.done_id "                 \
    "LEFT JOIN homework AS h ON h.id = d.homework_id LEFT JOIN drill AS r ON r.id = h.drill_id "                       \
    "LEFT JOIN fix AS f ON f.id = h.fix_id "
#define UNSEEN "NOT EXISTS (SELECT 1 FROM inbox_seen AS n WHERE n.inbox_id = i.id AND n.account_id = ?1) "
#define TEAM "FROM team AS t CROSS JOIN inbox AS i ON i.student_id = t.student_id "

enum { INSERT, LIST, LIST_HEAD, COUNT, COUNT_HEAD, PLACE, PLACE_HEAD, STUDENT, SEE, STATEMENTS };
static const char *const sql[STATEMENTS] = {
    [INSERT] = "INSERT INTO inbox (id, student_id, kind, done_id, urgent, created, head) VALUES (?1, ?2, ?3, ?4, ?5, "
               "?6, ?5 AND (?7 OR NOT EXISTS (SELECT 1 FROM team AS t CROSS JOIN account AS a ON a.id = t.account_id "
               "WHERE t.student_id = ?2 AND a.role = 'coach' AND a.disabled IS NULL)))",
    [LIST] = COLUMNS("urgent") TEAM JOINS "WHERE t.account_id = ?1 AND (i.urgent, i.id) < (?2, ?3) AND " UNSEEN
                                          "ORDER BY i.urgent DESC, i.id DESC LIMIT ?4",
    [LIST_HEAD] = COLUMNS("head") "FROM inbox AS i " JOINS "WHERE (i.head, i.id) < (?2, ?3) AND " UNSEEN
                                  "ORDER BY i.head DESC, i.id DESC LIMIT ?4",
    [COUNT] = "SELECT count(*) " TEAM "WHERE t.account_id = ?1 AND " UNSEEN,
    [COUNT_HEAD] = "SELECT count(*) FROM inbox AS i WHERE i.id > '' AND " UNSEEN,
    [PLACE] = "SELECT urgent FROM inbox WHERE id = ?1",
    [PLACE_HEAD] = "SELECT head FROM inbox WHERE id = ?1",
    [STUDENT] = "SELECT student_id FROM inbox WHERE id = ?1",
    [SEE] = ("INSERT INTO inbox_seen (inbox_id, account_id, at) VALUES (?1, ?2, ?3) "
             "ON CONFLICT (inbox_id, account_id) DO NOTHING"),
};
const struct store_statements store_inbox_statements = {"inbox", sql, STATEMENTS};

enum store_status store_inbox_insert(struct store_db *db, const struct store_inbox *item, bool always_head)
{
    struct query query;
    query_open(&query, db, STATEMENTS_INBOX, INSERT);
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
static enum store_status number_of(struct store_db *db, int statement, const char *text, int64_t *out)
{
    struct query query;
    query_open(&query, db, STATEMENTS_INBOX, statement);
    query_text(&query, 1, text);
    const enum store_status status = query_row(&query);
    *out = status == STORE_OK ? query_get_integer(&query, 0) : 0;
    query_close(&query);
    return status;
}

enum store_status store_inbox_list(struct store_db *db, const char *account_id, bool head,
                                   const struct store_page *page, struct arena *arena, struct store_inbox_list *out)
{
    struct query query;
    struct query_items items;
    int64_t waiting = 0;
    int64_t urgent = 2; /* before every row */
    enum store_status status = number_of(db, head ? COUNT_HEAD : COUNT, account_id, &waiting);
    if (status == STORE_OK && page != NULL && page->after != NULL && page->after[0] != '\0') {
        status = number_of(db, head ? PLACE_HEAD : PLACE, page->after, &urgent);
    }
    *out = (struct store_inbox_list){.waiting = waiting};
    if (status != STORE_OK) {
        return status == STORE_NOT_FOUND ? STORE_OK : status; /* after an item that is gone: nothing */
    }
    query_open(&query, db, STATEMENTS_INBOX, head ? LIST_HEAD : LIST);
    query_text(&query, 1, account_id);
    query_integer(&query, 2, urgent);
    query_text(&query, 3, page_before(page));
    query_integer(&query, 4, page_limit(page) + 1);
    status = query_list(&query, arena, page_limit(page), sizeof(struct store_inbox), read_item, &items);
    *out = (struct store_inbox_list){items.items, items.count, items.more, waiting};
    return status;
}

enum store_status store_inbox_student(struct store_db *db, const char *id, char student_id[UUID_TEXT])
{
    struct query query;
    query_open(&query, db, STATEMENTS_INBOX, STUDENT);
    query_text(&query, 1, id);
    enum store_status status = query_row(&query);
    if (status == STORE_OK) {
        query_get_id(&query, 0, student_id, UUID_TEXT);
        status = query.status;
    }
    query_close(&query);
    return status;
}

enum store_status store_inbox_see(struct store_db *db, const char *id, const char *account_id, int64_t now)
{
    struct query query;
    query_open(&query, db, STATEMENTS_INBOX, SEE);
    query_text(&query, 1, id);
    query_text(&query, 2, account_id);
    query_integer(&query, 3, now);
    return query_run(&query);
}
