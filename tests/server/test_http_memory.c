/* What a request may hold: bodies are asked for before they are read, memory is counted by owner and in all, and large
 * answers are made while they are sent. */
#include <criterion/criterion.h>

#include "tests/server/support.h"

#define LIMIT ((size_t)1 << 20)
#define LONG ((uint64_t)3 << 20)

static struct http_server *server;
static _Atomic int asked, handled, freed, reads;
static _Atomic size_t largest_piece;
static char reply[8 << 20];

/* The owner is the path's last part: "nobody" is refused. */
static bool gate(struct exchange *exchange, void *app)
{
    (void)app;
    const char *owner = exchange_capture(exchange, 0);
    atomic_fetch_add(&asked, 1);
    if (strcmp(owner, "nobody") == 0) {
        exchange_problem(exchange, 401, "not-signed-in", NULL, "Nobody.");
        return false;
    }
    exchange_keep(exchange, (void *)owner);
    return exchange_claim(exchange, owner);
}

static void take(struct exchange *exchange, void *app)
{
    (void)app;
    size_t length;
    (void)exchange_body(exchange, &length);
    atomic_fetch_add(&handled, 1);
    char *text = arena_printf(exchange_arena(exchange), "%s %zu",
                              exchange_kept(exchange) == NULL ? "-" : (const char *)exchange_kept(exchange), length);
    exchange_reply(exchange, 200, "text/plain", text, strlen(text));
}

static char letter(uint64_t at)
{
    return (char)('a' + at % 23);
}

static size_t make(void *context, uint64_t at, char *out, size_t size)
{
    const uint64_t *until = context; /* can't be made any further */
    atomic_fetch_add(&reads, 1);
    if (size > atomic_load(&largest_piece)) {
        atomic_store(&largest_piece, size);
    }
    if (at >= *until) {
        return 0;
    }
    size = size > 100000 ? 100000 : size; /* less than asked for */
    for (size_t i = 0; i < size; i++) {
        out[i] = letter(at + i);
    }
    return size;
}

static void made(void *context)
{
    (void)context;
    atomic_fetch_add(&freed, 1);
}

static void stream(struct exchange *exchange, void *app)
{
    (void)app;
    static const uint64_t whole = LONG, half = LONG / 2;
    const bool broken = strcmp(exchange_capture(exchange, 0), "broken") == 0;
    exchange_reply_stream(exchange, 200, "text/plain", LONG, make, made, (void *)(broken ? &half : &whole));
}

static void stream_twice(struct exchange *exchange, void *app)
{
    static const uint64_t none = 0;
    (void)app;
    exchange_reply_stream(exchange, 200, "text/plain", 0, make, made, (void *)&none);
    exchange_reply_stream(exchange, 200, "text/plain", LONG, make, made, (void *)&none);
}

static const struct http_route routes[] = {
    {HTTP_PUT, "/v1/large/{owner}", take, NULL, LIMIT, "application/json"},
    {HTTP_PUT, "/v1/small/{owner}", take, NULL, 1000, "application/json"},
    {HTTP_GET, "/v1/stream/{how}", stream, NULL, 0, NULL},
    {HTTP_GET, "/v1/twice", stream_twice, NULL, 0, NULL},
};

static void start_with(unsigned deadline)
{
    char error[256] = "";
    const struct http_config config = {.address = "127.0.0.1",
                                       .threads = 2,
                                       .idle_seconds = 20,
                                       .deadline_seconds = deadline,
                                       .gate = gate,
                                       .small_body = 1000,
                                       .memory_limit = LIMIT * 2,
                                       .owner_limit = LIMIT,
                                       .routes = routes,
                                       .route_count = sizeof routes / sizeof *routes,
                                       .log_fd = -1};
    server = http_server_start(&config, error, sizeof error);
    cr_assert_not_null(server, "%s", error);
}

static void start(void)
{
    start_with(10);
}

static void start_hasty(void)
{
    start_with(1);
}

static void stop(void)
{
    http_server_stop(server);
}

static int open_with(const char *path, size_t length, const char *more)
{
    char request[512];
    int fd = client_open(http_server_port(server));
    const int size = snprintf(request, sizeof request,
                              "PUT %s HTTP/1.1\r\nHost: h\r\nContent-Type: application/json\r\nContent-Length: %zu\r\n"
                              "%s\r\n",
                              path, length, more);
    client_send(fd, request, (size_t)size);
    return fd;
}

static void say(int fd, const char *text)
{
    client_send(fd, text, strlen(text));
}

static void send_bytes(int fd, size_t count)
{
    static char body[65536];
    memset(body, ' ', sizeof body);
    while (count > 0) {
        const size_t piece = count < sizeof body ? count : sizeof body;
        if (client_send(fd, body, piece) != 0) {
            return;
        }
        count -= piece;
    }
}

static int status_of(int fd)
{
    int closed;
    client_read(fd, reply, sizeof reply, 3000, 0, &closed);
    return reply_status(reply);
}

