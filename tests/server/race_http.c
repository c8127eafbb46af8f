/* The listener, its waker, its figures and its stop, all at once; to be run under ThreadSanitizer and, for what goes
 * wrong inside libmicrohttpd, which is built without it, as it is deployed. Exit status 0 and a line of figures when
 * every request was answered, served or told that the server is stopping. */
#include "tests/server/support.h"

#define CLIENTS 6
#define ROUNDS 120 /* the moment of stopping is what races: many short rounds, not a few long ones */

static struct waker waker;
static _Atomic int go_on, answered, refused, wrong;
static uint16_t port;

static void finish(struct exchange *exchange, void *argument)
{
    const char *text = argument;
    exchange_reply(exchange, 200, "text/plain", text, strlen(text));
}

static void plain(struct exchange *exchange, void *app)
{
    (void)app;
    const char *id = exchange_capture(exchange, 0);
    exchange_reply(exchange, 200, "text/plain", id, strlen(id));
}

static void park(struct exchange *exchange, void *app)
{
    (void)app;
    exchange_park(exchange, finish, "woken");
    if (!waker_give(&waker, exchange)) {
        exchange_problem(exchange, 503, "stopping", NULL, "No room.");
    }
}

static const struct http_route routes[] = {
    {HTTP_GET, "/v1/things/{id}", plain, NULL, 0, NULL},
    {HTTP_POST, "/v1/park", park, NULL, 100, "application/json"},
};

/* One connection's worth of requests. */
static void talk(int fd)
{
    static const char *const requests[] = {
        "GET /v1/things/abc HTTP/1.1\r\nHost: h\r\n\r\n",
        "POST /v1/park HTTP/1.1\r\nHost: h\r\nContent-Type: application/json\r\nContent-Length: 2\r\n\r\n{}"};
    char text[4096];
    int closed = 0;
    for (int i = 0; i < 40 && !closed; i++) {
        const char *request = requests[i % 2];
        if (client_send(fd, request, strlen(request)) != 0) {
            return;
        }
        size_t got = client_read(fd, text, sizeof text, 10000, 0, &closed);
        int status = reply_status(text);
        if (status == 200) {
            atomic_fetch_add(&answered, 1);
        } else if (status == 503) {
            atomic_fetch_add(&refused, 1);
        } else if (got > 0 || !closed) {
            atomic_fetch_add(&wrong, 1);
        }
        closed = closed || strstr(text, "\r\nConnection: close\r\n") != NULL;
    }
}

static void *client(void *argument)
{
    (void)argument;
    while (atomic_load(&go_on)) {
        int fd = client_open(port);
        if (fd < 0) {
            break;
        }
        talk(fd);
        close(fd);
    }
    return NULL;
}

static int round_of_it(void)
{
    char error[256] = "";
    pthread_t clients[CLIENTS];
    struct http_config config = {.address = "127.0.0.1",
                                 .threads = 2,
                                 .routes = routes,
                                 .route_count = sizeof routes / sizeof *routes,
                                 .log_fd = -1};
    FILE *log = tmpfile();
    config.log_fd = log == NULL ? -1 : fileno(log);
    waker_start(&waker);
    struct http_server *server = http_server_start(&config, error, sizeof error);
    if (server == NULL) {
        fprintf(stderr, "%s\n", error);
        return 1;
    }
    port = http_server_port(server);
    atomic_store(&go_on, 1);
    for (int i = 0; i < CLIENTS; i++) {
        pthread_create(&clients[i], NULL, client, NULL);
    }
    for (int i = 0; i < 4; i++) {
        struct arena *arena = arena_new(0);
        (void)http_server_metrics(server, arena);
        arena_free(arena);
        sleep_ms(5);
    }
    http_server_quiesce(server);
    waker_drain(&waker);
    sleep_ms(5); /* for clients that come while the server stops */
    while (http_server_in_flight(server) > 0) {
        sleep_ms(1);
    }
    http_server_stop(server);
    atomic_store(&go_on, 0);
    for (int i = 0; i < CLIENTS; i++) {
        pthread_join(clients[i], NULL);
    }
    if (log != NULL) {
        fclose(log);
    }
    return 0;
}

int main(void)
{
    for (int i = 0; i < ROUNDS; i++) {
        if (round_of_it() != 0) {
            return 1;
        }
    }
    int served = atomic_load(&answered);
    int told = atomic_load(&refused);
    printf("race_http: %d answered, %d told to wait, %d wrong\n", served, told, atomic_load(&wrong));
    return atomic_load(&wrong) == 0 && served > 100 && told > 0 ? 0 : 1;
}
