/* docs/openapi.json against the table of routes, both ways: what the one says the other must say too. */
#include <criterion/criterion.h>
#include <jansson.h>
#include <stdio.h>
#include <string.h>

#include "api/frame/call.h"
#include "base/embed.h"

static const char *const methods[HTTP_METHOD_COUNT] = {"", "get", "post", "put", "patch", "delete"};

static json_t *description_read(void)
{
    json_error_t error;
    cr_assert_eq(embedded_openapi_count, 1, "the description is built in");
    json_t *document =
        json_loadb((const char *)embedded_openapi[0].data, embedded_openapi[0].size, JSON_REJECT_DUPLICATES, &error);
    cr_assert_not_null(document, "line %d: %s", error.line, error.text);
    return document;
}

static const json_t *operation_of(const json_t *document, const struct api_row *row)
{
    return json_object_get(json_object_get(json_object_get(document, "paths"), row->path), methods[row->method]);
}

/* The parameter of this name and place, shared ones followed. */
static const json_t *parameter_find(const json_t *document, const json_t *operation, const char *in, const char *name)
{
    const json_t *list = json_object_get(operation, "parameters");
    const json_t *shared = json_object_get(json_object_get(document, "components"), "parameters");
    for (size_t i = 0; i < json_array_size(list); i++) {
        const json_t *one = json_array_get(list, i);
        const char *reference = json_string_value(json_object_get(one, "$ref"));
        if (reference != NULL) {
            one = json_object_get(shared, strrchr(reference, '/') + 1);
            cr_assert_not_null(one, "%s leads nowhere", reference);
        }
        if (strcmp(json_string_value(json_object_get(one, "name")), name) == 0 &&
            strcmp(json_string_value(json_object_get(one, "in")), in) == 0) {
            return one;
        }
    }
    return NULL;
}

static bool answers(const json_t *operation, const char *status)
{
    return json_object_get(json_object_get(operation, "responses"), status) != NULL;
}

Test(openapi, every_route_is_described_by_its_name)
{
    json_t *document = description_read();
    for (size_t i = 0; i < api_rows_count; i++) {
        const struct api_row *row = &api_rows[i];
        const json_t *operation = operation_of(document, row);
        cr_assert_not_null(operation, "%s %s is not described", methods[row->method], row->path);
        cr_assert_str_eq(json_string_value(json_object_get(operation, "operationId")), row->operation);
        cr_assert_not_null(json_object_get(operation, "summary"), "%s has no summary", row->operation);
    }
    json_decref(document);
}

Test(openapi, every_description_is_a_route)
{
    json_t *document = description_read();
    const char *path;
    const char *method;
    json_t *item;
    json_t *operation;
    size_t count = 0;
    json_object_foreach(json_object_get(document, "paths"), path, item)
    {
        json_object_foreach(item, method, operation)
        {
            bool found = false;
            for (size_t i = 0; i < api_rows_count; i++) {
                found =
                    found || (strcmp(api_rows[i].path, path) == 0 && strcmp(methods[api_rows[i].method], method) == 0);
            }
            cr_assert(found, "%s %s is described and is no route", method, path);
            count++;
        }
    }
    cr_assert_eq(count, api_rows_count);
    json_decref(document);
}

Test(openapi, security_roles_and_scope_are_the_tables)
{
    static const char *const roles[STORE_ROLE_COUNT] = {
        [STORE_HEAD] = "head", [STORE_COACH] = "coach", [STORE_STUDENT] = "student", [STORE_GUARDIAN] = "guardian"};
    static const char *const scopes[] = {
        [RIGHTS_OPEN] = "open", [RIGHTS_CLUB] = "club", [RIGHTS_TEAM] = "team", [RIGHTS_SELF] = "self"};
    json_t *document = description_read();
    cr_assert_gt(json_array_size(json_object_get(document, "security")), 0, "signing in is the rule");
    for (size_t i = 0; i < api_rows_count; i++) {
        const struct api_row *row = &api_rows[i];
        const json_t *operation = operation_of(document, row);
        const json_t *own = json_object_get(operation, "security");
        const json_t *said = json_object_get(operation, "x-roles");
        size_t expected = 0;
        if (row->scope == RIGHTS_OPEN) {
            cr_assert(json_is_array(own) && json_array_size(own) == 0, "%s needs nobody", row->operation);
            cr_assert_eq(json_array_size(said), 0, "%s", row->operation);
            continue;
        }
        cr_assert_null(own, "%s must keep the rule", row->operation);
        cr_assert_str_eq(json_string_value(json_object_get(operation, "x-scope")), scopes[row->scope], "%s",
                         row->operation);
        cr_assert_eq(json_is_true(json_object_get(operation, "x-fresh")), row->fresh, "%s", row->operation);
        for (int role = 0; role < STORE_ROLE_COUNT; role++) {
            bool found = false;
            for (size_t k = 0; k < json_array_size(said); k++) {
                found = found || strcmp(json_string_value(json_array_get(said, k)), roles[role]) == 0;
            }
            cr_assert_eq(found, (row->roles & 1U << role) != 0, "%s: %s", row->operation, roles[role]);
            expected += found;
        }
        cr_assert_eq(json_array_size(said), expected, "%s", row->operation);
    }
    json_decref(document);
}

