/* The listener over a real socket: what it lets through, what it refuses, and how. */
#include <criterion/criterion.h>
#include <jansson.h>

#include "tests/server/support.h"

static struct http_server *server;
static struct waker waker;
static int row = 7;
static char log_path[] = "/tmp/leadside-log-XXXXXX";
static int log_fd = -1;

static void say(struct exchange *exchange, void *app)
{
    (void)app;
    const char *capture = exchange_capture(exchange, 0);
    const char *query = exchange_query(exchange, "q");
    const char *cookie = exchange_cookie(exchange, "leadside_session");
    char *text = arena_printf(exchange_arena(exchange), "%s|%s|%s|%s|%d", capture ? capture : "-", query ? query : "-",
                              cookie ? cookie : "-", exchange_remote(exchange), *(const int *)exchange_route(exchange));
    exchange_add_header(exchange, "ETag", "\"1\"");
    exchange_reply(exchange, 200, "text/plain", text, strlen(text));
}

static void literal(struct exchange *exchange, void *app)
{
    (void)app;
    exchange_reply(exchange, 200, "text/plain", "literal", 7);
}

static void echo(struct exchange *exchange, void *app)
{
    (void)app;
    size_t length = 0;
    const char *body = exchange_body(exchange, &length);
    exchange_reply(exchange, 201, "application/json", body, length);
}

static void empty(struct exchange *exchange, void *app)
{
    (void)app;
    exchange_reply_empty(exchange, 204);
}

static void page(struct exchange *exchange, void *app)
{
    (void)app;
    exchange_reply(exchange, 200, "text/html; charset=utf-8", "<p>", 3);
}

static void fail(struct exchange *exchange, void *app)
{
    (void)app;
    exchange_problem(exchange, 422, "bad-document", "/swings/0/\"x\"", "The value \"%s\"\n is wrong: %s", "a\\b",
                     "\xc3\xa9");
}

static void forget(struct exchange *exchange, void *app)
{
    (void)exchange;
    (void)app;
}

static void finish(struct exchange *exchange, void *argument)
{
    const char *text = argument;
    exchange_reply(exchange, 200, "text/plain", text, strlen(text));
}

static void park(struct exchange *exchange, void *app)
{
    (void)app;
    exchange_park(exchange, finish, "woken");
    if (!waker_give(&waker, exchange)) {
        exchange_problem(exchange, 503, "stopping", NULL, "No room.");
    }
}

static void again(struct exchange *exchange, void *argument)
{
    (void)argument;
    exchange_park(exchange, finish, "woken twice");
    exchange_wake(exchange);
}

static void park_twice(struct exchange *exchange, void *app)
{
    (void)app;
    exchange_park(exchange, again, NULL);
    waker_give(&waker, exchange);
}

static const struct http_route routes[] = {
    {HTTP_GET, "/", page, &row, 0, NULL},
    {HTTP_GET, "/v1/things/{id}", say, &row, 0, NULL},
    {HTTP_POST, "/v1/things/{id}", empty, &row, 0, NULL},
    {HTTP_GET, "/v1/things/first", literal, &row, 0, NULL},
    {HTTP_POST, "/v1/echo", echo, &row, 1000, "application/json"},
    {HTTP_PUT, "/v1/big", echo, &row, 4 << 20, "application/json"},
    {HTTP_GET, "/v1/fail", fail, &row, 0, NULL},
    {HTTP_GET, "/v1/forget", forget, &row, 0, NULL},
    {HTTP_GET, "/v1/park", park, &row, 0, NULL},
    {HTTP_POST, "/v1/park", park, &row, 100, "application/json"},
    {HTTP_GET, "/v1/park-twice", park_twice, &row, 0, NULL},
};

static void start_with(struct http_config config)
{
    char error[256] = "";
    waker_start(&waker);
    config.address = "127.0.0.1";
    config.threads = 2;
    config.routes = routes;
    config.route_count = sizeof routes / sizeof *routes;
    config.log_fd = log_fd;
    server = http_server_start(&config, error, sizeof error);
    cr_assert_not_null(server, "%s", error);
}

static void start(void)
{
    start_with((struct http_config){.idle_seconds = 10, .deadline_seconds = 10});
}

static void stop(void)
{
    http_server_quiesce(server);
    waker_drain(&waker);
    http_server_stop(server);
}

static char reply[1 << 20];

