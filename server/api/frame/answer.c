/* Small pieces that several resources' answers are made of. */
#include "api/frame/answer.h"

#include <stdio.h>

void answer_time(struct json_out *out, const char *key, int64_t ms)
{
    char text[TIME_TEXT];
    if (ms == 0) {
        json_out_null(out, key);
        return;
    }
    time_format(ms, text);
    json_out_text(out, key, text);
}

void answer_id(struct json_out *out, const char *key, const char *id)
{
    json_out_text(out, key, id[0] == '\0' ? NULL : id);
}

void answer_integer(struct json_out *out, const char *key, int64_t value)
{
    json_out_number(out, key, (double)value, 0);
}

void answer_no_memory(struct call *call)
{
    call_problem_store(call, STORE_NO_MEMORY);
}

bool answer_list_begin(struct call *call, struct json_out *out, enum store_status status, const char *name)
{
    if (status != STORE_OK) {
        call_problem_store(call, status);
        return false;
    }
    json_out_start(out, call->arena);
    json_out_object(out, NULL);
    json_out_array(out, name);
    return true;
}

void answer_list_end(struct call *call, struct json_out *out, const char *next_after)
{
    json_out_end_array(out);
    json_out_end_object(out);
    if (next_after != NULL) {
        call_link_next(call, next_after);
    }
    answer_json(call, out, 0);
}

void answer_json(struct call *call, struct json_out *out, int64_t etag)
{
    size_t length;
    const char *json = json_out_finish(out, &length);
    if (json == NULL) {
        answer_no_memory(call);
        return;
    }
    call_reply_json(call, 200, json, length, etag, NULL);
}

void answer_json_moving(struct call *call, struct json_out *out, int64_t version)
{
    size_t length;
    const char *json = json_out_finish(out, &length);
    if (json == NULL) {
        answer_no_memory(call);
        return;
    }
    call_reply_moving(call, json, length, version);
}

bool answer_write(struct write *write, struct json_out *out, int status)
{
    write->status = status;
    write->json = json_out_finish(out, &write->json_length);
    return write->json != NULL;
}

void answer_audit(struct write *write, const char *action, const char *kind, const char *object_id,
                  const char *student_id)
{
    struct store_audit *audit = &write->audit;
    audit->at = write->call.now;
    audit->action = action;
    audit->object_kind = kind;
    (void)snprintf(audit->account_id, sizeof audit->account_id, "%s", write->call.principal->account_id);
    (void)snprintf(audit->object_id, sizeof audit->object_id, "%s", object_id);
    (void)snprintf(audit->student_id, sizeof audit->student_id, "%s", student_id);
}
