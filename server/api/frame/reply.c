/* How calls end: JSON with its ETag, a page's Link, and the one place where the store's outcomes become HTTP's. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "api/frame/call.h"

void call_reply_json(struct call *call, int status, const char *json, size_t length, int64_t etag, const char *location)
{
    struct exchange *exchange = call->exchange;
    if (etag != 0) {
        char tag[32];
        (void)snprintf(tag, sizeof tag, "\"%lld\"", (long long)etag);
        exchange_add_header(exchange, "ETag", tag);
    }
    if (location != NULL) {
        exchange_add_header(exchange, "Location", location);
    }
    if (status == 204) {
        exchange_reply_empty(exchange, 204);
    } else if (json == NULL) {
        exchange_problem(exchange, 500, "memory", NULL, "Memory is short.");
    } else {
        exchange_reply(exchange, status, "application/json", json, length);
    }
}

void call_problem_store(struct call *call, enum store_status status)
{
    struct exchange *exchange = call->exchange;
    switch (status) {
    case STORE_NOT_FOUND:
        exchange_problem(exchange, 404, "not-found", NULL, "There is nothing here for you under this address.");
        break;
    case STORE_CONFLICT:
        exchange_problem(exchange, 409, "conflict", NULL,
                         "Something with that name or in that place is there already.");
        break;
    case STORE_STALE:
        exchange_problem(exchange, 412, "stale", NULL,
                         "It was changed meanwhile: read it again and send its new ETag as If-Match.");
        break;
    case STORE_INVALID:
        exchange_problem(exchange, 422, "invalid", NULL, "A value is not one that can be kept.");
        break;
    case STORE_FULL:
        atomic_store(&call->api->write_try_ns, 0); /* /readyz finds out for itself */
        exchange_add_header(exchange, "Retry-After", "60");
        exchange_problem(exchange, 507, "disk-full", NULL, "The server's disk is full; nothing was changed.");
        break;
    case STORE_BUSY:
    case STORE_CLOSED:
        exchange_add_header(exchange, "Retry-After", "1");
        exchange_problem(exchange, 503, "busy", NULL, "The server can't take this just now; nothing was changed.");
        break;
    case STORE_OK:
    case STORE_UNAUDITED:
    case STORE_CORRUPT:
    case STORE_NO_MEMORY:
    case STORE_ERROR:
    case STORE_STATUS_COUNT:
        exchange_problem(exchange, 500, "store", NULL, "The club's file could not be used (%s); nothing was changed.",
                         store_status_name(status));
        break;
    }
}

bool call_if_match(struct call *call, int64_t *version)
{
    const char *tag = exchange_header(call->exchange, "If-Match");
    if (tag == NULL) {
        exchange_problem(call->exchange, 428, "precondition-required", NULL,
                         "If-Match is missing: send the ETag of what you read.");
        return false;
    }
    char *end = NULL;
    size_t length = strlen(tag);
    bool shaped = length >= 3 && length <= 20 && tag[0] == '"' && tag[1] >= '0' && tag[1] <= '9';
    long long value = shaped ? strtoll(tag + 1, &end, 10) : 0;
    if (!shaped || end != tag + length - 1 || *end != '"' || value <= 0) {
        exchange_problem(call->exchange, 412, "stale", NULL, "If-Match must be one ETag of this server, like \"3\".");
        return false;
    }
    *version = value;
    return true;
}

bool call_page(struct call *call, struct store_page *page)
{
    const char *limit = exchange_query(call->exchange, "limit");
    *page = (struct store_page){.after = exchange_query(call->exchange, "after"), .limit = 50};
    if (limit != NULL) {
        char *end = NULL;
        long value = limit[0] >= '0' && limit[0] <= '9' && strlen(limit) < 5 ? strtol(limit, &end, 10) : 0;
        if (value < 1 || value > STORE_PAGE_MAX || *end != '\0') {
            exchange_problem(call->exchange, 422, "invalid", "limit", "limit must be from 1 to %d.", STORE_PAGE_MAX);
            return false;
        }
        page->limit = (int)value;
    }
    const char *at = page->after;
    if (at != NULL && (*at == '\0' || strlen(at) >= STORE_SLUG ||
                       strspn(at, "abcdefghijklmnopqrstuvwxyz0123456789-_") != strlen(at))) {
        exchange_problem(call->exchange, 422, "invalid", "after", "after must be the last id of the page before.");
        return false;
    }
    return true;
}

/* The path and the queries as they came, but for after. */
static char *next_address(struct call *call, const char *last_id)
{
    char *address = arena_strdup(call->arena, "");
    int capture = 0;
    for (const char *at = call->row->path; *at != '\0' && address != NULL;) {
        size_t plain = strcspn(at, "{");
        address = arena_printf(call->arena, "%s%.*s", address, (int)plain, at);
        at += plain;
        if (*at == '{' && address != NULL) {
            address = arena_printf(call->arena, "%s%s", address, exchange_capture(call->exchange, capture++));
            at += strcspn(at, "}") + 1;
        }
    }
    char mark = '?';
    const char *names = call->row->queries == NULL ? "" : call->row->queries;
    while (*names != '\0' && address != NULL) {
        size_t length = strcspn(names, " ");
        char *name = arena_strndup(call->arena, names, length);
        const char *value = name == NULL || strcmp(name, "after") == 0 ? NULL : exchange_query(call->exchange, name);
        if (value != NULL && strspn(value, "abcdefghijklmnopqrstuvwxyz0123456789-_") == strlen(value)) {
            address = arena_printf(call->arena, "%s%c%s=%s", address, mark, name, value);
            mark = '&';
        }
        names += length + (names[length] == ' ');
    }
    return address == NULL ? NULL : arena_printf(call->arena, "<%s%cafter=%s>; rel=\"next\"", address, mark, last_id);
}

void call_link_next(struct call *call, bool more, const char *last_id)
{
    char *link = more ? next_address(call, last_id) : NULL;
    if (link != NULL) {
        exchange_add_header(call->exchange, "Link", link);
    }
}
