/* Consents. */
#include "store/people/consent.h"

#include "store/engine/query.h"
#include "store/people/student.h"

const char *const store_consent_scopes[STORE_CONSENT_SCOPES] = {"store_pictures", "share_with_club", "teach_with"};

static void read_consent(struct query *query, struct arena *arena, void *item)
{
    struct store_consent *out = item;
    *out = (struct store_consent){0};
    query_get_id(query, 0, out->id, sizeof out->id);
    query_get_id(query, 1, out->student_id, sizeof out->student_id);
    out->scope = query_get_text(query, 2, arena);
    out->as_junior = query_get_integer(query, 3) != 0;
    out->said_by = query_get_text(query, 4, arena);
    query_get_id(query, 5, out->recorded_by, sizeof out->recorded_by);
    out->given_at = query_get_integer(query, 6);
    out->expires = query_get_integer(query, 7);
    out->withdrawn_at = query_get_integer(query, 8);
    query_get_id(query, 9, out->withdrawn_by, sizeof out->withdrawn_by);
    out->counts = query_get_integer(query, 10) != 0;
}

enum store_status store_consent_insert(struct store_db *db, const struct store_consent *consent)
{
    struct query query;
    query_open(&query, db, CONSENT_INSERT);
    query_text(&query, 1, consent->id);
    query_text(&query, 2, consent->student_id);
    query_text(&query, 3, consent->scope);
    query_text(&query, 4, consent->said_by);
    query_id(&query, 5, consent->recorded_by);
    query_time(&query, 6, consent->given_at);
    query_time(&query, 7, consent->expires);
    query_time(&query, 8, consent->withdrawn_at);
    query_id(&query, 9, consent->withdrawn_by);
    const enum store_status status = query_run_one(&query);
    return status == STORE_OK ? store_student_touch(db, consent->student_id) : status;
}

enum store_status store_consent_list(struct store_db *db, const char *student_id, struct arena *arena,
                                     struct store_consent_list *out)
{
    struct query query;
    query_open_all(&query, db, CONSENT_LIST, student_id);
    return query_list(&query, arena, STORE_PAGE_MAX, read_consent, out);
}

enum store_status store_consent_withdraw(struct store_db *db, const char *student_id, const char *scope,
                                         const char *account_id, int64_t now, char id[UUID_TEXT])
{
    struct query query;
    query_open(&query, db, CONSENT_NEWEST);
    query_text(&query, 1, student_id);
    query_text(&query, 2, scope);
    enum store_status status = query_one(&query, NULL, query_read_id, id);
    if (status != STORE_OK) {
        return status;
    }
    query_open(&query, db, CONSENT_WITHDRAW);
    query_text(&query, 1, id);
    query_integer(&query, 2, now);
    query_text(&query, 3, account_id);
    status = query_run_one(&query);
    return status == STORE_OK ? store_student_touch(db, student_id) : status;
}

enum store_status store_consent_ask(struct store_db *db, const struct store_request *request)
{
    struct query query;
    query_open(&query, db, CONSENT_ASK);
    query_text(&query, 1, request->id);
    query_text(&query, 2, request->student_id);
    query_text(&query, 3, request->scope);
    query_text(&query, 4, request->note);
    query_text(&query, 5, request->asked_by);
    query_integer(&query, 6, request->asked_at);
    return query_run(&query);
}

static void read_request(struct query *query, struct arena *arena, void *item)
{
    struct store_request *out = item;
    *out = (struct store_request){0};
    query_get_id(query, 0, out->id, sizeof out->id);
    query_get_id(query, 1, out->student_id, sizeof out->student_id);
    out->scope = query_get_text(query, 2, arena);
    out->note = query_get_text(query, 3, arena);
    query_get_id(query, 4, out->asked_by, sizeof out->asked_by);
    out->asked_by_name = query_get_text(query, 5, arena);
    out->asked_at = query_get_integer(query, 6);
    out->answered_at = query_get_integer(query, 7);
    out->answer = (int)query_get_integer(query, 8);
}

enum store_status store_consent_requests(struct store_db *db, const char *student_id, struct arena *arena,
                                         struct store_request_list *out)
{
    struct query query;
    query_open_all(&query, db, CONSENT_REQUESTS, student_id);
    return query_list(&query, arena, STORE_PAGE_MAX, read_request, out);
}

enum store_status store_consent_pictures(struct store_db *db, const char *student_id, bool *out)
{
    struct query query;
    int64_t may;
    query_open(&query, db, CONSENT_PICTURES);
    query_text(&query, 1, student_id);
    const enum store_status status = query_number(&query, &may);
    *out = may != 0;
    return status;
}
