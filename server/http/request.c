/* Judging a request by its headers, before a byte of its body is taken. libmicrohttpd 0.9.75 lets through framing that
 * another server on the way may read differently (two lengths, a length beside a transfer coding, odd names), and a
 * request without Host: all that ends here with 400 and a closed connection. */
#include <arpa/inet.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "http/connection.h"

/* What one walk over the headers finds. */
struct headers {
    int hosts, lengths, codings, types, doubled;
    bool odd; /* a name or value that no honest client sends */
    const char *host, *length, *coding, *type, *encoding, *expect;
    const char *forwarded;
    unsigned seen;     /* of the single ones */
    const char *after; /* where the part that was read before ends */
};

/* More than one of these in a request would leave open which counts. */
static const char *const single[] = {"Authorization", "Idempotency-Key", "If-Match",          "If-None-Match",
                                     "Origin",        "Sec-Fetch-Site",  "X-Leadside-Device", "X-Leadside-Account"};

static bool is_token(const char *text, size_t length)
{
    for (size_t i = 0; i < length; i++) {
        char c = text[i];
        bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-';
        if (!letter && (c == '\0' || strchr("!#$%&'*+.^_`|~", c) == NULL)) {
            return false;
        }
    }
    return length > 0;
}

static bool has_control(const char *text, size_t length)
{
    for (size_t i = 0; i < length; i++) {
        unsigned char c = (unsigned char)text[i];
        if ((c < 0x20 && c != '\t') || c == 0x7f) {
            return true;
        }
    }
    return false;
}

static void note_single(struct headers *headers, const char *key)
{
    for (unsigned i = 0; i < sizeof single / sizeof *single; i++) {
        if (strcasecmp(key, single[i]) == 0) {
            headers->doubled += (headers->seen >> i & 1U) != 0;
            headers->seen |= 1U << i;
            return;
        }
    }
}

/* libmicrohttpd 0.9.75 hands over what stands before a NUL and drops the rest of the line. Its strings lie where the
 * request came in, every line's end turned to NULs: a line that was whole is followed by those, at most `most`, and by
 * the next one. The next one is elsewhere when a line was folded, which is refused as well (RFC 9112, 5.2). */
static bool line_ended(const char *after, const char *next, ptrdiff_t most)
{
    if (after == NULL || next <= after || next - after > most) {
        return false;
    }
    while (after < next && *after == '\0') {
        after++;
    }
    return after == next;
}

/* Between method and target there are the end of the one, which was a space, and more spaces. */
static bool method_ended(const char *method, const char *target)
{
    const char *after = method + strlen(method) + 1;
    while (after < target && *after == ' ') {
        after++;
    }
    return after == target;
}

static enum MHD_Result note_header(void *context, enum MHD_ValueKind kind, const char *key, size_t key_size,
                                   const char *value, size_t value_size)
{
    (void)kind;
    struct headers *headers = context;
    if (!line_ended(headers->after, key, 2)) {
        headers->odd = true;
        return MHD_NO;
    }
    headers->after = value == NULL ? NULL : value + value_size;
    if (!is_token(key, key_size) || (value != NULL && has_control(value, value_size))) {
        headers->odd = true;
        return MHD_NO;
    }
    if (strcasecmp(key, "Host") == 0) {
        headers->hosts++;
        headers->host = value;
    } else if (strcasecmp(key, "Content-Length") == 0) {
        headers->lengths++;
        headers->length = value;
    } else if (strcasecmp(key, "Transfer-Encoding") == 0) {
        headers->codings++;
        headers->coding = value;
    } else if (strcasecmp(key, "Content-Type") == 0) {
        headers->types++;
        headers->type = value;
    } else if (strcasecmp(key, "Content-Encoding") == 0) {
        headers->encoding = value;
    } else if (strcasecmp(key, "Expect") == 0) {
        headers->expect = value;
    } else if (strcasecmp(key, "X-Forwarded-For") == 0) {
        headers->forwarded = value;
    } else {
        note_single(headers, key);
    }
    return MHD_YES;
}

static bool host_sound(const char *host)
{
    if (host == NULL || *host == '\0' || strlen(host) > 255) {
        return false;
    }
    for (const char *at = host; *at != '\0'; at++) {
        char c = *at;
        bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
        if (!letter && strchr("-._~:[]", c) == NULL) {
            return false;
        }
    }
    return true;
}

