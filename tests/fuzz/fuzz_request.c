/* The head of a request: cut up in place as libmicrohttpd 0.9.75 does it (it hands over what stands before a NUL), then
 * judged by the listener; its queries are then read as a list's and as a marker file's. What is welcome keeps, by a
 * second look at the bytes as they came, every rule of framing and of addresses; what is not has an answer that says
 * why. */
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "api/lessons/marker_query.h"
#include "base/text.h"
#include "fuzz.h"
#include "http/connection.h"

#define HEADERS_MAX 64
#define BODY_LIMIT ((size_t)1000)

/* ---- what stands for the library ---- */

static struct {
    char *bytes; /* exactly the head, and a NUL behind it */
    size_t size;
    char *method, *target, *version;
    struct {
        char *name, *value;
    } headers[HEADERS_MAX];
    int count;
} head;

int MHD_get_connection_values_n(struct MHD_Connection *connection, enum MHD_ValueKind kind,
                                MHD_KeyValueIteratorN iterator, void *context)
{
    (void)connection;
    for (int i = 0; i < head.count; i++) {
        const char *name = head.headers[i].name;
        const char *value = head.headers[i].value;
        if (iterator(context, kind, name, strlen(name), value, strlen(value)) == MHD_NO) {
            return i + 1;
        }
    }
    return head.count;
}

const char *MHD_lookup_connection_value(struct MHD_Connection *connection, enum MHD_ValueKind kind, const char *key)
{
    (void)connection;
    (void)kind;
    for (int i = 0; i < head.count; i++) {
        if (strcasecmp(head.headers[i].name, key) == 0) {
            return head.headers[i].value;
        }
    }
    return NULL;
}

const union MHD_ConnectionInfo *MHD_get_connection_info(struct MHD_Connection *connection,
                                                        enum MHD_ConnectionInfoType type, ...)
{
    static union MHD_ConnectionInfo info;
    (void)connection;
    (void)type;
    info.header_size = head.size;
    return &info;
}

/* The line at *at, its end turned to NULs; *at moves behind it. */
static char *line_cut(char **at)
{
    char *line = *at;
    char *const end = head.bytes + head.size;
    char *mark = line;
    while (mark < end && *mark != '\r' && *mark != '\n') {
        mark++;
    }
    *at = mark;
    if (mark < end && *mark == '\r') {
        *(*at)++ = '\0';
    }
    if (*at < end && **at == '\n') {
        *(*at)++ = '\0';
    }
    return line;
}

static bool request_line_cut(char *line)
{
    char *space = strchr(line, ' ');
    char *last = strrchr(line, ' ');
    if (space == NULL || last == space || strncmp(last + 1, "HTTP/1.", 7) != 0 || strspn(last + 8, "0123456789") != 1 ||
        last[9] != '\0') {
        return false;
    }
    head.method = line;
    *space++ = '\0';
    head.target = space + strspn(space, " ");
    head.version = last + 1;
    *last = '\0';
    return head.target < last;
}

static bool head_cut(void)
{
    char *at = head.bytes;
    head.count = 0;
    if (head.size == 0 || head.bytes[head.size - 1] != '\n' || !request_line_cut(line_cut(&at))) {
        return false;
    }
    while (at < head.bytes + head.size) {
        char *line = line_cut(&at);
        if (*line == '\0' && at == head.bytes + head.size) {
            return true;
        }
        char *colon = strchr(line, ':');
        if (colon == NULL || head.count == HEADERS_MAX || *line == ' ' || *line == '\t') {
            return false; /* the library refuses it, or joins lines elsewhere, which the listener refuses */
        }
        *colon++ = '\0';
        head.headers[head.count].name = line;
        head.headers[head.count++].value = colon + strspn(colon, " \t");
    }
    return false; /* more is to come */
}

/* ---- the listener ---- */

static void handle(struct exchange *exchange, void *app)
{
    (void)exchange;
    (void)app;
}