static int ask(const char *request, int *closed)
{
    return client_ask(http_server_port(server), request, strlen(request), reply, sizeof reply, closed);
}

static const char *body_of(const char *text)
{
    const char *end = strstr(text, "\r\n\r\n");
    return end == NULL ? "" : end + 4;
}

/* ---- addresses ---- */

Test(listener, finds_routes, .init = start, .fini = stop)
{
    int status =
        ask("GET /v1/things/a%20b?q=x+%C3%A9&limit=3 HTTP/1.1\r\nHost: h\r\nCookie: leadside_session=s1\r\n\r\n", NULL);
    cr_assert_eq(status, 200, "%s", reply);
    cr_assert_str_eq(body_of(reply), "a b|x \xc3\xa9|s1|127.0.0.1|7");
    cr_assert_eq(ask("GET /v1/things/first HTTP/1.1\r\nHost: h\r\n\r\n", NULL), 200);
    cr_assert_str_eq(body_of(reply), "literal");
    cr_assert_eq(ask("DELETE /v1/things/first HTTP/1.1\r\nHost: h\r\n\r\n", NULL), 405);
    cr_assert_not_null(strstr(reply, "Allow: GET, HEAD, OPTIONS\r\n"), "%s", reply);
    cr_assert_eq(ask("PUT /v1/things/9 HTTP/1.1\r\nHost: h\r\nContent-Length: 0\r\n\r\n", NULL), 405);
    cr_assert_not_null(strstr(reply, "Allow: GET, HEAD, POST, OPTIONS\r\n"), "%s", reply);
    cr_assert_eq(ask("OPTIONS /v1/echo HTTP/1.1\r\nHost: h\r\n\r\n", NULL), 204);
    cr_assert_eq(ask("GET /v1/none HTTP/1.1\r\nHost: h\r\n\r\n", NULL), 404);
    cr_assert_eq(ask("GET /v1/things/ HTTP/1.1\r\nHost: h\r\n\r\n", NULL), 404);
    cr_assert_eq(ask("GET //v1/things/first HTTP/1.1\r\nHost: h\r\n\r\n", NULL), 404);
    cr_assert_eq(ask("BREW /v1/echo HTTP/1.1\r\nHost: h\r\n\r\n", NULL), 405);
    cr_assert_eq(ask("HEAD /v1/things/3 HTTP/1.1\r\nHost: h\r\n\r\n", NULL), 200);
    cr_assert_str_eq(body_of(reply), "");
}

Test(listener, refuses_bad_addresses, .init = start, .fini = stop)
{
    static const char *const bad[] = {
        "/v1/things/5%00",        "/v1/things/5%2fx",   "/v1/things%2F5",   "/v1/things/../echo",
        "/v1/things/%2e%2E/echo", "/v1/./echo",         "/v1/things/.",     "/v1/things/%zz",
        "/v1/things/%4",          "/v1/things/%0a",     "/v1/things/%5c",   "/v1/things/a\\b",
        "/v1/things/\x01",        "/v1/things/<a>",     "/v1/things/%ff",   "/v1/things/%c0%af",
        "/v1/things/%ed%a0%80",   "/v1/things/1?q=%00", "/v1/things/1?q=%", "/v1/things/1?q=a&q=b",
        "ftp://h/v1/things/1",    "/v1/things/1?q=\x7f"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        char request[512];
        int closed = 0;
        snprintf(request, sizeof request, "GET %s HTTP/1.1\r\nHost: h\r\n\r\n", bad[i]);
        cr_assert_eq(ask(request, &closed), 400, "%s: %s", bad[i], reply);
        cr_assert(closed, "%s must end the connection", bad[i]);
    }
    static char request[8192];
    int size = snprintf(request, sizeof request, "GET /v1/things/%05000d HTTP/1.1\r\nHost: h\r\n\r\n", 1);
    cr_assert_gt(size, 5000);
    cr_assert_eq(ask(request, NULL), 414);
}

/* ---- framing ---- */