/* Digits only; HTTP_NO_LENGTH when it is anything else or past 10^18. */
static uint64_t read_length(const char *text)
{
    uint64_t value = 0;
    size_t digits = strlen(text);
    if (digits == 0 || digits > 18) {
        return HTTP_NO_LENGTH;
    }
    for (const char *at = text; *at != '\0'; at++) {
        if (*at < '0' || *at > '9') {
            return HTTP_NO_LENGTH;
        }
        value = value * 10 + (uint64_t)(*at - '0');
    }
    return value;
}

/* The fault in the framing, or NULL. */
static const char *framing_fault(const struct headers *headers, const char *authority, const char *version)
{
    if (headers->odd) {
        return "A header's name or value has characters that may not be there.";
    }
    const bool newer = strcmp(version, MHD_HTTP_VERSION_1_1) == 0;
    if (headers->hosts > 1 || (headers->hosts == 0 && newer) || (headers->hosts == 1 && !host_sound(headers->host)) ||
        (authority != NULL && !host_sound(authority))) {
        return "There must be exactly one Host header, with a host name.";
    }
    if (headers->lengths + headers->codings > 1) {
        return "There must be one Content-Length or one Transfer-Encoding, not both and not two.";
    }
    if (headers->lengths == 1 && (headers->length == NULL || read_length(headers->length) == HTTP_NO_LENGTH)) {
        return "Content-Length must be a whole number.";
    }
    if (headers->codings == 1 && (headers->coding == NULL || strcasecmp(headers->coding, "chunked") != 0)) {
        return "The only Transfer-Encoding understood is chunked.";
    }
    if (headers->codings == 1 && !newer) {
        return "Transfer-Encoding needs HTTP/1.1.";
    }
    if (headers->types > 1 || headers->doubled > 0) {
        return "A header that may be there once is there twice.";
    }
    return NULL;
}

/* "application/json", with no parameter but charset=utf-8. */
static bool type_is(const char *type, const char *wanted, size_t length)
{
    if (strncasecmp(type, wanted, length) != 0) {
        return false;
    }
    const char *rest = type + length + strspn(type + length, " \t");
    if (*rest == '\0') {
        return true;
    }
    if (*rest != ';') {
        return false;
    }
    rest += 1 + strspn(rest + 1, " \t");
    return strcasecmp(rest, "charset=utf-8") == 0 || strcasecmp(rest, "charset=\"utf-8\"") == 0;
}

/* wanted: types with ", " between them. */
static bool type_fits(const char *type, const char *wanted)
{
    for (const char *at = wanted; type != NULL && *at != '\0';) {
        size_t length = strcspn(at, ",");
        if (type_is(type, at, length)) {
            return true;
        }
        at += length + strspn(at + length, ", ");
    }
    return false;
}

static void set_method(struct exchange *exchange, const char *name)
{
    static const struct {
        const char *name;
        enum http_method method;
    } methods[] = {{"GET", HTTP_GET},  {"POST", HTTP_POST},     {"PUT", HTTP_PUT}, {"PATCH", HTTP_PATCH},
                   {"HEAD", HTTP_GET}, {"DELETE", HTTP_DELETE}, {"OPTIONS", 0}};
    exchange->method_name = "other";
    exchange->method = 0;
    for (size_t i = 0; i < sizeof methods / sizeof *methods; i++) {
        if (strcmp(name, methods[i].name) == 0) {
            exchange->method_name = methods[i].name;
            exchange->method = methods[i].method;
        }
    }
}

/* *twice: a name that is there twice; which of the two was meant can't be known. */
static bool read_query(struct exchange *exchange, const char **twice)
{
    const char *at = exchange->query;
    while (at != NULL && *at != '\0') {
        size_t length = strcspn(at, "&");
        size_t name = strcspn(at, "=&");
        if (exchange->query_count == HTTP_QUERY_MAX) {
            return false;
        }
        if (length > 0) {
            const char *value = name < length ? at + name + 1 : "";
            size_t value_length = name < length ? length - name - 1 : 0;
            char *key = uri_decode(exchange->arena, at, name, true);
            char *text = uri_decode(exchange->arena, value, value_length, true);
            *twice = key != NULL && exchange_query(exchange, key) != NULL ? key : NULL;
            if (key == NULL || text == NULL || *twice != NULL) {
                return false;
            }
            exchange->queries[exchange->query_count].name = key;
            exchange->queries[exchange->query_count++].value = text;
        }
        at += length + (at[length] == '&');
    }
    return true;
}