static unsigned long held(void)
{
    struct arena *arena = arena_new(0);
    const char *at = strstr(http_server_metrics(server, arena), "\nleadside_http_held_bytes ");
    const unsigned long bytes = at == NULL ? 1 : strtoul(at + strlen("\nleadside_http_held_bytes "), NULL, 10);
    arena_free(arena);
    return bytes;
}

static bool held_becomes_nothing(void)
{
    for (int i = 0; i < 200 && held() > 0; i++) {
        sleep_ms(10);
    }
    return held() == 0;
}

Test(memory, small_bodies_are_read_without_asking, .init = start, .fini = stop)
{
    int fd = open_with("/v1/small/nobody", 500, "");
    send_bytes(fd, 500);
    cr_assert_eq(status_of(fd), 200, "%s", reply);
    cr_assert_not_null(strstr(reply, "- 500"));
    cr_assert_eq(atomic_load(&asked), 0);
    close(fd);
}

Test(memory, long_bodies_are_asked_for, .init = start, .fini = stop)
{
    int fd = open_with("/v1/large/ada", LIMIT / 2, "");
    send_bytes(fd, LIMIT / 2);
    cr_assert_eq(status_of(fd), 200, "%s", reply);
    cr_assert_not_null(strstr(reply, "ada 524288"), "what the gate kept comes to the handler: %s", reply);
    close(fd);
    fd = open_with("/v1/large/ada", 0, "");
    cr_assert_eq(status_of(fd), 200, "no body, nothing to ask: %s", reply);
    cr_assert_not_null(strstr(reply, "- 0"));
    close(fd);
    cr_assert_eq(atomic_load(&asked), 1);
    cr_assert(held_becomes_nothing());
}

Test(memory, a_refused_body_is_read_and_thrown_away, .init = start, .fini = stop)
{
    int fd = open_with("/v1/large/nobody", LIMIT, "");
    send_bytes(fd, LIMIT / 2);
    sleep_ms(100);
    cr_assert_eq(held(), 0, "nothing of it is kept");
    send_bytes(fd, LIMIT / 2);
    cr_assert_eq(status_of(fd), 401, "%s", reply);
    cr_assert_not_null(strstr(reply, "Connection: close"));
    cr_assert(client_closed(fd, 1000));
    cr_assert_eq(atomic_load(&handled), 0);
    close(fd);
}

Test(memory, who_waits_to_be_told_is_told_at_once, .init = start, .fini = stop)
{
    int closed;
    int fd = open_with("/v1/large/nobody", LIMIT, "Expect: 100-continue\r\n");
    cr_assert_eq(status_of(fd), 401, "%s", reply);
    close(fd);
    fd = open_with("/v1/large/ada", 100, "Expect: 100-continue\r\n");
    client_read(fd, reply, sizeof reply, 3000, 1, &closed);
    cr_assert_eq(reply_status(reply), 100, "%s", reply);
    send_bytes(fd, 100);
    cr_assert_eq(status_of(fd), 200, "%s", reply);
    close(fd);
}

Test(memory, an_owner_has_a_share, .init = start, .fini = stop)
{
    int first = open_with("/v1/large/ada", LIMIT * 3 / 4, "");
    send_bytes(first, 1000);
    sleep_ms(100);
    cr_assert_geq(held(), LIMIT * 3 / 4, "what is announced is counted before it is here");
    int second = open_with("/v1/large/ada", LIMIT / 2, "Expect: 100-continue\r\n");
    cr_assert_eq(status_of(second), 429, "%s", reply);
    cr_assert_not_null(strstr(reply, "Retry-After: "));
    close(second);
    int other = open_with("/v1/large/bob", LIMIT * 3 / 4, "");
    send_bytes(other, 1000);
    sleep_ms(100);
    int third = open_with("/v1/large/cleo", LIMIT * 3 / 4, "Expect: 100-continue\r\n");
    cr_assert_eq(status_of(third), 503, "the sum has a limit as well: %s", reply);
    cr_assert_not_null(strstr(reply, "Retry-After: "));
    close(third);
    int little = open_with("/v1/large/ada", 2000, "");
    send_bytes(little, 2000);
    cr_assert_eq(status_of(little), 200, "small ones always fit: %s", reply);
    close(little);
    send_bytes(first, LIMIT * 3 / 4 - 1000);
    cr_assert_eq(status_of(first), 200, "%s", reply);
    close(first);
    close(other); /* in the middle of its body */
    cr_assert(held_becomes_nothing());
    second = open_with("/v1/large/ada", LIMIT * 3 / 4, "");
    send_bytes(second, LIMIT * 3 / 4);
    cr_assert_eq(status_of(second), 200, "given back: %s", reply);
    close(second);
}