Test(listener, refuses_doubtful_framing, .init = start, .fini = stop)
{
#define POST "POST /v1/echo HTTP/1.1\r\n"
#define JSON "Content-Type: application/json\r\n"
    static const char *const bad[] = {
        POST "Host: h\r\n" JSON "Content-Length: 2\r\nTransfer-Encoding: chunked\r\n\r\n2\r\n{}\r\n0\r\n\r\n",
        POST "Host: h\r\n" JSON "Content-Length: 2\r\nContent-Length: 2\r\n\r\n{}",
        POST "Host: h\r\n" JSON "Content-Length: 2\r\nContent-Length: 20\r\n\r\n{}",
        POST "Host: h\r\n" JSON "Transfer-Encoding: gzip, chunked\r\n\r\n2\r\n{}\r\n0\r\n\r\n",
        POST "Host: h\r\n" JSON "Transfer-Encoding: xchunked\r\n\r\n2\r\n{}\r\n0\r\n\r\n",
        POST "Host: h\r\n" JSON "Transfer-Encoding: chunked\r\nTransfer-Encoding: chunked\r\n\r\n2\r\n{}\r\n0\r\n\r\n",
        "POST /v1/echo HTTP/1.0\r\nHost: h\r\n" JSON "Transfer-Encoding: chunked\r\n\r\n2\r\n{}\r\n0\r\n\r\n",
        POST "Host: h\r\n" JSON "Content-Length: +2\r\n\r\n{}",
        POST "Host: h\r\n" JSON "Content-Length: 2, 2\r\n\r\n{}",
        POST "Host: h\r\n" JSON "Content-Length : 2\r\n\r\n{}",
        POST JSON "Content-Length: 2\r\n\r\n{}",
        POST "Host: a\r\nHost: b\r\n" JSON "Content-Length: 2\r\n\r\n{}",
        POST "Host: a/b\r\n" JSON "Content-Length: 2\r\n\r\n{}",
        POST "Host:\r\n" JSON "Content-Length: 2\r\n\r\n{}",
        POST "Host: h\r\nFoo : x\r\n" JSON "Content-Length: 2\r\n\r\n{}",
        POST "Host: h\r\nX: a\x01z\r\n" JSON "Content-Length: 2\r\n\r\n{}",
        POST "Host: h\r\nIdempotency-Key: 1\r\nidempotency-key: 2\r\n" JSON "Content-Length: 2\r\n\r\n{}",
        POST "Host: h\r\nAuthorization: Bearer a\r\nAuthorization: Bearer b\r\n" JSON "Content-Length: 2\r\n\r\n{}",
        POST "Host: h\r\n" JSON JSON "Content-Length: 2\r\n\r\n{}",
        "GET /v1/things/1 HTTP/1.1\r\nHost: h\r\nContent-Length: 2\r\n\r\n{}",
        "POST /v1/things/1 HTTP/1.1\r\nHost: h\r\nContent-Length: 2\r\n\r\n{}"};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        int closed = 0;
        cr_assert_eq(ask(bad[i], &closed), 400, "%zu: %s -> %s", i, bad[i], reply);
        cr_assert(closed, "%zu: %s must end the connection", i, bad[i]);
    }
    /* The same request, sound: not everything is refused. */
    cr_assert_eq(ask(POST "Host: h\r\n" JSON "Content-Length: 2\r\n\r\n{}", NULL), 201, "%s", reply);
    cr_assert_eq(ask(POST "Host: [::1]:80\r\n" JSON "Transfer-Encoding: chunked\r\n\r\n2\r\n{}\r\n0\r\n\r\n", NULL),
                 201);
    cr_assert_str_eq(body_of(reply), "{}");
}

Test(listener, minds_content_types, .init = start, .fini = stop)
{
    static const struct {
        const char *header;
        int status;
    } table[] = {{"Content-Type: application/json\r\n", 201},
                 {"Content-Type: application/json; charset=utf-8\r\n", 201},
                 {"content-type: Application/JSON;charset=\"UTF-8\"\r\n", 201},
                 {"", 415},
                 {"Content-Type: text/plain\r\n", 415},
                 {"Content-Type: application/jsonx\r\n", 415},
                 {"Content-Type: application/json; charset=latin1\r\n", 415},
                 {"Content-Type: application/json\r\nContent-Encoding: gzip\r\n", 415}};
    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        char request[512];
        snprintf(request, sizeof request, POST "Host: h\r\n%sContent-Length: 2\r\n\r\n{}", table[i].header);
        cr_assert_eq(ask(request, NULL), table[i].status, "%s: %s", table[i].header, reply);
    }
}

/* ---- bodies ---- */

