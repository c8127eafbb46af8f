/* Bodies that are asked for, counted and refused, answers made while they are sent, and the heavy threads with the
 * store's readers, all at once; for ThreadSanitizer. Plain main: exit status 0 when nothing was wrong. */
#include "api/frame/heavy.h"
#include "store/open.h"
#include "tests/server/store_fixture.h"
#include "tests/server/support.h"

#define CLIENTS 6
#define ROUNDS 12
#define LIMIT ((size_t)256 << 10)
#define LONG ((uint64_t)700 << 10)

static struct api api;
static _Atomic int go_on, answered, refused, wrong, working, freed, streams;
static uint16_t port;

static bool gate(struct exchange *exchange, void *app)
{
    (void)app;
    return exchange_claim(exchange, exchange_capture(exchange, 0));
}

static void take(struct exchange *exchange, void *app)
{
    (void)app;
    exchange_reply_empty(exchange, 204);
}

static size_t make(void *context, uint64_t at, char *out, size_t size)
{
    struct store_db *db = store_reader(api.store); /* of the HTTP thread */
    (void)context;
    if (db == NULL || store_read_begin(db) != STORE_OK) {
        return 0;
    }
    memset(out, (int)('a' + at % 7), size);
    store_read_end(db);
    return size;
}

static void made(void *context)
{
    heavy_release(context);
    atomic_fetch_add(&freed, 1);
}

static void stream(struct exchange *exchange, void *app)
{
    (void)app;
    atomic_fetch_add(&streams, 1);
    exchange_reply_stream(exchange, 200, "text/plain", LONG, make, made, NULL);
}

struct job {
    struct heavy_place *place;
    char id[UUID_TEXT];
    bool found;
};

static void work(struct call *call, void *data)
{
    struct job *job = data;
    struct store_student student;
    atomic_fetch_add(&working, 1);
    job->found = store_student_get(call->db, "nobody", call->arena, &student) == STORE_NOT_FOUND;
    sleep_ms(1);
}

static void worked(struct call *call, enum store_status status, void *data)
{
    const struct job *job = data;
    if (status != STORE_OK || !job->found) {
        heavy_release(job->place);
        exchange_reply_empty(call->exchange, 500);
        return;
    }
    atomic_fetch_add(&streams, 1);
    exchange_reply_stream(call->exchange, 200, "text/plain", 1000, make, made, job->place);
}

static void heavy(struct exchange *exchange, void *app)
{
    (void)app;
    struct arena *arena = exchange_arena(exchange);
    struct call *call = arena_alloc(arena, sizeof *call);
    struct principal *principal = arena_alloc(arena, sizeof *principal);
    struct job *job = arena_alloc(arena, sizeof *job);
    snprintf(principal->account_id, sizeof principal->account_id, "%s", exchange_capture(exchange, 0));
    *call = (struct call){.exchange = exchange, .api = &api, .arena = arena, .principal = principal};
    (void)call_heavy(call, work, worked, job, &job->place);
}

static const struct http_route routes[] = {
    {HTTP_PUT, "/large/{owner}", take, NULL, LIMIT, "application/json"},
    {HTTP_GET, "/stream", stream, NULL, 0, NULL},
    {HTTP_GET, "/heavy/{owner}", heavy, NULL, 0, NULL},
};

static void count(int status, int closed)
{
    if (status == 200 || status == 204) {
        atomic_fetch_add(&answered, 1);
    } else if (status == 429 || status == 503) {
        atomic_fetch_add(&refused, 1);
    } else if (status != 0 || !closed) {
        atomic_fetch_add(&wrong, 1);
    }
}

/* A moment before the line is closed: libmicrohttpd 0.9.75 doesn't notice an end that comes together with the last
 * bytes before it until the deadline. */
static bool left_here(int number)
{
    if (number % 5 == 4) {
        sleep_ms(5);
    }
    return number % 5 == 4;
}