Test(openapi, bodies_and_their_limits_are_the_tables)
{
    json_t *document = description_read();
    for (size_t i = 0; i < api_rows_count; i++) {
        const struct api_row *row = &api_rows[i];
        const json_t *operation = operation_of(document, row);
        const json_t *body = json_object_get(operation, "requestBody");
        cr_assert_eq(body != NULL, row->body_limit != 0, "%s", row->operation);
        cr_assert_eq((size_t)json_integer_value(json_object_get(operation, "x-body-limit-kib")), row->body_limit >> 10,
                     "%s", row->operation);
        size_t types = 0;
        for (const char *at = row->consumes != NULL ? row->consumes : "application/json";
             body != NULL && *at != '\0';) {
            char type[64];
            const size_t length = strcspn(at, ",");
            (void)snprintf(type, sizeof type, "%.*s", (int)length, at);
            cr_assert_not_null(json_object_get(json_object_get(body, "content"), type), "%s: %s", row->operation, type);
            types++;
            at += length + strspn(at + length, ", ");
        }
        cr_assert_eq(json_object_size(json_object_get(body, "content")), types, "%s", row->operation);
        cr_assert_eq(answers(operation, "413"), row->body_limit != 0, "%s", row->operation);
    }
    json_decref(document);
}

Test(openapi, parameters_are_the_tables)
{
    json_t *document = description_read();
    for (size_t i = 0; i < api_rows_count; i++) {
        const struct api_row *row = &api_rows[i];
        const json_t *operation = operation_of(document, row);
        size_t expected = 0;
        for (const char *at = strchr(row->path, '{'); at != NULL; at = strchr(at + 1, '{')) {
            char name[32];
            (void)snprintf(name, sizeof name, "%.*s", (int)strcspn(at + 1, "}"), at + 1);
            cr_assert_not_null(parameter_find(document, operation, "path", name), "%s: {%s}", row->operation, name);
            expected++;
        }
        for (const char *at = row->queries; at != NULL && *at != '\0';) {
            char name[32];
            const size_t length = strcspn(at, " ");
            (void)snprintf(name, sizeof name, "%.*s", (int)length, at);
            cr_assert_not_null(parameter_find(document, operation, "query", name), "%s: ?%s=", row->operation, name);
            expected++;
            at += length + (at[length] == ' ');
        }
        const json_t *key = parameter_find(document, operation, "header", "Idempotency-Key");
        const json_t *match = parameter_find(document, operation, "header", "If-Match");
        const json_t *last = parameter_find(document, operation, "header", "Last-Event-ID");
        cr_assert_eq(key != NULL, row->keyed, "%s", row->operation);
        cr_assert_eq(last != NULL, row->throttle == THROTTLE_LISTEN, "%s", row->operation);
        expected += (last != NULL) + (key != NULL) + (match != NULL) +
                    (parameter_find(document, operation, "header", PRINCIPAL_DEVICE_HEADER) != NULL);
        cr_assert_eq(json_array_size(json_object_get(operation, "parameters")), expected,
                     "%s: something is described that the table does not know", row->operation);
        /* what is edited in place needs the version that was read */
        const bool edits = row->method == HTTP_PATCH || strcmp(row->operation, "putStandard") == 0 ||
                           strcmp(row->operation, "putMarkers") == 0 || strcmp(row->operation, "correctMarks") == 0 ||
                           strcmp(row->operation, "putOpinion") == 0 || strcmp(row->operation, "takeSpread") == 0 ||
                           strcmp(row->operation, "restoreStandard") == 0;
        cr_assert_eq(match != NULL, edits, "%s", row->operation);
        cr_assert_eq(answers(operation, "412") && answers(operation, "428"), edits, "%s", row->operation);
    }
    json_decref(document);
}

Test(openapi, refusals_fit_the_rights)
{
    json_t *document = description_read();
    for (size_t i = 0; i < api_rows_count; i++) {
        const struct api_row *row = &api_rows[i];
        const json_t *operation = operation_of(document, row);
        const bool signed_in = row->scope != RIGHTS_OPEN;
        const bool signs_in = row->throttle == THROTTLE_SIGN_IN;
        /* nobody is refused what every role may do at any time, unless it changes something from another site's page */
        const bool refusable =
            signed_in && (row->roles != RIGHTS_EVERYONE || !row->while_temporary || row->method != HTTP_GET);
        cr_assert_eq(answers(operation, "401"), signed_in || signs_in, "%s", row->operation);
        cr_assert_eq(answers(operation, "403"), refusable || signs_in, "%s", row->operation);
        cr_assert_eq(answers(operation, "429"), row->throttle != THROTTLE_NONE, "%s", row->operation);
        if (row->scope == RIGHTS_TEAM || strchr(row->path, '{') != NULL) {
            cr_assert(answers(operation, "404"), "%s", row->operation);
        }
        cr_assert(answers(operation, "4XX") && answers(operation, "5XX"), "%s", row->operation);
    }
    json_decref(document);
}

/* Every reference leads somewhere. */
static void references_check(const json_t *document, const json_t *at, int *count)
{
    const char *key;
    json_t *value;
    for (size_t i = 0; i < json_array_size(at); i++) {
        references_check(document, json_array_get(at, i), count);
    }
    json_object_foreach((json_t *)at, key, value)
    {
        if (strcmp(key, "$ref") != 0) {
            references_check(document, value, count);
            continue;
        }
        char kind[32];
        char name[64];
        cr_assert_eq(sscanf(json_string_value(value), "#/components/%31[a-zA-Z]/%63s", kind, name), 2, "%s",
                     json_string_value(value));
        cr_assert_not_null(json_object_get(json_object_get(json_object_get(document, "components"), kind), name), "%s",
                           json_string_value(value));
        (*count)++;
    }
}

Test(openapi, references_lead_somewhere)
{
    int count = 0;
    json_t *document = description_read();
    references_check(document, document, &count);
    cr_assert_gt(count, 100, "%d references", count);
    json_decref(document);
}