Test(listener, bounds_bodies, .init = start, .fini = stop)
{
    static char request[4096];
    static char filler[2001];
    int closed = 0;
    memset(filler, 'x', 2000);
    snprintf(request, sizeof request, POST "Host: h\r\n" JSON "Content-Length: 1000\r\n\r\n%.1000s", filler);
    cr_assert_eq(ask(request, NULL), 201);
    cr_assert_eq(strlen(body_of(reply)), 1000);
    snprintf(request, sizeof request, POST "Host: h\r\n" JSON "Content-Length: 1001\r\n\r\n%.1001s", filler);
    cr_assert_eq(ask(request, &closed), 413, "%s", reply);
    cr_assert(closed);
    /* Announced but never sent: refused from the headers alone. */
    cr_assert_eq(ask(POST "Host: h\r\n" JSON "Content-Length: 99999999\r\n\r\n", &closed), 413);
    cr_assert(closed);
    /* Expect: 100-continue gets no go-ahead for a body that is too large. */
    cr_assert_eq(ask(POST "Host: h\r\n" JSON "Expect: 100-continue\r\nContent-Length: 99999999\r\n\r\n", NULL), 413);
    /* Chunked: only known once it is over. */
    snprintf(request, sizeof request,
             POST "Host: h\r\n" JSON "Transfer-Encoding: chunked\r\n\r\n3e8\r\n%.1000s\r\n0\r\n\r\n", filler);
    cr_assert_eq(ask(request, NULL), 201);
    snprintf(request, sizeof request,
             POST "Host: h\r\n" JSON "Transfer-Encoding: chunked\r\n\r\n3e8\r\n%.1000s\r\n1\r\nx\r\n0\r\n\r\n", filler);
    cr_assert_eq(ask(request, &closed), 413, "%s", reply);
    cr_assert(closed);
    for (int i = 0; i < 200 && http_server_in_flight(server) > 0; i++) {
        sleep_ms(10); /* who asked is answered before it is counted */
    }
    cr_assert_eq(http_server_in_flight(server), 0);
}

Test(listener, drops_an_endless_body, .init = start, .fini = stop)
{
    int fd = client_open(http_server_port(server));
    const char head[] = POST "Host: h\r\n" JSON "Transfer-Encoding: chunked\r\n\r\n";
    static char chunk[1005];
    memset(chunk, 'x', sizeof chunk);
    memcpy(chunk, "3e8\r\n", 5);
    cr_assert_eq(client_send(fd, head, sizeof head - 1), 0);
    size_t sent = 0;
    while (sent < ((size_t)8 << 20) && client_send(fd, chunk, 1005) == 0 && client_send(fd, "\r\n", 2) == 0) {
        sent += 1000;
    }
    cr_assert_lt(sent, (size_t)8 << 20, "the line should have been dropped");
    close(fd);
}

Test(listener, takes_a_large_body_in_pieces, .init = start, .fini = stop)
{
    size_t size = (size_t)3 << 20;
    char *body = malloc(size);
    char *back = malloc(size + 4096);
    for (size_t i = 0; i < size; i++) {
        body[i] = (char)('a' + i % 23);
    }
    char head[256];
    int length =
        snprintf(head, sizeof head, "PUT /v1/big HTTP/1.1\r\nHost: h\r\n" JSON "Content-Length: %zu\r\n\r\n", size);
    int closed = 0;
    int fd = client_open(http_server_port(server));
    client_send(fd, head, (size_t)length);
    for (size_t at = 0; at < size; at += 100000) {
        client_send(fd, body + at, size - at < 100000 ? size - at : 100000);
    }
    client_read(fd, back, size + 4096, 5000, 0, &closed);
    cr_assert_eq(reply_status(back), 201);
    cr_assert_eq(memcmp(body_of(back), body, size), 0);
    close(fd);
    free(body);
    free(back);
}

/* ---- replies ---- */

