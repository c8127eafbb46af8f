/* Live events: the audit's rows in the order of their commits. */
#include "store/club/event.h"

#include <stdlib.h>

#include "store/engine/query.h"

static void read_event(struct query *query, struct arena *arena, void *item)
{
    struct store_event *out = item;
    (void)arena;
    *out =
        (struct store_event){.number = query_get_integer(query, 0), .readers = (unsigned)query_get_integer(query, 9)};
    query_get_id(query, 1, out->id, sizeof out->id);
    query_get_id(query, 2, out->action, sizeof out->action);
    query_get_id(query, 3, out->entity, sizeof out->entity);
    query_get_id(query, 4, out->object_id, sizeof out->object_id);
    query_get_id(query, 5, out->student_id, sizeof out->student_id);
    query_get_id(query, 6, out->account_id, sizeof out->account_id);
    query_get_id(query, 7, out->from_id, sizeof out->from_id);
    query_get_id(query, 8, out->to_id, sizeof out->to_id);
}

enum store_status store_event_list(struct store_db *db, int64_t from, int64_t to, struct arena *arena,
                                   struct store_event_list *out)
{
    struct query query;
    query_open(&query, db, EVENT_LIST);
    query_integer(&query, 1, from);
    query_integer(&query, 2, STORE_EVENTS_LIST);
    query_integer(&query, 3, to);
    return query_list(&query, arena, STORE_EVENTS_LIST, read_event, out);
}

enum store_status store_event_newest(struct store_db *db, int64_t *number, char id[STORE_EVENT_ID])
{
    struct query query;
    *number = 0;
    id[0] = '\0';
    query_open(&query, db, EVENT_NEWEST);
    enum store_status status = query_row(&query);
    if (status == STORE_OK) {
        *number = query_get_integer(&query, 0);
        query_get_id(&query, 1, id, STORE_EVENT_ID);
        status = query.status;
    }
    query_close(&query);
    return status == STORE_NOT_FOUND ? STORE_OK : status;
}

enum store_status store_event_known(struct store_db *db, const char *id, int64_t *number)
{
    struct query query;
    query_open(&query, db, EVENT_KNOWN);
    query_integer(&query, 1, strtoll(id, NULL, 10));
    query_text(&query, 2, id);
    return query_number(&query, number);
}

enum store_status store_event_audience(struct store_db *db, const char *student_id, struct arena *arena,
                                       struct store_id_list *out)
{
    struct query query;
    query_open_all(&query, db, EVENT_AUDIENCE, student_id);
    return query_list(&query, arena, STORE_PAGE_MAX, query_read_id, out);
}

enum store_status store_event_purge(struct store_db *db)
{
    struct query query;
    query_open(&query, db, EVENT_PURGE);
    query_integer(&query, 1, STORE_EVENTS);
    return query_run(&query);
}
