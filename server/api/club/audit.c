/* Who did what, for the head: ids, kinds and names of fields only, never what was written. */
#include "store/club/audit.h"

#include <string.h>

#include "api/club/handlers.h"
#include "api/frame/answer.h"

static void row_write(struct json_out *out, const struct store_audit *row)
{
    json_out_object(out, NULL);
    json_out_text(out, "id", row->id);
    answer_time(out, "at", row->at);
    answer_id(out, "account_id", row->account_id);
    json_out_text(out, "action", row->action);
    json_out_text(out, "entity", row->object_kind);
    answer_id(out, "entity_id", row->object_id);
    answer_id(out, "student_id", row->student_id);
    if (row->detail != NULL) {
        json_out_raw(out, "detail", row->detail, strlen(row->detail));
    } else {
        json_out_null(out, "detail");
    }
    json_out_end_object(out);
}

/* An id in ?name=; NULL when absent. False: answered. */
static bool id_query(struct call *call, const char *name, const char **id)
{
    *id = exchange_query(call->exchange, name);
    if (*id == NULL || uuid_valid(*id)) {
        return true;
    }
    exchange_problem(call->exchange, 422, "invalid", name, "%s: must be an id.", name);
    return false;
}

void audit_list(struct call *call)
{
    struct store_page page;
    struct store_audit_list list;
    struct json_out out;
    const char *account;
    const char *student;
    if (!call_page(call, &page) || !id_query(call, "account", &account) || !id_query(call, "student", &student)) {
        return;
    }
    const enum store_status status = store_audit_list(call->db, account, student, &page, call->arena, &list);
    if (!answer_list_begin(call, &out, status, "audit")) {
        return;
    }
    for (size_t i = 0; i < list.count; i++) {
        row_write(&out, &list.items[i]);
    }
    answer_list_end(call, &out, ANSWER_NEXT(list));
}
