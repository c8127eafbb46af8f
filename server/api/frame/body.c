/* See body.h: thin over wire_json.h, with the refusal kept until the end so that a handler reads straight down. */
#include "api/frame/body.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static void answer(struct body *body)
{
    const char *what = body->error.what;
    exchange_problem(body->call->exchange, 422, "invalid", body->error.path, "%s%s%s.", body->error.path,
                     body->error.path[0] == '\0' ? "" : ": ", what[0] == '\0' ? "not acceptable" : what);
}

bool body_begin(struct body *body, struct call *call, const char *const *keys, bool may_be_empty)
{
    size_t length;
    const char *text = exchange_body(call->exchange, &length);
    *body = (struct body){.call = call};
    if (length == 0 && may_be_empty) {
        body->json = json_object();
        if (body->json == NULL) {
            call_problem_store(call, STORE_NO_MEMORY);
        }
        return body->json != NULL;
    }
    body->json = wire_parse(text, length, &body->error);
    if (body->json == NULL) {
        exchange_problem(call->exchange, 400, "not-json", "", "%s.", body->error.what);
        return false;
    }
    if (!wire_object(body->json, keys, NULL, &body->error)) {
        answer(body);
        json_decref(body->json);
        return false;
    }
    return true;
}

bool body_end(struct body *body)
{
    json_decref(body->json);
    body->json = NULL;
    if (body->failed) {
        answer(body);
    }
    return !body->failed;
}

bool body_refuse(struct body *body, const char *path, const char *format, ...)
{
    if (!body->failed) {
        va_list arguments;
        va_start(arguments, format);
        (void)snprintf(body->error.path, sizeof body->error.path, "%s", path);
        (void)vsnprintf(body->error.what, sizeof body->error.what, format, arguments);
        va_end(arguments);
    }
    body->failed = true;
    return false;
}

/* Keeps the first fault. */
static bool judge(struct body *body, bool good)
{
    body->failed = body->failed || !good;
    return good;
}

bool body_has(const struct body *body, const char *key)
{
    return json_object_get(body->json, key) != NULL;
}

static bool is_cleared(const struct body *body, const char *key)
{
    const json_t *value = json_object_get(body->json, key);
    return json_is_null(value) || (json_is_string(value) && json_string_length(value) == 0);
}

bool body_text(struct body *body, const char *key, bool required, size_t max, const char **out)
{
    return !body->failed &&
           judge(body, wire_text(body->call->arena, body->json, key, required, max, out, NULL, &body->error));
}

bool body_name(struct body *body, const char *key, bool required, size_t max, const char **out)
{
    return !body->failed &&
           judge(body, wire_name(body->call->arena, body->json, key, required, max, out, NULL, &body->error));
}

bool body_text_clear(struct body *body, const char *key, size_t max, const char **out, bool *given)
{
    if (given != NULL) {
        *given = body_has(body, key);
    }
    if (is_cleared(body, key)) {
        *out = NULL;
        return !body->failed;
    }
    return body_text(body, key, false, max, out);
}

bool body_bool(struct body *body, const char *key, bool required, bool *out)
{
    return !body->failed && judge(body, wire_boolean(body->json, key, required, out, NULL, &body->error));
}

bool body_integer(struct body *body, const char *key, bool required, int low, int high, int *out)
{
    return !body->failed && judge(body, wire_integer(body->json, key, required, low, high, out, NULL, &body->error));
}

bool body_number_clear(struct body *body, const char *key, double low, double high, double *out, bool *has)
{
    if (json_is_null(json_object_get(body->json, key))) {
        *has = false;
        *out = 0;
        return !body->failed;
    }
    return !body->failed && judge(body, wire_number(body->json, key, false, low, high, out, has, NULL, &body->error));
}

bool body_time(struct body *body, const char *key, bool required, int64_t *out)
{
    const char *text = NULL;
    if (!required && is_cleared(body, key)) {
        *out = 0;
        return !body->failed;
    }
    if (!body_text(body, key, required, 40, &text)) {
        return false;
    }
    if (text != NULL && !time_parse(text, out)) {
        return body_refuse(body, key, "must be a time with its zone, like 2026-05-02T09:14:05Z");
    }
    return true;
}

bool body_uuid(struct body *body, const char *key, bool required, char out[UUID_TEXT])
{
    const char *text = NULL;
    if (!body_text(body, key, required, 64, &text)) {
        return false;
    }
    if (text != NULL && !uuid_valid(text)) {
        return body_refuse(body, key, "must be an id");
    }
    if (text != NULL) {
        memcpy(out, text, UUID_TEXT);
    }
    return true;
}
