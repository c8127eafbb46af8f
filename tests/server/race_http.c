/* The listener, its waker, its figures and its stop, all at once; to be run under ThreadSanitizer and, for what goes
 * wrong inside libmicrohttpd, which is built without it, as it is deployed. Exit status 0 and a line of figures when
 * every request was answered, served or told that the server is stopping. */
#include "tests/server/support.h"

#define CLIENTS 6
#define ROUNDS 120 /* the moment of stopping is what races: many short rounds, not a few long ones */

static struct waker waker;
static _Atomic int go_on, answered, heard, refused, wrong, telling;
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

/* ---- listeners: told by a thread while they come, hang up and are ended ---- */

struct ear {
    struct ear *next;
    struct exchange *exchange;
    int news;
    bool over;
};

static pthread_mutex_t ears_mutex = PTHREAD_MUTEX_INITIALIZER;
static struct ear *ears;
static bool ears_stopping;

static long ear_read(void *context, char *out, size_t size)
{
    struct ear *ear = context;
    pthread_mutex_lock(&ears_mutex);
    const bool news = ear->news > 0 && size > 4;
    ear->news -= news;
    const bool over = ears_stopping || ear->over;
    pthread_mutex_unlock(&ears_mutex);
    if (news) {
        memcpy(out, "news", 4);
    }
    return news ? 4 : over ? -1 : 0;
}

static void ear_release(void *context)
{
    pthread_mutex_lock(&ears_mutex);
    struct ear **at = &ears;
    while (*at != context) {
        at = &(*at)->next;
    }
    *at = (*at)->next;
    pthread_mutex_unlock(&ears_mutex);
    free(context);
}

static void listen_to(struct exchange *exchange, void *app)
{
    struct ear *ear = calloc(1, sizeof *ear);
    (void)app;
    if (ear == NULL) {
        exchange_problem(exchange, 503, "memory", NULL, "No room.");
        return;
    }
    ear->exchange = exchange;
    ear->news = 1;
    pthread_mutex_lock(&ears_mutex);
    ear->next = ears;
    ears = ear;
    pthread_mutex_unlock(&ears_mutex);
    exchange_reply_listen(exchange, "text/event-stream", ear_read, ear_release, ear);
}

/* One piece of news for each; every third one is over, as is whoever hung up. */
static void ears_tell(bool stopping)
{
    static unsigned turn;
    pthread_mutex_lock(&ears_mutex);
    ears_stopping = stopping;
    for (struct ear *ear = ears; ear != NULL; ear = ear->next) {
        ear->news++;
        ear->over = ear->over || ++turn % 3 == 0 || exchange_listen_gone(ear->exchange);
        exchange_listen_wake(ear->exchange);
    }
    pthread_mutex_unlock(&ears_mutex);
}

static void *teller(void *argument)
{
    while (atomic_load((_Atomic int *)argument)) {
        ears_tell(false);
        sleep_ms(1);
    }
    return NULL;
}

static const struct http_route routes[] = {
    {HTTP_GET, "/v1/events", listen_to, NULL, 0, NULL},
    {HTTP_GET, "/v1/things/{id}", plain, NULL, 0, NULL},
    {HTTP_POST, "/v1/park", park, NULL, 100, "application/json"},
};

/* Hangs up after a piece of news, or stays to the end. */
static void hear(int fd, bool stays)
{
    static const char request[] = "GET /v1/events HTTP/1.1\r\nHost: h\r\n\r\n";
    char text[4096];
    int closed = 0;
    size_t used = 0;
    if (client_send(fd, request, sizeof request - 1) != 0) {
        return;
    }
    while (!closed && used + 1 < sizeof text) {
        struct pollfd wait = {.fd = fd, .events = POLLIN};
        const ssize_t got = poll(&wait, 1, 10000) > 0 ? recv(fd, text + used, sizeof text - 1 - used, 0) : 0;
        closed = got <= 0;
        used += got > 0 ? (size_t)got : 0;
        text[used] = '\0';
        if (reply_status(text) == 503) {
            atomic_fetch_add(&refused, 1);
            return;
        }
        if (strstr(text, "\r\n0\r\n\r\n") != NULL || (!stays && strstr(text, "news") != NULL)) {
            atomic_fetch_add(&heard, 1);
            return;
        }
    }
    if (used > 0) {
        atomic_fetch_add(&wrong, 1);
    }
}

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
    int turn = 0;
    while (atomic_load(&go_on)) {
        int fd = client_open(port);
        if (fd < 0) {
            break;
        }
        if (argument == NULL) {
            talk(fd);
        } else {
            hear(fd, ++turn % 2 == 0);
        }
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
    pthread_t tells;
    atomic_store(&telling, 1);
    ears_tell(false);
    pthread_create(&tells, NULL, teller, &telling);
    for (int i = 0; i < CLIENTS; i++) {
        pthread_create(&clients[i], NULL, client, i % 2 == 0 ? NULL : &clients);
    }
    for (int i = 0; i < 4; i++) {
        struct arena *arena = arena_new(0);
        (void)http_server_metrics(server, arena);
        arena_free(arena);
        sleep_ms(5);
    }
    http_server_quiesce(server);
    atomic_store(&telling, 0);
    pthread_join(tells, NULL);
    ears_tell(true);
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
    printf("race_http: %d answered, %d heard, %d told to wait, %d wrong\n", served, atomic_load(&heard), told,
           atomic_load(&wrong));
    return atomic_load(&wrong) == 0 && atomic_load(&heard) > 100 && served > 100 && told > 0 ? 0 : 1;
}