Test(listener, writes_problems, .init = start, .fini = stop)
{
    cr_assert_eq(ask("GET /v1/fail HTTP/1.1\r\nHost: h\r\n\r\n", NULL), 422);
    cr_assert_not_null(strstr(reply, "Content-Type: application/problem+json\r\n"));
    json_error_t error;
    json_t *problem = json_loads(body_of(reply), JSON_REJECT_DUPLICATES, &error);
    cr_assert_not_null(problem, "%s: %s", error.text, body_of(reply));
    /* RFC 9457, 3.1: type and instance are URI references, status is the number that was sent, title and detail text.
     */
    cr_assert_str_eq(json_string_value(json_object_get(problem, "type")), "urn:leadside:problem:bad-document");
    cr_assert_str_eq(json_string_value(json_object_get(problem, "title")), "Not acceptable as it is");
    cr_assert_eq(json_integer_value(json_object_get(problem, "status")), 422);
    cr_assert_str_eq(json_string_value(json_object_get(problem, "detail")), "The value \"a\\b\"\n is wrong: \xc3\xa9");
    cr_assert_str_eq(json_string_value(json_object_get(problem, "path")), "/swings/0/\"x\"");
    const char *instance = json_string_value(json_object_get(problem, "instance"));
    cr_assert_eq(strncmp(instance, "urn:leadside:request:", 21), 0);
    char wanted[96];
    snprintf(wanted, sizeof wanted, "X-Request-Id: %s\r\n", instance + 21);
    cr_assert_not_null(strstr(reply, wanted), "%s", reply);
    json_decref(problem);
    cr_assert_eq(ask("GET /v1/forget HTTP/1.1\r\nHost: h\r\n\r\n", NULL), 500);
    /* No path: no member. */
    cr_assert_eq(ask("GET /v1/none HTTP/1.1\r\nHost: h\r\n\r\n", NULL), 404);
    problem = json_loads(body_of(reply), 0, &error);
    cr_assert_null(json_object_get(problem, "path"));
    cr_assert_str_eq(json_string_value(json_object_get(problem, "type")), "urn:leadside:problem:not-found");
    json_decref(problem);
}

Test(listener, sends_safe_headers, .init = start, .fini = stop)
{
    cr_assert_eq(ask("GET /v1/things/1 HTTP/1.1\r\nHost: h\r\n\r\n", NULL), 200);
    cr_assert_not_null(strstr(reply, "X-Content-Type-Options: nosniff\r\n"));
    cr_assert_not_null(strstr(reply, "Cache-Control: no-store\r\n"));
    cr_assert_not_null(strstr(reply, "ETag: \"1\"\r\n"));
    cr_assert_null(strstr(reply, "Server:"));
    cr_assert_eq(ask("GET / HTTP/1.1\r\nHost: h\r\n\r\n", NULL), 200);
    cr_assert_not_null(strstr(reply, "Content-Security-Policy: default-src 'none';"));
    cr_assert_null(strstr(reply, "unsafe"));
}

Test(listener, keeps_the_connection, .init = start, .fini = stop)
{
    int fd = client_open(http_server_port(server));
    int closed = 0;
    for (int i = 0; i < 20; i++) {
        const char *request = i % 3 == 2   ? "GET /v1/none HTTP/1.1\r\nHost: h\r\n\r\n"
                              : i % 3 == 1 ? POST "Host: h\r\n" JSON "Content-Length: 2\r\n\r\n{}"
                                           : "GET /v1/things/1 HTTP/1.1\r\nHost: h\r\n\r\n";
        cr_assert_eq(client_send(fd, request, strlen(request)), 0);
        client_read(fd, reply, sizeof reply, 3000, 0, &closed);
        cr_assert_eq(reply_status(reply), ((int[]){200, 201, 404})[i % 3], "%d: %s", i, reply);
    }
    close(fd);
}

/* ---- deadlines ---- */

static void start_hasty(void)
{
    start_with((struct http_config){.idle_seconds = 30, .deadline_seconds = 1});
}

/* Sends one byte every 100 ms: never silent for long. Seconds until the other side closed. */
static double trickle(const char *text)
{
    int fd = client_open(http_server_port(server));
    double begun = seconds_now();
    for (const char *at = text; seconds_now() - begun < 6; at += at[1] != '\0') {
        if (client_send(fd, at, 1) != 0 || client_closed(fd, 100)) {
            close(fd);
            return seconds_now() - begun;
        }
    }
    close(fd);
    return 99;
}

Test(listener, cuts_a_slow_header, .init = start_hasty, .fini = stop)
{
    double seconds =
        trickle("GET /v1/things/1 HTTP/1.1\r\nHost: h\r\nX-Slow: aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa");
    cr_assert_lt(seconds, 3.0, "%f", seconds);
    cr_assert_gt(seconds, 0.9, "%f", seconds);
}

