/* The inbox: what students said with their homework and what their coaches have to tell each other, until each of whom
 * it concerns has seen it. */
#include <stdio.h>
#include <string.h>

#include "api/club/handlers.h"
#include "api/frame/answer.h"
#include "api/frame/body.h"
#include "api/people/student_json.h"
#include "api/practice/homework_write.h"
#include "store/club/inbox.h"

static void item_write(struct json_out *out, const struct store_inbox *item)
{
    json_out_object(out, NULL);
    json_out_text(out, "id", item->id);
    json_out_text(out, "kind", item->kind);
    json_out_bool(out, "urgent", item->urgent);
    answer_time(out, "created", item->created);
    json_out_text(out, "student_id", item->student_id);
    json_out_text(out, "student_name", item->student_name);
    json_out_text(out, "still", item->still);
    json_out_text(out, "open_fault", item->open_fault);
    answer_id(out, "homework_id", item->done.homework_id);
    answer_id(out, "drill", item->drill_id);
    json_out_text(out, "drill_name", item->drill_name);
    json_out_text(out, "fault", item->fault);
    answer_id(out, "account_id", item->done.account_id);
    answer_time(out, "done_at", item->done.done_at);
    homework_tick_write(out, &item->done);
    json_out_bool(out, "paused", item->paused_at != 0);
    answer_id(out, "by", item->by_id);
    json_out_text(out, "by_name", item->by_name);
    json_out_text(out, "note", item->note);
    answer_id(out, "handover_id", item->handover_id);
    answer_id(out, "fix_id", item->fix_id);
    answer_id(out, "retest_id", item->retest_id);
    answer_time(out, "due_at", item->due_at);
    json_out_text(out, "fix_status", item->fix_status);
    if (item->conflicts == NULL) {
        json_out_null(out, "conflicts");
    } else {
        json_out_raw(out, "conflicts", item->conflicts, strlen(item->conflicts));
    }
    answer_id(out, "request_id", item->request_id);
    json_out_text(out, "scope", item->scope);
    answer_time(out, "asked_at", item->asked_at);
    if (item->answered == 0) {
        json_out_null(out, "agreed");
    } else {
        json_out_bool(out, "agreed", item->answered > 0);
    }
    student_comes_of_age(out, item->adult_from);
    json_out_end_object(out);
}

void inbox_list(struct call *call)
{
    struct store_page page;
    struct store_inbox_list list;
    struct json_out out;
    if (!call_page(call, &page)) {
        return;
    }
    const struct principal *principal = call->principal;
    const enum store_status status = store_inbox_list(call->db, principal->account_id, principal->role == STORE_HEAD,
                                                      call->now, &page, call->arena, &list);
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return;
    }
    json_out_start(&out, call->arena);
    json_out_object(&out, NULL);
    answer_integer(&out, "waiting", list.waiting);
    json_out_array(&out, "inbox");
    for (size_t i = 0; i < list.count; i++) {
        item_write(&out, &list.items[i]);
    }
    answer_list_end(call, &out, ANSWER_NEXT(list));
}

static enum store_status seen_job(struct store_db *db, struct write *write)
{
    const char *id = write->data;
    return store_inbox_see(db, id, write->call.principal->account_id, write->call.now);
}

void inbox_seen(struct call *call)
{
    static const char *const keys[] = {NULL};
    struct body body;
    char *id = arena_strdup(call->arena, exchange_capture(call->exchange, 0));
    if (id == NULL) {
        answer_no_memory(call);
        return;
    }
    if (!body_begin(&body, call, keys, true) || !body_end(&body)) {
        return;
    }
    struct write *write = write_new(call, seen_job, id);
    if (write != NULL) {
        write->status = 204;
        answer_audit(write, "inbox.see", "inbox", id, call->student_id);
        call_write(write);
    }
}
