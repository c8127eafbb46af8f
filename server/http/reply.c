/* Building the one reply of an exchange, and RFC 9457 problems. */
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <zlib.h>

#include "base/text.h"
#include "http/connection.h"

#define PACK_FROM ((size_t)1 << 10) /* shorter answers gain nothing */

/* Pages are our own files only: no inline script or style, nothing from elsewhere, in nobody's frame. The bay alone may
 * also compile WebAssembly, which the core and the pose library come as. */
#define PAGE_POLICY(extra)                                                                                             \
    "default-src 'none'; script-src 'self'" extra                                                                      \
    "; style-src 'self'; img-src 'self' blob: data:; media-src 'self' blob:; "                                         \
    "connect-src 'self'; manifest-src 'self'; worker-src 'self'; font-src 'self'; base-uri 'none'; "                   \
    "form-action 'self'; frame-ancestors 'none'"
/* Everything else shows and runs nothing by itself. */
#define DATA_POLICY "default-src 'none'; frame-ancestors 'none'"

static bool added(const struct exchange *exchange, const char *name)
{
    for (int i = 0; i < exchange->header_count; i++) {
        if (strcasecmp(exchange->headers[i].name, name) == 0) {
            return true;
        }
    }
    return false;
}

static bool add_default(const struct exchange *exchange, const char *name, const char *value)
{
    return added(exchange, name) || MHD_add_response_header(exchange->response, name, value) == MHD_YES;
}

/* The ONE place that says what a browser may do with an answer. A worker goes by its script's own policy. */
static const char *policy_of(const struct exchange *exchange, const char *content_type)
{
    if (content_type == NULL) {
        return DATA_POLICY;
    }
    const bool page = strncmp(content_type, "text/html", 9) == 0;
    if (!page && strncmp(content_type, "text/javascript", 15) != 0) {
        return DATA_POLICY;
    }
    const char *path = exchange->path == NULL ? "" : exchange->path;
    const bool bay = page ? strcmp(path, "/bay.html") == 0 : strncmp(path, "/bay/", 5) == 0;
    return bay ? PAGE_POLICY(" 'wasm-unsafe-eval'") : PAGE_POLICY("");
}

/* The bay alone may open a camera, and listen for the strike. */
static const char *permissions_of(const struct exchange *exchange, const char *content_type)
{
    const bool page = content_type != NULL && strncmp(content_type, "text/html", 9) == 0;
    const bool bay = page && exchange->path != NULL && strcmp(exchange->path, "/bay.html") == 0;
    return bay ? "camera=(self), microphone=(self), geolocation=()" : "camera=(), microphone=(), geolocation=()";
}

bool reply_headers(struct exchange *exchange, const char *content_type)
{
    struct MHD_Response *response = exchange->response;
    bool all = true;
    for (int i = 0; i < exchange->header_count; i++) {
        all =
            MHD_add_response_header(response, exchange->headers[i].name, exchange->headers[i].value) == MHD_YES && all;
    }
    all = (content_type == NULL || add_default(exchange, "Content-Type", content_type)) && all;
    all = MHD_add_response_header(response, "X-Request-Id", exchange->id) == MHD_YES && all;
    all = MHD_add_response_header(response, "X-Content-Type-Options", "nosniff") == MHD_YES && all;
    bool api = exchange->path != NULL && strncmp(exchange->path, "/v1/", 4) == 0;
    all = add_default(exchange, "Cache-Control", api || exchange->status >= 400 ? "no-store" : "no-cache") && all;
    if (exchange->status != 304) { /* what it says would take the place of what the kept answer said */
        all = add_default(exchange, "Content-Security-Policy", policy_of(exchange, content_type)) && all;
    }
    all = add_default(exchange, "Referrer-Policy", "no-referrer") && all;
    all = add_default(exchange, "Permissions-Policy", permissions_of(exchange, content_type)) && all;
    if (exchange->close || atomic_load_explicit(&exchange->server->quiesced, memory_order_relaxed)) {
        all = MHD_add_response_header(response, "Connection", "close") == MHD_YES && all;
    }
    if (!all) { /* a page without its policy, a secret without "no-store": rather no answer, and the line is closed */
        MHD_destroy_response(response);
        exchange->response = NULL;
    }
    return all;
}

bool exchange_memory_short(const struct exchange *exchange)
{
    return exchange->starved || arena_shortages() != exchange->shortages;
}

void exchange_done(struct exchange *exchange)
{
    exchange->done = true;
}

void reply_memory(struct exchange *exchange)
{
    static const char body[] = "{\"type\":\"urn:leadside:problem:memory\",\"title\":\"Not just now\",\"status\":503,"
                               "\"detail\":\"Memory is short just now; send this again in a moment.\"}";
    exchange->problem = exchange->replied ? exchange->problem : "memory";
    exchange->header_count = 0;
    exchange_add_header(exchange, "Retry-After", "5");
    exchange_reply(exchange, 503, "application/problem+json", body, sizeof body - 1);
}

