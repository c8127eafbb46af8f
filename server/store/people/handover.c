/* Students handed over from one coach to another. */
#include "store/people/handover.h"

#include "store/engine/query.h"

NAMES(store_handover_status, enum store_handover_status, STORE_HANDOVER_STATUS_NAMES);
NAMES_PARSE(store_handover_status, enum store_handover_status, STORE_HANDOVER_STATUS_NAMES);

static void read_handover(struct query *query, struct arena *arena, void *item)
{
    struct store_handover *out = item;
    char status[16];
    *out = (struct store_handover){0};
    query_get_id(query, 0, out->id, sizeof out->id);
    query_get_id(query, 1, out->student_id, sizeof out->student_id);
    query_get_id(query, 2, out->from_id, sizeof out->from_id);
    query_get_id(query, 3, out->to_id, sizeof out->to_id);
    out->note = query_get_text(query, 4, arena);
    out->stays = query_get_integer(query, 5) != 0;
    out->created = query_get_integer(query, 6);
    query_get_id(query, 7, status, sizeof status);
    if (!store_handover_status_parse(status, &out->status) && query->status == STORE_OK) {
        query->status = STORE_CORRUPT;
    }
    query_get_id(query, 8, out->answered_by, sizeof out->answered_by);
    out->answered_at = query_get_integer(query, 9);
    out->reason = query_get_text(query, 10, arena);
    out->version = query_get_integer(query, 11);
    out->student_name = query_get_text(query, 12, arena);
    out->from_name = query_get_text(query, 13, arena);
    out->to_name = query_get_text(query, 14, arena);
    query_get_id(query, 15, out->offered_by, sizeof out->offered_by);
}

enum store_status store_handover_insert(struct store_db *db, const struct store_handover *handover)
{
    struct query query;
    query_open(&query, db, HANDOVER_INSERT);
    query_text(&query, 1, handover->id);
    query_text(&query, 2, handover->student_id);
    query_text(&query, 3, handover->from_id);
    query_text(&query, 4, handover->to_id);
    query_text(&query, 5, handover->note);
    query_integer(&query, 6, handover->stays);
    query_integer(&query, 7, handover->created);
    query_text(&query, 8, store_handover_status_name(handover->status));
    query_id(&query, 9, handover->answered_by);
    query_time(&query, 10, handover->answered_at);
    query_text(&query, 11, handover->reason);
    query_id(&query, 12, handover->offered_by);
    return query_run(&query);
}

enum store_status store_handover_get(struct store_db *db, const char *id, struct arena *arena,
                                     struct store_handover *out)
{
    struct query query;
    query_open(&query, db, HANDOVER_BY_ID);
    query_text(&query, 1, id);
    return query_one(&query, arena, read_handover, out);
}

enum store_status store_handover_list(struct store_db *db, const char *student_id, const struct store_page *page,
                                      struct arena *arena, struct store_handover_list *out)
{
    struct query query;
    query_open(&query, db, HANDOVER_LIST);
    query_text(&query, 1, student_id);
    query_page_before(&query, 2, page);
    return query_list(&query, arena, page_limit(page), read_handover, out);
}

enum store_status store_handover_offered(struct store_db *db, const char *to_id, struct arena *arena,
                                         struct store_handover_list *out)
{
    struct query query;
    query_open_all(&query, db, HANDOVER_OFFERED, to_id);
    return query_list(&query, arena, STORE_PAGE_MAX, read_handover, out);
}

enum store_status store_handover_answer(struct store_db *db, const struct store_handover *handover)
{
    struct query query;
    query_open(&query, db, HANDOVER_ANSWER);
    query_text(&query, 1, handover->id);
    query_text(&query, 2, store_handover_status_name(handover->status));
    query_text(&query, 3, handover->answered_by);
    query_integer(&query, 4, handover->answered_at);
    query_text(&query, 5, handover->reason);
    query_integer(&query, 6, handover->version);
    return query_run_versioned(&query, HANDOVER_EXISTS, handover->id);
}