static bool read_captures(struct exchange *exchange)
{
    for (int i = 0; i < exchange->capture_count; i++) {
        const struct segment *segment = &exchange->captures[i];
        exchange->capture_text[i] = uri_decode(exchange->arena, segment->text, segment->length, false);
        if (exchange->capture_text[i] == NULL) {
            return false;
        }
    }
    return true;
}

/* Behind a proxy the nearest address it added is the caller's. */
static void read_remote(struct exchange *exchange, const char *forwarded)
{
    exchange->remote = exchange->connection->remote;
    if (!exchange->server->config.forwarded || forwarded == NULL) {
        return;
    }
    const char *last = strrchr(forwarded, ',');
    last = last == NULL ? forwarded : last + 1;
    last += strspn(last, " \t");
    unsigned char address[sizeof(struct in6_addr)];
    if (inet_pton(AF_INET, last, address) == 1 || inet_pton(AF_INET6, last, address) == 1) {
        exchange->remote = last;
        client_network(last, exchange->network);
    }
}

/* Finds the route; replies 404, 405 or to OPTIONS itself. */
static bool find_route(struct exchange *exchange)
{
    const struct router *router = &exchange->server->router;
    const struct path_pattern *pattern =
        router_find(router, exchange->path, exchange->captures, &exchange->capture_count);
    if (pattern == NULL) {
        exchange_problem(exchange, 404, "not-found", NULL, "There is nothing at this address.");
        return false;
    }
    int route = exchange->method == 0 ? -1 : pattern->routes[exchange->method];
    if (route >= 0) {
        exchange->route = &router->routes[route];
        return true;
    }
    exchange_add_header(exchange, "Allow", pattern->allow);
    if (strcmp(exchange->method_name, "OPTIONS") == 0) {
        exchange_reply_empty(exchange, 204);
    } else {
        exchange_problem(exchange, 405, "method-not-allowed", NULL, "This address takes %s.", pattern->allow);
    }
    return false;
}

/* Body announced by the headers: may it come? */
static bool body_welcome(struct exchange *exchange, const struct headers *headers, uint64_t length)
{
    const struct http_route *route = exchange->route;
    if (length == 0) {
        return true;
    }
    if (route->consumes == NULL || route->body_limit == 0) {
        reply_refuse(exchange, 400, "body-not-taken", "This address takes no body.");
        return false;
    }
    if (length != HTTP_NO_LENGTH && length > route->body_limit) {
        exchange->close = true;
        exchange_problem(exchange, 413, "too-large", NULL, "The body may have %zu bytes at most.", route->body_limit);
        return false;
    }
    if (headers->encoding != NULL && strcasecmp(headers->encoding, "identity") != 0) {
        reply_refuse(exchange, 415, "content-encoding", "A body must not be compressed.");
        return false;
    }
    if (!type_fits(headers->type, route->consumes)) {
        exchange->close = true;
        exchange_problem(exchange, 415, "content-type", NULL, "The body must be %s%s.", route->consumes,
                         strcmp(route->consumes, "application/json") == 0 ? " in UTF-8" : "");
        return false;
    }
    return true;
}