bool reply_begin(struct exchange *exchange, int status)
{
    if (exchange->replied) {
        return false;
    }
    if (status < 500 && !exchange->done && exchange_memory_short(exchange)) {
        reply_memory(exchange);
        return false;
    }
    if (atomic_load(&exchange->park) == PARK_WANTED) { /* parked, but could not hand over */
        atomic_store(&exchange->park, PARK_NONE);
        atomic_fetch_sub(&exchange->server->parked, 1);
    }
    exchange->replied = true;
    exchange->status = status;
    return true;
}

/* ---- gzip ---- */

/* The weight of one member of Accept-Encoding, in thousandths: 1000 without "q=", -1 when it is not of that name. */
static int coding_weight(const char *member, size_t length, const char *name)
{
    const size_t size = strlen(name);
    if (length < size || strncasecmp(member, name, size) != 0) {
        return -1;
    }
    const char *end = member + length;
    const char *at = member + size;
    at += strspn(at, " \t");
    if (at >= end) {
        return 1000;
    }
    if (*at++ != ';') {
        return -1; /* another name that begins alike */
    }
    at += strspn(at, " \t");
    if (end - at < 3 || (at[0] != 'q' && at[0] != 'Q') || at[1] != '=') {
        return -1;
    }
    int weight = at[2] == '1' ? 1000 : 0;
    int digit = 100;
    for (at += 3; at < end && weight < 1000 && (*at == '.' || (*at >= '0' && *at <= '9')); at++) {
        if (*at != '.') {
            weight += digit * (*at - '0');
            digit /= 10;
        }
    }
    return weight;
}

bool exchange_takes_gzip(const struct exchange *exchange)
{
    const char *accepted = exchange_header(exchange, "Accept-Encoding");
    int gzip = -1;
    int any = -1;
    for (const char *at = accepted; at != NULL && *at != '\0';) {
        at += strspn(at, ", \t");
        const size_t length = strcspn(at, ",");
        const int own = coding_weight(at, length, "gzip");
        const int old = coding_weight(at, length, "x-gzip");
        const int rest = coding_weight(at, length, "*");
        gzip = own >= 0 ? own : old >= 0 ? old : gzip;
        any = rest >= 0 ? rest : any;
        at += length;
    }
    return (gzip >= 0 ? gzip : any) > 0;
}

/* *body and *length packed, when that is shorter; whole and in the arena, so that it is counted. */
static bool pack(struct arena *arena, const void **body, size_t *length)
{
    z_stream stream = {.next_in = (Bytef *)*body, .avail_in = (uInt)*length};
    if (*length > UINT32_MAX / 2 || deflateInit2(&stream, 1, Z_DEFLATED, 15 + 16, 8, Z_DEFAULT_STRATEGY) != Z_OK) {
        return false;
    }
    void *out = arena_alloc(arena, *length);
    stream.next_out = out;
    stream.avail_out = (uInt)*length;
    const bool shorter = out != NULL && deflate(&stream, Z_FINISH) == Z_STREAM_END;
    *length = shorter ? stream.total_out : *length;
    *body = shorter ? out : *body;
    (void)deflateEnd(&stream);
    return shorter;
}

/* What is read, and carries no secret: answers to other methods hold passwords, tokens and links beside what the caller
 * sent, and their length would tell. What has an ETag stays as it is, for the tag must be good for If-Match. */
static void pack_answer(struct exchange *exchange, const char *content_type, const void **body, size_t *length)
{
    if (exchange->method != HTTP_GET || exchange->status != 200 || *length < PACK_FROM || content_type == NULL ||
        strcmp(content_type, "application/json") != 0 || added(exchange, "ETag")) {
        return;
    }
    exchange_add_header(exchange, "Vary", "Accept-Encoding");
    if (exchange_takes_gzip(exchange) && pack(exchange->arena, body, length)) {
        exchange_add_header(exchange, "Content-Encoding", "gzip");
    }
}

void exchange_reply(struct exchange *exchange, int status, const char *content_type, const void *body, size_t length)
{
    if (!reply_begin(exchange, status)) {
        return;
    }
    pack_answer(exchange, content_type, &body, &length);
    budget_note_held(exchange);
    exchange->response = MHD_create_response_from_buffer(length, (void *)body, MHD_RESPMEM_PERSISTENT);
    if (exchange->response != NULL) {
        exchange->reply_size = length;
        (void)reply_headers(exchange, content_type);
    }
}

/* The further it got, the longer it may take: slow lines get large answers, and nobody holds one for ever. */
static ssize_t stream_read(void *context, uint64_t at, char *out, size_t size)
{
    struct exchange *exchange = context;
    const uint64_t seconds = exchange->server->config.deadline_seconds + at / HTTP_STREAM_RATE;
    deadline_set(exchange->connection, exchange->stream_started_ns, seconds > 86400 ? 86400 : (unsigned)seconds);
    const size_t got = exchange->stream(exchange->stream_context, at, out, size);
    return got == 0 || got > size ? MHD_CONTENT_READER_END_WITH_ERROR : (ssize_t)got;
}