static struct http_server *server(void)
{
    static const struct http_route routes[] = {
        {HTTP_GET, "/v1/things", handle, NULL, 0, NULL},
        {HTTP_GET, "/v1/things/{id}", handle, NULL, 0, NULL},
        {HTTP_PUT, "/v1/things/{id}/parts/{part}", handle, NULL, BODY_LIMIT, "application/json, text/csv"},
        {HTTP_POST, "/v1/things", handle, NULL, BODY_LIMIT, "application/json"}};
    static struct http_server one;
    char error[200];
    if (one.router.routes == NULL) {
        one.config.forwarded = true;
        budget_init(&one.budget, BODY_LIMIT * 100, BODY_LIMIT * 10);
        fuzz_require(router_build(&one.router, routes, sizeof routes / sizeof *routes, error, sizeof error), error);
    }
    return &one;
}

/* ---- a second look ---- */

static bool one_of(char c, const char *more)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || (c != '\0' && strchr(more, c));
}

/* Lines of this name in the head as it came, and what the last one holds. */
static int lines_of(const char *bytes, size_t size, const char *name, const char **value, size_t *length)
{
    const size_t own = strlen(name);
    const char *const end = bytes + size;
    int count = 0;
    for (const char *at = bytes; at < end;) {
        const char *mark = at;
        while (mark < end && *mark != '\n' && *mark != '\r' && *mark != '\0') {
            mark++;
        }
        if ((size_t)(mark - at) > own && at[own] == ':' && strncasecmp(at, name, own) == 0) {
            *value = at + own + 1;
            while (*value < mark && (**value == ' ' || **value == '\t')) {
                ++*value;
            }
            *length = (size_t)(mark - *value);
            count++;
        }
        at = mark + 1;
    }
    return count;
}

static void check_framing(const char *bytes, size_t size, const struct exchange *exchange)
{
    const char *value = NULL;
    size_t length = 0;
    const bool newer = strcmp(head.version, "HTTP/1.1") == 0;
    for (size_t i = 0; i < size; i++) {
        const unsigned char c = (unsigned char)bytes[i];
        const char next = i + 1 < size ? bytes[i + 1] : 'x';
        /* one in the place of a line's CR can't be told from it */
        fuzz_require(c != '\0' || next == '\0' || next == '\r' || next == '\n', "nothing hides behind a NUL");
        fuzz_require(c == '\0' || c >= 0x20 || c == '\t' || c == '\r' || c == '\n', "nor as a control character");
        fuzz_require(c != 0x7f, "nor as that of deletion");
    }
    const int hosts = lines_of(bytes, size, "Host", &value, &length);
    fuzz_require(hosts == 1 || (hosts == 0 && !newer), "there is one host");
    for (size_t i = 0; hosts == 1 && i < length; i++) {
        fuzz_require(one_of(value[i], "-._~:[]"), "which is a name");
    }
    fuzz_require(lines_of(bytes, size, "Authorization", &value, &length) <= 1, "one proof");
    fuzz_require(lines_of(bytes, size, "If-Match", &value, &length) <= 1, "one condition");
    const int codings = lines_of(bytes, size, "Transfer-Encoding", &value, &length);
    const int lengths = lines_of(bytes, size, "Content-Length", &value, &length);
    fuzz_require(codings + lengths <= 1, "one way to tell the body's end");
    uint64_t announced = codings == 1 ? HTTP_NO_LENGTH : 0;
    for (size_t i = 0; lengths == 1 && i < length; i++) {
        fuzz_require(value[i] >= '0' && value[i] <= '9', "a length of digits");
        announced = announced * 10 + (uint64_t)(value[i] - '0');
    }
    fuzz_require(announced == exchange->announced, "and it is told as it came");
    fuzz_require(announced == 0 || (exchange->route->body_limit > 0 && (codings == 1 || announced <= BODY_LIMIT)),
                 "a body only where one is taken, and of its size");
}

static bool decoded_soundly(const char *text)
{
    for (const char *at = text; *at != '\0'; at++) {
        if ((unsigned char)*at < 0x20 || *at == 0x7f) {
            return false;
        }
    }
    return utf8_valid(text, strlen(text));
}