Test(listener, cuts_a_slow_body, .init = start_hasty, .fini = stop)
{
    int fd = client_open(http_server_port(server));
    const char *head = POST "Host: h\r\n" JSON "Content-Length: 900\r\n\r\n";
    client_send(fd, head, strlen(head));
    double begun = seconds_now();
    while (seconds_now() - begun < 6 && client_send(fd, "x", 1) == 0 && !client_closed(fd, 100)) {
    }
    double seconds = seconds_now() - begun;
    cr_assert_lt(seconds, 3.0, "%f", seconds);
    cr_assert_gt(seconds, 0.9, "%f", seconds);
    close(fd);
    sleep_ms(50);
    cr_assert_eq(http_server_in_flight(server), 0);
}

Test(listener, leaves_our_own_slowness_alone, .init = start_hasty, .fini = stop)
{
    waker.delay_ms = 2500;
    cr_assert_eq(ask("GET /v1/park HTTP/1.1\r\nHost: h\r\n\r\n", NULL), 200, "%s", reply);
}

/* ---- parking, stopping ---- */

Test(listener, parks_and_wakes, .init = start, .fini = stop)
{
    for (int i = 0; i < 200; i++) {
        cr_assert_eq(ask(i % 2 ? "GET /v1/park HTTP/1.1\r\nHost: h\r\n\r\n"
                               : "POST /v1/park HTTP/1.1\r\nHost: h\r\n" JSON "Content-Length: 2\r\n\r\n{}",
                         NULL),
                     200, "%s", reply);
        cr_assert_str_eq(body_of(reply), "woken");
    }
    cr_assert_eq(ask("GET /v1/park-twice HTTP/1.1\r\nHost: h\r\n\r\n", NULL), 200);
    cr_assert_str_eq(body_of(reply), "woken twice");
}

Test(listener, survives_a_client_that_leaves_while_parked, .init = start, .fini = stop)
{
    waker.delay_ms = 50;
    const char *request = "GET /v1/park HTTP/1.1\r\nHost: h\r\n\r\n";
    for (int i = 0; i < 10; i++) {
        int fd = client_open(http_server_port(server));
        client_send(fd, request, strlen(request));
        sleep_ms(5);
        close(fd);
    }
    sleep_ms(900);
    cr_assert_eq(http_server_in_flight(server), 0);
    cr_assert_eq(ask(request, NULL), 200);
}

Test(listener, quiesces, .init = start)
{
    waker.delay_ms = 300;
    uint16_t port = http_server_port(server);
    int parked = client_open(port);
    int kept = client_open(port);
    int closed = 0;
    const char *request = "GET /v1/park HTTP/1.1\r\nHost: h\r\n\r\n";
    const char *plain = "GET /v1/things/1 HTTP/1.1\r\nHost: h\r\n\r\n";
    client_send(kept, plain, strlen(plain));
    client_read(kept, reply, sizeof reply, 2000, 0, &closed);
    cr_assert_eq(reply_status(reply), 200);
    client_send(parked, request, strlen(request));
    sleep_ms(50);
    cr_assert_eq(http_server_in_flight(server), 1);
    http_server_quiesce(server);
    int late_closed = 0;
    cr_assert_eq(ask(plain, &late_closed), 503, "a new connection is told: %s", reply);
    cr_assert_not_null(strstr(reply, "Retry-After: 5\r\n"));
    cr_assert(late_closed);
    int idle = client_open(port);
    cr_assert_geq(idle, 0);
    cr_assert_eq(http_server_in_flight(server), 1, "what comes late doesn't hold up the end");
    client_send(kept, request, strlen(request));
    client_read(kept, reply, sizeof reply, 2000, 0, &closed);
    cr_assert_eq(reply_status(reply), 503, "%s", reply);
    cr_assert_not_null(strstr(reply, "Retry-After: 5\r\n"));
    client_read(parked, reply, sizeof reply, 2000, 0, &closed);
    cr_assert_eq(reply_status(reply), 200, "a request already begun goes on: %s", reply);
    close(parked);
    close(kept);
    waker_drain(&waker);
    http_server_stop(server);
    cr_assert(client_closed(idle, 2000));
    close(idle);
    cr_assert_eq(client_open(port), -1, "nobody listens after the stop");
}