/* One connection's worth of requests; every fifth is left in the middle. */
static void talk(int fd, int number)
{
    static char body[LIMIT];
    char *text = malloc(1 << 20);
    char request[256];
    int closed = 0;
    for (int i = 0; i < 8 && !closed; i++) {
        const int kind = (i + number) % 3;
        snprintf(request, sizeof request,
                 kind == 0   ? "PUT /large/owner-%d HTTP/1.1\r\nHost: h\r\nContent-Type: application/json\r\n"
                               "Content-Length: 200000\r\n\r\n"
                 : kind == 1 ? "GET /stream HTTP/1.1\r\nHost: h\r\nX-Number: %d\r\n\r\n"
                             : "GET /heavy/owner-%d HTTP/1.1\r\nHost: h\r\n\r\n",
                 number % 2);
        if (client_send(fd, request, strlen(request)) != 0 || (kind == 0 && client_send(fd, body, 100000) != 0) ||
            left_here(number + i) || (kind == 0 && client_send(fd, body, 100000) != 0)) {
            break;
        }
        client_read(fd, text, 1 << 20, 10000, 0, &closed);
        count(reply_status(text), closed);
        closed = closed || strstr(text, "\r\nConnection: close\r\n") != NULL;
    }
    free(text);
}

static void *client(void *argument)
{
    int number = (int)(size_t)argument;
    while (atomic_load(&go_on)) {
        int fd = client_open(port);
        if (fd < 0) {
            break;
        }
        talk(fd, number++);
        close(fd);
    }
    return NULL;
}

static int round_of_it(void)
{
    char error[256] = "";
    pthread_t clients[CLIENTS];
    const struct http_config config = {.address = "127.0.0.1",
                                       .threads = 2,
                                       .deadline_seconds = 2,
                                       .gate = gate,
                                       .memory_limit = 700000,
                                       .owner_limit = 450000,
                                       .routes = routes,
                                       .route_count = sizeof routes / sizeof *routes,
                                       .log_fd = -1};
    api.heavy = heavy_new(api.store);
    struct http_server *server = http_server_start(&config, error, sizeof error);
    if (server == NULL || api.heavy == NULL) {
        fprintf(stderr, "%s\n", error);
        return 1;
    }
    port = http_server_port(server);
    atomic_store(&go_on, 1);
    for (int i = 0; i < CLIENTS; i++) {
        pthread_create(&clients[i], NULL, client, (void *)(size_t)i);
    }
    sleep_ms(120);
    http_server_quiesce(server);
    while (http_server_in_flight(server) > 0) {
        sleep_ms(1);
    }
    http_server_stop(server);
    atomic_store(&go_on, 0);
    for (int i = 0; i < CLIENTS; i++) {
        pthread_join(clients[i], NULL);
    }
    heavy_free(api.heavy);
    return 0;
}

int main(void)
{
    struct fixture fixture;
    fixture_directory(&fixture);
    const struct store_config config = {.directory = fixture.directory};
    store_prepare_threads();
    api.store = store_open(&config, fixture.error, sizeof fixture.error);
    if (api.store == NULL) {
        fprintf(stderr, "%s\n", fixture.error);
        return 1;
    }
    for (int i = 0; i < ROUNDS; i++) {
        if (round_of_it() != 0) {
            return 1;
        }
    }
    store_close(api.store);
    fixture_close(&fixture);
    printf("race_load: %d answered, %d refused, %d wrong, %d worked on, %d of %d streams given back\n",
           atomic_load(&answered), atomic_load(&refused), atomic_load(&wrong), atomic_load(&working),
           atomic_load(&freed), atomic_load(&streams));
    return atomic_load(&wrong) == 0 && atomic_load(&answered) > 100 && atomic_load(&refused) > 0 &&
                   atomic_load(&working) > 10 && atomic_load(&freed) == atomic_load(&streams)
               ? 0
               : 1;
}