static void check_address(const struct exchange *exchange)
{
    for (const char *at = exchange->path; *at != '\0'; at++) {
        fuzz_require(one_of(*at, "/%-._~!$&'()*+,;=:@"), "a path of the characters that it may have");
    }
    for (int i = 0; i < exchange->capture_count; i++) {
        const char *text = exchange_capture(exchange, i);
        fuzz_require(text != NULL && *text != '\0' && decoded_soundly(text), "a part of an address is text");
        fuzz_require(strpbrk(text, "/\\") == NULL && strcmp(text, ".") != 0 && strcmp(text, "..") != 0,
                     "and leads nowhere else");
    }
    for (int i = 0; i < exchange->query_count; i++) {
        const char *name = exchange_query_name(exchange, i);
        fuzz_require(decoded_soundly(name) && decoded_soundly(exchange->queries[i].value), "a query is text");
        fuzz_require(exchange_query(exchange, name) == exchange->queries[i].value, "and is there once");
    }
    fuzz_require(exchange_query_name(exchange, exchange->query_count) == NULL, "no more than there are");
}

/* What lists are narrowed by: all of it in bounds, or an answer. */
static void check_page(struct call *call)
{
    struct store_page page;
    const char *from = exchange_query(call->exchange, "from");
    if (!call_page(call, &page)) {
        fuzz_require(call->exchange->status == 422, "a page is read or answered");
        return;
    }
    fuzz_require(page.limit >= 1 && page.limit <= STORE_PAGE_MAX, "so many rows");
    fuzz_require(page.after == NULL || uuid_valid(page.after), "after an id");
    fuzz_require(page.name == NULL || (*page.name != '\0' && strlen(page.name) <= 200), "a part of a name");
    fuzz_require(page.archived >= -2 && page.archived <= 2 && (from != NULL) == (page.from != 0), "and since when");
}

/* What stands beside a marker file. */
static void check_beside(struct call *call)
{
    struct swing_reading reading = {.hand_given = false};
    int64_t ms;
    if (!marker_query_read(call, "left", &reading)) {
        fuzz_require(call->exchange->status == 422, "it is read or answered");
        return;
    }
    fuzz_require(reading.hand_given && time_parse(reading.recorded_at, &ms), "a hand and a moment");
    fuzz_require(reading.club_number.value >= 0 && reading.club_number.value < 1e12 &&
                     reading.club_length_m.value >= 0 && reading.club_length_m.value < 1e12,
                 "numbers of a few digits");
}

static void check_queries(struct exchange *exchange)
{
    static const struct api_row row = {.method = HTTP_GET, .path = "/v1/things"};
    struct call call = {.exchange = exchange, .row = &row, .arena = exchange->arena, .now = 1780000000000};
    check_page(&call);
    if (!exchange->replied) {
        check_beside(&call);
    }
}

static bool judged(const char *bytes, size_t size)
{
    static struct connection connection = {.remote = "127.0.0.1", .network = "127.0.0.0/24"};
    struct exchange exchange = {
        .connection = &connection, .server = server(), .remote = connection.remote, .id = "00000000-1"};
    exchange.arena = arena_new(HTTP_ARENA_LIMIT);
    char *copy = exchange.arena == NULL ? NULL : arena_strdup(exchange.arena, head.target);
    fuzz_require(copy != NULL, "memory");
    exchange.target = head.target;
    exchange.uri_fault = uri_split(copy, &exchange.authority, &exchange.path, &exchange.query);
    if (strncmp(head.target + strlen(head.target) + 1, "HTTP/", 5) != 0) {
        exchange.uri_fault = URI_MALFORMED;
    }
    const bool welcome = request_begin(&exchange, head.method, head.version);
    fuzz_require(welcome != exchange.replied, "a request is welcome or answered");
    if (welcome) {
        fuzz_require(exchange.route != NULL && exchange.uri_fault == URI_FINE, "there is something at its address");
        check_framing(bytes, size, &exchange);
        check_address(&exchange);
        check_queries(&exchange);
    } else {
        const bool refused = exchange.status >= 400 && exchange.status < 500 && exchange.problem != NULL;
        fuzz_require(exchange.response != NULL && (refused || exchange.status == 204), "a refusal says why");
        fuzz_require(exchange.status == 204 || exchange.reply_size > 0, "in words");
    }
    if (exchange.response != NULL) {
        MHD_destroy_response(exchange.response);
    }
    arena_free(exchange.arena);
    return welcome;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    head.bytes = fuzz_text(data, size);
    head.size = size;
    fuzz_count("fuzz_request", head_cut() && judged((const char *)data, size));
    free(head.bytes);
    return 0;
}