/* The answer must not be lost to a closing line while the client still sends. */
Test(listener, reads_the_body_of_what_it_refuses_when_stopping, .init = start)
{
    int closed = 0;
    const char *head = "POST /v1/park HTTP/1.1\r\nHost: h\r\n" JSON "Content-Length: 60\r\n\r\n";
    const char *half = "[ 1, 2, 3, 4, 5, 6, 7, 8, 9, ";
    http_server_quiesce(server);
    int fd = client_open(http_server_port(server));
    cr_assert_eq(client_send(fd, head, strlen(head)), 0);
    for (int i = 0; i < 2; i++) {
        sleep_ms(50);
        cr_assert_eq(client_send(fd, half, strlen(half)), 0);
    }
    cr_assert_eq(client_send(fd, "0]", 2), 0);
    client_read(fd, reply, sizeof reply, 2000, 0, &closed);
    cr_assert_eq(reply_status(reply), 503, "%s", reply);
    cr_assert_not_null(strstr(reply, "Connection: close\r\n"));
    cr_assert(client_closed(fd, 2000));
    close(fd);
    waker_drain(&waker);
    http_server_stop(server);
}

static _Atomic int answered, cut_off, unfinished, go_on;

static void *hammer(void *argument)
{
    uint16_t port = *(uint16_t *)argument;
    char text[4096];
    const char *request = "POST /v1/park HTTP/1.1\r\nHost: h\r\n" JSON "Content-Length: 2\r\n\r\n{}";
    while (atomic_load(&go_on)) {
        int closed = 0;
        int fd = client_open(port);
        for (int i = 0; fd >= 0 && i < 50 && !closed; i++) {
            if (client_send(fd, request, strlen(request)) != 0) {
                break;
            }
            size_t got = client_read(fd, text, sizeof text, 5000, 0, &closed);
            int status = reply_status(text);
            atomic_fetch_add(status == 200 || status == 503 ? &answered
                             : got == 0 && closed           ? &cut_off
                                                            : &unfinished,
                             1);
            closed = closed || strstr(text, "\r\nConnection: close\r\n") != NULL;
        }
        if (fd >= 0) {
            close(fd);
        }
        if (fd < 0) {
            break;
        }
    }
    return NULL;
}

Test(listener, stops_under_load, .init = start)
{
    pthread_t threads[8];
    uint16_t port = http_server_port(server);
    waker.delay_ms = 1;
    atomic_store(&go_on, 1);
    for (int i = 0; i < 8; i++) {
        pthread_create(&threads[i], NULL, hammer, &port);
    }
    sleep_ms(400);
    http_server_quiesce(server);
    waker_drain(&waker);
    /* The clients go on coming; what they are refused doesn't count. */
    unsigned left = http_server_in_flight(server);
    for (int i = 0; i < 10000 && left > 0; i++) {
        sleep_ms(1);
        left = http_server_in_flight(server);
    }
    cr_assert_eq(left, 0);
    http_server_stop(server);
    atomic_store(&go_on, 0);
    for (int i = 0; i < 8; i++) {
        pthread_join(threads[i], NULL);
    }
    cr_assert_gt(atomic_load(&answered), 50);
    cr_assert_eq(atomic_load(&unfinished), 0, "half an answer");
    /* At most the one request each client sent into the closing line: it is refused when it comes again. */
    cr_assert_leq(atomic_load(&cut_off), 8, "%d", atomic_load(&cut_off));
}

/* ---- log and figures ---- */

static void start_logged(void)
{
    log_fd = mkstemp(log_path);
    start();
}