static int send_chunks(const char *path, size_t size)
{
    char request[256];
    static char piece[32768 + 16];
    int fd = client_open(http_server_port(server));
    int length = snprintf(request, sizeof request,
                          "PUT %s HTTP/1.1\r\nHost: h\r\nContent-Type: application/json\r\nTransfer-Encoding: "
                          "chunked\r\n\r\n",
                          path);
    client_send(fd, request, (size_t)length);
    for (size_t sent = 0; sent < size; sent += 32768) {
        memset(piece, ' ', sizeof piece);
        memcpy(piece, "8000\r\n", 6);
        memcpy(piece + 6 + 32768, "\r\n", 2);
        client_send(fd, piece, 6 + 32768 + 2);
    }
    return fd;
}

Test(memory, a_body_of_unknown_length_is_counted_as_it_grows, .init = start, .fini = stop)
{
    int first = open_with("/v1/large/ada", LIMIT * 3 / 4, "");
    send_bytes(first, 10);
    sleep_ms(100);
    int fd = send_chunks("/v1/large/ada", LIMIT / 2);
    client_send(fd, "0\r\n\r\n", 5);
    cr_assert_eq(status_of(fd), 429, "%s", reply);
    close(fd);
    fd = send_chunks("/v1/large/bob", LIMIT / 2);
    client_send(fd, "0\r\n\r\n", 5);
    cr_assert_eq(status_of(fd), 200, "%s", reply);
    cr_assert_not_null(strstr(reply, "bob 524288"), "%s", reply);
    close(fd);
    close(first);
    cr_assert(held_becomes_nothing());
}

/* ---- answers that are made while they are sent ---- */

Test(memory, a_stream_is_whole, .init = start, .fini = stop)
{
    int closed;
    int fd = client_open(http_server_port(server));
    for (int round = 1; round <= 2; round++) {
        say(fd, "GET /v1/stream/whole HTTP/1.1\r\nHost: h\r\n\r\n");
        const size_t got = client_read(fd, reply, sizeof reply, 3000, 0, &closed);
        const char *body = strstr(reply, "\r\n\r\n") + 4;
        cr_assert_eq(got - (size_t)(body - reply), LONG);
        cr_assert_not_null(strstr(reply, "Content-Length: 3145728"));
        for (uint64_t i = 0; i < LONG; i++) {
            cr_assert_eq(body[i], letter(i), "at %llu", (unsigned long long)i);
        }
    }
    close(fd);
    for (int i = 0; i < 100 && atomic_load(&freed) < 2; i++) {
        sleep_ms(10);
    }
    cr_assert_eq(atomic_load(&freed), 2);
    cr_assert_leq(atomic_load(&largest_piece), (size_t)256 << 10);
    cr_assert(held_becomes_nothing());
}

Test(memory, a_stream_that_fails_is_seen_to, .init = start, .fini = stop)
{
    int closed;
    int fd = client_open(http_server_port(server));
    say(fd, "GET /v1/stream/broken HTTP/1.1\r\nHost: h\r\n\r\n");
    const size_t got = client_read(fd, reply, sizeof reply, 3000, 0, &closed);
    cr_assert(closed);
    cr_assert_lt(got, LONG);
    close(fd);
    cr_assert_eq(atomic_load(&freed), 1);
}

Test(memory, a_stream_is_freed_however_it_ends, .init = start, .fini = stop)
{
    int closed;
    int fd = client_open(http_server_port(server));
    say(fd, "HEAD /v1/stream/whole HTTP/1.1\r\nHost: h\r\n\r\n");
    client_read(fd, reply, sizeof reply, 3000, 1, &closed);
    cr_assert_not_null(strstr(reply, "Content-Length: 3145728"), "%s", reply);
    cr_assert_eq(atomic_load(&reads), 0);
    close(fd);
    fd = client_open(http_server_port(server));
    say(fd, "GET /v1/stream/whole HTTP/1.1\r\nHost: h\r\n\r\n");
    sleep_ms(50);
    close(fd); /* without reading */
    fd = client_open(http_server_port(server));
    say(fd, "GET /v1/twice HTTP/1.1\r\nHost: h\r\n\r\n");
    cr_assert_eq(status_of(fd), 200, "%s", reply);
    close(fd);
    for (int i = 0; i < 200 && atomic_load(&freed) < 4; i++) {
        sleep_ms(10);
    }
    cr_assert_eq(atomic_load(&freed), 4);
}

Test(memory, a_reader_who_takes_nothing_is_cut_off, .init = start_hasty, .fini = stop)
{
    const int small = 4096;
    int fd = socket(AF_INET, SOCK_STREAM, 0);
    struct sockaddr_in address = {.sin_family = AF_INET, .sin_port = htons(http_server_port(server))};
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    setsockopt(fd, SOL_SOCKET, SO_RCVBUF, &small, sizeof small);
    cr_assert_eq(connect(fd, (struct sockaddr *)&address, sizeof address), 0);
    say(fd, "GET /v1/stream/whole HTTP/1.1\r\nHost: h\r\n\r\n");
    /* a second, and one for every 64 KiB that went into the line's own buffers */
    for (int i = 0; i < 9000 && atomic_load(&freed) == 0; i++) {
        sleep_ms(10);
    }
    cr_assert_eq(atomic_load(&freed), 1, "never cut");
    close(fd);
}
