/* See body.h. The refusal is kept until the end, so that a handler reads straight down. */
#include "api/frame/body.h"

bool body_begin(struct body *body, struct call *call, const char *const *keys, bool may_be_empty)
{
    size_t length;
    const char *text = exchange_body(call->exchange, &length);
    *body = (struct body){.call = call, .in = {.arena = call->arena, .error = &body->error}};
    if (length == 0 && may_be_empty) {
        body->json = json_object();
        if (body->json == NULL) {
            call_problem_store(call, STORE_NO_MEMORY);
            return false;
        }
    } else {
        body->json = tree_parse(text, length, &body->error);
    }
    if (body->json == NULL) {
        exchange_problem(call->exchange, 400, "not-json", "", "%s.", body->error.what);
        return false;
    }
    body->in.value = body->json;
    return tree_keys(&body->in, keys) || body_end(body);
}

bool body_end(struct body *body)
{
    json_decref(body->json);
    body->json = NULL;
    if (body->in.failed) {
        const char *what = body->error.what;
        exchange_problem(body->call->exchange, 422, "invalid", body->error.path, "%s%s%s.", body->error.path,
                         body->error.path[0] == '\0' ? "" : ": ", what[0] == '\0' ? "not acceptable" : what);
    }
    return !body->in.failed;
}