Test(listener, logs_and_counts, .init = start_logged)
{
    ask("GET /v1/things/secret-id?q=private HTTP/1.1\r\nHost: h\r\nAuthorization: Bearer hush\r\n\r\n", NULL);
    ask("GET /v1/none HTTP/1.1\r\nHost: h\r\n\r\n", NULL);
    ask(POST "Host: h\r\n" JSON "Content-Length: 2\r\n\r\n{}", NULL);
    sleep_ms(50);
    struct arena *arena = arena_new(0);
    const char *figures = http_server_metrics(server, arena);
    cr_assert_not_null(
        strstr(figures, "leadside_http_requests_total{method=\"GET\",route=\"/v1/things/{id}\",status=\"2xx\"} 1\n"));
    cr_assert_not_null(
        strstr(figures, "leadside_http_requests_total{method=\"none\",route=\"none\",status=\"4xx\"} 1\n"));
    cr_assert_not_null(strstr(figures, "leadside_http_request_seconds_count 3\n"));
    cr_assert_not_null(strstr(figures, "leadside_http_in_flight 0\n"));
    arena_free(arena);
    stop();
    static char text[8192];
    ssize_t size = pread(log_fd, text, sizeof text - 1, 0);
    unlink(log_path);
    cr_assert_gt(size, 0);
    cr_assert_null(strstr(text, "secret-id"));
    cr_assert_null(strstr(text, "private"));
    cr_assert_null(strstr(text, "hush"));
    /* In the order of ending, which two threads may swap. */
    static const struct {
        const char *route, *method;
        int status;
    } wanted[] = {{"/v1/things/{id}", "GET", 200}, {"none", "GET", 404}, {"/v1/echo", "POST", 201}};
    int lines = 0;
    unsigned seen = 0;
    for (char *line = strtok(text, "\n"); line != NULL; line = strtok(NULL, "\n"), lines++) {
        json_t *entry = json_loads(line, 0, NULL);
        cr_assert_not_null(entry, "%s", line);
        cr_assert(json_is_string(json_object_get(entry, "time")) && json_is_string(json_object_get(entry, "id")));
        cr_assert(json_is_number(json_object_get(entry, "ms")) && json_is_integer(json_object_get(entry, "bytes")));
        for (unsigned i = 0; i < 3; i++) {
            if (strcmp(json_string_value(json_object_get(entry, "route")), wanted[i].route) == 0) {
                seen |= 1U << i;
                cr_assert_eq(json_integer_value(json_object_get(entry, "status")), wanted[i].status, "%s", line);
                cr_assert_str_eq(json_string_value(json_object_get(entry, "method")), wanted[i].method);
            }
        }
        json_decref(entry);
    }
    cr_assert_eq(lines, 3);
    cr_assert_eq(seen, 7U);
}

Test(listener, believes_the_proxy_only_when_told)
{
    const char *request = "GET /v1/things/1 HTTP/1.1\r\nHost: h\r\nX-Forwarded-For: 1.1.1.1, 192.0.2.7\r\n\r\n";
    start();
    cr_assert_eq(ask(request, NULL), 200);
    cr_assert_not_null(strstr(reply, "|127.0.0.1|"));
    stop();
    start_with((struct http_config){.forwarded = true});
    cr_assert_eq(ask(request, NULL), 200);
    cr_assert_not_null(strstr(reply, "|192.0.2.7|"));
    cr_assert_eq(ask("GET /v1/things/1 HTTP/1.1\r\nHost: h\r\nX-Forwarded-For: x\r\n\r\n", NULL), 200);
    cr_assert_not_null(strstr(reply, "|127.0.0.1|"));
    stop();
}

Test(listener, bounds_connections_of_one_address)
{
    start_with((struct http_config){.per_address_limit = 3});
    int fds[4];
    const char *request = "GET /v1/things/1 HTTP/1.1\r\nHost: h\r\n\r\n";
    for (int i = 0; i < 4; i++) {
        int closed = 0;
        fds[i] = client_open(http_server_port(server));
        client_send(fds[i], request, strlen(request));
        client_read(fds[i], reply, sizeof reply, 2000, 0, &closed);
        cr_assert_eq(reply_status(reply), i < 3 ? 200 : 0, "%d", i);
    }
    for (int i = 0; i < 4; i++) {
        close(fds[i]);
    }
    stop();
}

Test(listener, refuses_an_unsound_table)
{
    static const struct http_route twice[] = {{HTTP_GET, "/a/{x}", say, &row, 0, NULL},
                                              {HTTP_GET, "/a/{y}", say, &row, 0, NULL}};
    static const struct http_route bare[] = {{HTTP_GET, "/a", NULL, &row, 0, NULL}};
    char error[256] = "";
    struct http_config config = {.address = "127.0.0.1", .routes = twice, .route_count = 2, .log_fd = -1};
    cr_assert_null(http_server_start(&config, error, sizeof error));
    cr_assert_not_null(strstr(error, "twice"), "%s", error);
    config.routes = bare;
    config.route_count = 1;
    cr_assert_null(http_server_start(&config, error, sizeof error));
    start();
    config.routes = routes;
    config.port = http_server_port(server);
    cr_assert_null(http_server_start(&config, error, sizeof error), "the port is taken");
    cr_assert_not_null(strstr(error, "can't listen"), "%s", error);
    stop();
}
