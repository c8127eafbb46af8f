/* The audit: one row for each write. */
#include "store/club/audit.h"

#include <string.h>

#include "store/engine/query.h"

static void read_audit(struct query *query, struct arena *arena, void *item)
{
    struct store_audit *out = item;
    *out = (struct store_audit){0};
    query_get_id(query, 0, out->id, sizeof out->id);
    out->at = query_get_integer(query, 1);
    query_get_id(query, 2, out->account_id, sizeof out->account_id);
    out->action = query_get_text(query, 3, arena);
    out->object_kind = query_get_text(query, 4, arena);
    query_get_id(query, 5, out->object_id, sizeof out->object_id);
    query_get_id(query, 6, out->student_id, sizeof out->student_id);
    out->detail = query_get_text(query, 7, arena);
}

enum store_status store_audit_add(struct store_db *db, const struct store_audit *audit)
{
    char id[UUID_TEXT];
    struct query query;
    if (audit->id[0]) {
        memcpy(id, audit->id, sizeof id);
    } else {
        uuid7_new(id);
    }
    query_open(&query, db, AUDIT_INSERT);
    query_text(&query, 1, id);
    query_integer(&query, 2, audit->at);
    query_id(&query, 3, audit->account_id);
    query_text(&query, 4, audit->action);
    query_text(&query, 5, audit->object_kind);
    query_id(&query, 6, audit->object_id);
    query_id(&query, 7, audit->student_id);
    query_text(&query, 8, audit->detail);
    const enum store_status status = query_run(&query);
    if (status == STORE_OK) {
        db->audited = true;
    }
    return status;
}

enum store_status store_audit_add_reading(struct store_db *db, const struct store_audit *audit, int64_t since)
{
    char from[UUID_TEXT];
    struct query query;
    uuid7_least(since, from);
    query_open(&query, db, audit->student_id[0] != '\0' ? AUDIT_NEW_READING : AUDIT_NEW_LISTING);
    query_id(&query, 1, audit->student_id);
    query_text(&query, 2, from);
    query_text(&query, 3, audit->account_id);
    query_text(&query, 4, audit->action);
    query_text(&query, 5, audit->object_kind);
    const enum store_status status = query_exists(&query);
    if (status == STORE_NOT_FOUND) {
        store_audit_waive(db);
        return STORE_OK;
    }
    return status == STORE_OK ? store_audit_add(db, audit) : status;
}

void store_audit_waive(struct store_db *db)
{
    db->audited = true;
}

/* How much later than its time a row may be written. */
#define WRITTEN_WITHIN_MS INT64_C(3600000)

enum store_status store_audit_list(struct store_db *db, const char *account_id, const char *student_id,
                                   const struct store_page *page, struct arena *arena, struct store_audit_list *out)
{
    struct query query;
    char least[UUID_TEXT];
    char end[UUID_TEXT];
    struct store_page within = *page;
    uuid7_least(page->from, least);
    uuid7_least(page->to + WRITTEN_WITHIN_MS, end);
    if (page->to && (!page->after || strcmp(end, page->after) < 0)) {
        within.after = end;
    }
    query_open(&query, db, student_id ? AUDIT_LIST_STUDENT : account_id ? AUDIT_LIST_ACCOUNT : AUDIT_LIST);
    query_page_before(&query, 1, &within);
    query_page_times(&query, 3, page);
    query_text(&query, 5, least);
    if (student_id || account_id) {
        query_text(&query, 6, account_id);
    }
    if (student_id) {
        query_text(&query, 7, student_id);
    }
    return query_list(&query, arena, page_limit(page), read_audit, out);
}