void exchange_reply_stream(struct exchange *exchange, int status, const char *content_type, uint64_t length,
                           exchange_read_fn read, exchange_free_fn release, void *context)
{
    const size_t piece = length < HTTP_PIECE ? (size_t)length : HTTP_PIECE;
    if (!reply_begin(exchange, status)) {
        if (release != NULL) {
            release(context);
        }
        return;
    }
    /* Freed when the exchange is over, not by libmicrohttpd: the context may lie in the arena. */
    exchange->stream = read;
    exchange->stream_free = release;
    exchange->stream_context = context;
    exchange->stream_started_ns = clock_monotonic_ns();
    budget_note(exchange, arena_held(exchange->arena) + exchange->body_room + piece);
    exchange->response = MHD_create_response_from_callback(length, piece == 0 ? 1 : piece, stream_read, exchange, NULL);
    if (exchange->response != NULL) {
        exchange->reply_size = (size_t)length;
        (void)reply_headers(exchange, content_type);
    }
}

void exchange_reply_empty(struct exchange *exchange, int status)
{
    exchange_reply(exchange, status, NULL, "", 0);
}

void exchange_add_header(struct exchange *exchange, const char *name, const char *value)
{
    char *copy = arena_strdup(exchange->arena, value);
    if (copy == NULL || exchange->header_count == HTTP_HEADERS_OUT) {
        return;
    }
    exchange->headers[exchange->header_count].name = name;
    exchange->headers[exchange->header_count++].value = copy;
}

/* ---- problems ---- */

static const char *status_title(int status)
{
    static const struct {
        int status;
        const char *title;
    } titles[] = {{400, "Bad request"},
                  {401, "Not signed in"},
                  {403, "Not allowed"},
                  {404, "Not found"},
                  {405, "Method not allowed"},
                  {409, "Conflict"},
                  {410, "Over"},
                  {411, "Length required"},
                  {412, "Changed meanwhile"},
                  {413, "Too large"},
                  {414, "Address too long"},
                  {415, "Wrong content type"},
                  {422, "Not acceptable as it is"},
                  {428, "Precondition required"},
                  {429, "Too many requests"},
                  {500, "Server fault"},
                  {503, "Not just now"}};
    for (size_t i = 0; i < sizeof titles / sizeof *titles; i++) {
        if (titles[i].status == status) {
            return titles[i].title;
        }
    }
    return status < 500 ? "Refused" : "Server fault";
}

/* A JSON string; text that is not UTF-8 loses its high bytes. */
static char *quote(struct arena *arena, const char *text)
{
    size_t length = strlen(text);
    bool valid = utf8_valid(text, length);
    char *out = arena_alloc(arena, length * 6 + 3);
    if (out == NULL) {
        return NULL;
    }
    char *at = out;
    *at++ = '"';
    for (size_t i = 0; i < length; i++) {
        unsigned char c = (unsigned char)text[i];
        if (c == '"' || c == '\\') {
            *at++ = '\\';
            *at++ = (char)c;
        } else if (c < 0x20) {
            at += sprintf(at, "\\u%04x", c);
        } else {
            *at++ = c >= 0x80 && !valid ? '?' : (char)c;
        }
    }
    *at++ = '"';
    *at = '\0';
    return out;
}

void exchange_problem_more(struct exchange *exchange, int status, const char *type, const char *path, const char *more,
                           const char *detail)
{
    exchange->problem = exchange->replied ? exchange->problem : type;
    const char *detail_text = quote(exchange->arena, detail);
    const char *path_text = path == NULL ? "" : quote(exchange->arena, path);
    char *body = NULL;
    if (detail_text != NULL && path_text != NULL) {
        body = arena_printf(exchange->arena,
                            "{\"type\":\"urn:leadside:problem:%s\",\"title\":\"%s\",\"status\":%d,\"detail\":%s,"
                            "\"instance\":\"urn:leadside:request:%s\"%s%s%s%s}",
                            type, status_title(status), status, detail_text, exchange->id,
                            path == NULL ? "" : ",\"path\":", path_text, more == NULL ? "" : ",",
                            more == NULL ? "" : more);
    }
    if (body == NULL) {
        reply_memory(exchange);
        return;
    }
    exchange_reply(exchange, status, "application/problem+json", body, strlen(body));
}

void exchange_problem(struct exchange *exchange, int status, const char *type, const char *path, const char *format,
                      ...)
{
    char detail[1024];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(detail, sizeof detail, format, arguments);
    va_end(arguments);
    exchange_problem_more(exchange, status, type, path, NULL, detail);
}

void reply_refuse(struct exchange *exchange, int status, const char *type, const char *detail)
{
    exchange->close = true;
    exchange_problem(exchange, status, type, NULL, "%s", detail);
}