bool request_begin(struct exchange *exchange, const char *method, const char *version)
{
    struct headers headers = {0};
    set_method(exchange, method);
    headers.after = version + strlen(version);
    MHD_get_connection_values_n(exchange->mhd, MHD_HEADER_KIND, note_header, &headers);
    const union MHD_ConnectionInfo *head =
        MHD_get_connection_info(exchange->mhd, MHD_CONNECTION_INFO_REQUEST_HEADER_SIZE);
    headers.odd = headers.odd || !method_ended(method, exchange->target) || head == NULL ||
                  !line_ended(headers.after, method + head->header_size, 4);
    read_remote(exchange, headers.forwarded);
    const char *fault = framing_fault(&headers, exchange->authority, version);
    if (fault != NULL) {
        reply_refuse(exchange, 400, "bad-request", fault);
        return false;
    }
    if (exchange->server->config.forwarded && !client_enter(exchange->server, exchange)) {
        exchange_add_header(exchange, "Retry-After", "1");
        reply_refuse(exchange, 429, "too-many-at-once", "Too many requests from one address at the same time.");
        return false;
    }
    if (exchange->uri_fault != URI_FINE) {
        bool long_one = exchange->uri_fault == URI_TOO_LONG;
        reply_refuse(exchange, long_one ? 414 : 400, long_one ? "address-too-long" : "bad-address",
                     long_one ? "The address is too long." : "The address has parts that may not be there.");
        return false;
    }
    uint64_t length = headers.codings == 1 ? HTTP_NO_LENGTH : headers.lengths == 1 ? read_length(headers.length) : 0;
    exchange->announced = length;
    exchange->expects = headers.expect != NULL && strcasecmp(headers.expect, "100-continue") == 0;
    exchange->close = length != 0; /* a refusal must not leave a body on the line */
    if (!find_route(exchange)) {
        return false;
    }
    const char *twice = NULL;
    if (!read_captures(exchange) || !read_query(exchange, &twice)) {
        if (twice != NULL) {
            exchange->close = true;
            exchange_problem(exchange, 400, "bad-address", twice, "?%.60s= is there twice.", twice);
            return false;
        }
        reply_refuse(exchange, 400, "bad-address", "The address has parts that may not be there.");
        return false;
    }
    exchange->close = false;
    return body_welcome(exchange, &headers, length);
}

static void drop_body(struct exchange *exchange)
{
    free(exchange->body);
    exchange->body = NULL;
    exchange->body_size = exchange->body_room = 0;
}

static void refuse_memory(struct exchange *exchange, enum budget_answer answer)
{
    atomic_fetch_add(&exchange->server->budget.refused, 1);
    exchange_add_header(exchange, "Retry-After", "2");
    if (answer == BUDGET_OWNER_FULL) {
        exchange_problem(exchange, 429, "too-much", NULL,
                         "Too much is under way for this account: send this again when the rest is done.");
    } else {
        exchange_problem(exchange, 503, "busy", NULL, "The server has its hands full; send this again in a moment.");
    }
}

bool exchange_claim(struct exchange *exchange, const char *owner)
{
    const uint64_t announced = exchange->announced == HTTP_NO_LENGTH ? 0 : exchange->announced;
    strncpy(exchange->owner, owner, sizeof exchange->owner - 1);
    const enum budget_answer answer = budget_ask(exchange, announced > HTTP_SMALL ? (size_t)announced + 1 : 0);
    if (answer != BUDGET_FITS) {
        refuse_memory(exchange, answer);
    }
    return answer == BUDGET_FITS;
}

/* How much to take for a body that must hold `needed` bytes: all of it at once when it was announced. */
static size_t room_for(const struct exchange *exchange, size_t needed)
{
    if (exchange->announced != HTTP_NO_LENGTH) {
        const size_t whole = (size_t)exchange->announced + 1;
        return whole < needed ? needed : whole;
    }
    const size_t room = exchange->body_room < 4096 ? 8192 : exchange->body_room * 2;
    return room < needed ? needed : room;
}

void request_body(struct exchange *exchange, const char *data, size_t size)
{
    size_t limit = exchange->route->body_limit;
    exchange->body_seen += size;
    if (exchange->replied || exchange->body_short) { /* refused already: read for the answer's sake, and not kept */
        return;
    }
    if (exchange->body_over || size > limit - exchange->body_size) {
        exchange->body_over = true;
        drop_body(exchange);
        return;
    }
    size_t needed = exchange->body_size + size + 1;
    if (needed > exchange->body_room) {
        const size_t room = room_for(exchange, needed);
        const enum budget_answer answer = budget_ask(exchange, room);
        if (answer != BUDGET_FITS) {
            drop_body(exchange);
            budget_release(exchange);
            exchange->close = true;
            refuse_memory(exchange, answer);
            return;
        }
        char *grown = realloc(exchange->body, room);
        if (grown == NULL) {
            exchange->body_short = true;
            return;
        }
        exchange->body = grown;
        exchange->body_room = room;
    }
    memcpy(exchange->body + exchange->body_size, data, size);
    exchange->body_size += size;
    exchange->body[exchange->body_size] = '\0';
}
