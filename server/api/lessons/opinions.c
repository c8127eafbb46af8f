/* Second opinions on a swing. Whoever looks says first, fault by fault, what they see; only then are the others' and
 * the report's words shown. What was said first stays beside whatever is said later. */
#include <string.h>

#include "api/frame/answer.h"
#include "api/frame/body.h"
#include "api/frame/precondition.h"
#include "api/lessons/handlers.h"
#include "store/lessons/opinion.h"
#include "store/lessons/swing.h"
#include "wire/report/opinion.h"

static void opinion_write(struct json_out *out, const struct store_opinion *opinion)
{
    json_out_object(out, NULL);
    json_out_text(out, "account_id", opinion->account_id);
    json_out_raw(out, "faults", opinion->now, strlen(opinion->now));
    json_out_raw(out, "first", opinion->first, strlen(opinion->first));
    answer_time(out, "created", opinion->created);
    answer_time(out, "changed_at", opinion->changed_at);
    answer_integer(out, "version", opinion->version);
    json_out_end_object(out);
}

/* NULL: the caller has given none. */
static const struct store_opinion *own_of(const struct call *call, const struct store_opinion_list *list)
{
    for (size_t i = 0; i < list->count; i++) {
        if (strcmp(list->items[i].account_id, call->principal->account_id) == 0) {
            return &list->items[i];
        }
    }
    return NULL;
}

/* ---- reading ---- */

/* What the newest report says; null when it is of no swing that was judged. */
static enum store_status core_write(struct call *call, struct json_out *out)
{
    struct store_report report;
    struct opinions said;
    const enum store_status status =
        store_report_of_swing(call->db, exchange_capture(call->exchange, 0), call->arena, &report);
    if (status == STORE_OK && opinions_of_report(report.json, report.json_size, &said)) {
        opinions_write(out, "core", &said);
    } else {
        json_out_null(out, "core");
    }
    return status == STORE_NOT_FOUND ? STORE_OK : status;
}

void opinions_list(struct call *call)
{
    struct store_opinion_list list;
    struct json_out out;
    enum store_status status = store_opinion_list(call->db, exchange_capture(call->exchange, 0), call->arena, &list);
    if (!answer_list_begin(call, &out, status, "opinions")) {
        return;
    }
    const struct store_opinion *own = own_of(call, &list);
    for (size_t i = 0; i < list.count && own != NULL; i++) {
        opinion_write(&out, &list.items[i]);
    }
    json_out_end_array(&out);
    answer_integer(&out, "given", (int64_t)list.count);
    json_out_bool(&out, "blind", own == NULL);
    if (own == NULL) {
        json_out_null(&out, "core");
    } else {
        status = core_write(call, &out);
    }
    json_out_end_object(&out);
    if (status != STORE_OK) {
        call_problem_store(call, status);
    } else if (own != NULL) {
        answer_json_moving(call, &out, own->version);
    } else {
        answer_json(call, &out, 0);
    }
}

/* ---- giving ---- */

/* {"crowding": "present", …} of the body. NULL: answered. */
static const char *said_read(struct call *call)
{
    const char *keys[FAULT_COUNT + 1] = {NULL};
    struct opinions said;
    struct body body;
    struct json_out out;
    size_t length;
    bool any = false;
    for (int i = 0; i < FAULT_COUNT; i++) {
        keys[i] = fault_name((enum fault_id)i);
    }
    if (!body_begin(&body, call, keys, false)) {
        return NULL;
    }
    for (int i = 0; i < FAULT_COUNT; i++) {
        const char *text = NULL;
        enum opinion one;
        said.of[i] = OPINION_NONE;
        if (!tree_text(&body.in, keys[i], false, 16, &text) || text == NULL) {
            continue;
        }
        if (opinion_parse(text, &one)) {
            said.of[i] = (signed char)one;
            any = true;
        } else {
            tree_refuse(&body.in, keys[i], "must be present, absent or cant_see");
        }
    }
    if (!any && !body.in.failed) {
        tree_refuse(&body.in, NULL, "must say of at least one fault whether it is present, absent or cant_see");
    }
    if (!body_end(&body)) {
        return NULL;
    }
    json_out_start(&out, call->arena);
    opinions_write(&out, NULL, &said);
    const char *json = json_out_finish(&out, &length);
    if (json == NULL) {
        answer_no_memory(call);
    }
    return json;
}

/* A swing that is not to be counted is not judged either. False: answered. */
static bool counts(struct call *call)
{
    struct store_swing swing;
    const enum store_status status =
        store_swing_get(call->db, exchange_capture(call->exchange, 0), false, call->arena, &swing);
    if (status != STORE_OK) {
        call_problem_store(call, status);
    } else if (swing.voided.at != 0) {
        exchange_problem(call->exchange, 422, "voided-swing", NULL, "This swing is not to be counted.");
    }
    return status == STORE_OK && swing.voided.at == 0;
}

static enum store_status give_job(struct store_db *db, struct write *write)
{
    struct store_opinion *opinion = write->data;
    struct json_out out;
    const enum store_status status = store_opinion_put(db, opinion);
    if (status == STORE_CONFLICT) {
        return STORE_STALE; /* one's own came in meanwhile */
    }
    if (status != STORE_OK) {
        return status;
    }
    write->etag = opinion->version;
    json_out_start(&out, write->call.arena);
    opinion_write(&out, opinion);
    return answer_write(write, &out, 200) ? STORE_OK : STORE_NO_MEMORY;
}

/* May it be put in the place of what there is? False: answered, with what there is when that says the same. */
static bool may_replace(struct call *call, const struct store_opinion *own, const char *said)
{
    struct json_out out;
    if (own == NULL) {
        const bool named = exchange_header(call->exchange, "If-Match") != NULL;
        if (named) {
            call_problem_store(call, STORE_STALE);
        }
        return !named;
    }
    if (strcmp(own->now, said) != 0) {
        return precondition_edit(call, own->version);
    }
    json_out_start(&out, call->arena);
    opinion_write(&out, own);
    answer_json(call, &out, own->version);
    return false;
}

void opinions_put(struct call *call)
{
    struct store_opinion_list list;
    struct store_opinion *opinion = arena_alloc(call->arena, sizeof *opinion);
    const char *said = said_read(call);
    if (said == NULL || !counts(call)) {
        return;
    }
    const enum store_status status =
        store_opinion_list(call->db, exchange_capture(call->exchange, 0), call->arena, &list);
    if (status != STORE_OK || opinion == NULL) {
        call_problem_store(call, opinion == NULL ? STORE_NO_MEMORY : status);
        return;
    }
    const struct store_opinion *own = own_of(call, &list);
    if (!may_replace(call, own, said)) {
        return;
    }
    if (own == NULL) {
        uuid7_new(opinion->id);
        memcpy(opinion->account_id, call->principal->account_id, UUID_TEXT);
        opinion->created = call->now;
        opinion->first = said;
    } else {
        *opinion = *own;
        opinion->changed_at = call->now;
    }
    memcpy(opinion->swing_id, exchange_capture(call->exchange, 0), UUID_TEXT);
    opinion->now = said;
    struct write *write = write_new(call, give_job, opinion);
    if (write != NULL) {
        answer_audit(write, own == NULL ? "opinion.give" : "opinion.change", "opinion", opinion->id, call->student_id);
        call_write(write);
    }
}
