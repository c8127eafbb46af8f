/* How calls end: JSON with its ETag, and a page's Link. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "api/frame/precondition.h"

/* With its ETag. True: told that the caller has it already. */
static bool reply_tagged(struct call *call, const char *tag)
{
    exchange_add_header(call->exchange, "ETag", tag);
    return call->row->method == HTTP_GET && precondition_unchanged(call, tag);
}

bool precondition_moving(struct call *call, int64_t version, const char *text, size_t length)
{
    char tag[PRECONDITION_TAG];
    precondition_tag(version, text, length, tag);
    return reply_tagged(call, tag);
}

void call_reply_moving(struct call *call, const char *json, size_t length, int64_t version)
{
    if (!precondition_moving(call, version, json, length)) {
        call_reply_json(call, 200, json, length, 0, NULL);
    }
}

void call_reply_json(struct call *call, int status, const char *json, size_t length, int64_t etag, const char *location)
{
    struct exchange *exchange = call->exchange;
    if (etag != 0) {
        char tag[PRECONDITION_TAG];
        precondition_tag(etag, NULL, 0, tag);
        if (reply_tagged(call, tag)) {
            return;
        }
    }
    if (location != NULL) {
        exchange_add_header(exchange, "Location", location);
    }
    if (status == 204) {
        exchange_reply_empty(exchange, 204);
    } else if (json == NULL) {
        call_problem_store(call, STORE_NO_MEMORY);
    } else {
        exchange_reply(exchange, status, "application/json", json, length);
    }
}

#define NAME_PART_MAX 200

/* The ids of built-in drills are words. */
static bool slug_valid(const char *text)
{
    const size_t length = strlen(text);
    return length > 0 && length < STORE_SLUG && strspn(text, "abcdefghijklmnopqrstuvwxyz0123456789-_") == length;
}

static bool refuse_query(struct call *call, const char *name, const char *rule)
{
    exchange_problem(call->exchange, 422, "invalid", name, "%s must be %s.", name, rule);
    return false;
}

/* 0 when it is not asked for; the first moment of 1970 is taken for the one after. False: answered. */
static bool time_query(struct call *call, const char *name, int64_t *out)
{
    const char *text = exchange_query(call->exchange, name);
    *out = 0;
    if (text != NULL && !time_parse(text, out)) {
        return refuse_query(call, name, "a time like 2026-05-02T09:00:00Z");
    }
    *out += text != NULL && *out == 0;
    return true;
}

/* ?name=true or false; 0 when it is not asked for, else 1 or -1. False: answered. */
static bool truth_query(struct call *call, const char *name, int *out)
{
    const char *text = exchange_query(call->exchange, name);
    *out = text == NULL ? 0 : strcmp(text, "true") == 0 ? 1 : -1;
    return *out >= 0 || strcmp(text, "false") == 0 || refuse_query(call, name, "true or false");
}

bool call_narrow(struct call *call, struct store_page *page)
{
    int disabled;
    page->name = exchange_query(call->exchange, "name");
    if (page->name != NULL && (page->name[0] == '\0' || strlen(page->name) > NAME_PART_MAX)) {
        return refuse_query(call, "name", "a part of a name, at most 200 bytes");
    }
    if (!truth_query(call, "archived", &page->archived) || !truth_query(call, "disabled", &disabled) ||
        !time_query(call, "updated_since", &page->updated_since) || !time_query(call, "from", &page->from) ||
        !time_query(call, "to", &page->to)) {
        return false;
    }
    page->archived += disabled; /* no list knows both */
    return true;
}

int64_t call_number(const char *text)
{
    char *end = NULL;
    const bool plain = text[0] >= '1' && text[0] <= '9' && strlen(text) < 10;
    const long number = plain ? strtol(text, &end, 10) : 0;
    return plain && *end == '\0' ? number : 0;
}

bool call_page(struct call *call, struct store_page *page)
{
    const char *limit = exchange_query(call->exchange, "limit");
    *page = (struct store_page){.after = exchange_query(call->exchange, "after"), .limit = 50};
    if (limit != NULL) {
        const int64_t value = call_number(limit);
        if (value < 1 || value > STORE_PAGE_MAX) {
            exchange_problem(call->exchange, 422, "invalid", "limit", "limit must be from 1 to %d.", STORE_PAGE_MAX);
            return false;
        }
        page->limit = (int)value;
    }
    /* An id is not looked up: whatever was erased meanwhile, the page after its place is what comes next. */
    if (page->after != NULL && !uuid_valid(page->after) &&
        (call->row->subject != SUBJECT_DRILL || !slug_valid(page->after))) {
        return refuse_query(call, "after", "the last id of the page before");
    }
    return call_narrow(call, page);
}

/* As it may stand in an address (RFC 3986, 2.3); NULL when memory is short. */
static char *percent_written(struct arena *arena, const char *text)
{
    static const char plain[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-._~";
    char *out = arena_alloc(arena, 3 * strlen(text) + 1);
    char *to = out;
    for (; out != NULL && *text != '\0'; text++) {
        if (strchr(plain, *text) != NULL) {
            *to++ = *text;
        } else {
            to += sprintf(to, "%%%02X", (unsigned char)*text);
        }
    }
    if (out != NULL) {
        *to = '\0';
    }
    return out;
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
        const char *written = value == NULL ? NULL : percent_written(call->arena, value);
        if (written != NULL) {
            address = arena_printf(call->arena, "%s%c%s=%s", address, mark, name, written);
            mark = '&';
        }
        names += length + (names[length] == ' ');
    }
    return address == NULL ? NULL : arena_printf(call->arena, "<%s%cafter=%s>; rel=\"next\"", address, mark, last_id);
}

void call_link_next(struct call *call, const char *last_id)
{
    char *link = next_address(call, last_id);
    if (link != NULL) {
        exchange_add_header(call->exchange, "Link", link);
    }
}
