/* The listener: starting libmicrohttpd over the route table, carrying each request through its stages, stopping. */
#define _GNU_SOURCE /* dup3 */
#include <arpa/inet.h>
#include <errno.h>
#include <fcntl.h>
#include <netdb.h>
#include <sodium.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <time.h>
#include <unistd.h>

#include "http/connection.h"

#define BODY_SLACK ((uint64_t)1 << 20) /* read past the limit of a chunked body before the line is dropped */

/* ---- a request's stages ---- */

/* The request line is in; headers are not. */
static void *on_uri(void *context, const char *uri, struct MHD_Connection *mhd)
{
    struct http_server *server = context;
    const union MHD_ConnectionInfo *info = MHD_get_connection_info(mhd, MHD_CONNECTION_INFO_SOCKET_CONTEXT);
    struct connection *connection = info == NULL ? NULL : info->socket_context;
    if (connection == NULL) {
        return NULL;
    }
    struct exchange *exchange = &connection->exchange;
    arena_free(exchange->arena);
    memset(exchange, 0, sizeof *exchange);
    exchange->connection = connection;
    exchange->server = server;
    exchange->mhd = mhd;
    exchange->remote = connection->remote;
    memcpy(exchange->network, connection->network, sizeof exchange->network);
    exchange->method_name = "other";
    exchange->shortages = arena_shortages();
    exchange->arena = arena_new(HTTP_ARENA_LIMIT);
    char *copy = exchange->arena == NULL ? NULL : arena_strdup(exchange->arena, uri);
    if (copy == NULL) {
        arena_free(exchange->arena);
        exchange->arena = NULL;
        return NULL;
    }
    exchange->target = uri;
    exchange->uri_fault = uri_split(copy, &exchange->authority, &exchange->path, &exchange->query);
    /* The library's string ends at a NUL of the line's own; behind a whole one the version stands. */
    if (strncmp(uri + strlen(uri) + 1, "HTTP/", 5) != 0) {
        exchange->uri_fault = URI_MALFORMED;
    }
    snprintf(exchange->id, sizeof exchange->id, "%08x-%llx", server->boot,
             (unsigned long long)atomic_fetch_add_explicit(&server->next_id, 1, memory_order_relaxed));
    exchange->started_ns = clock_monotonic_ns();
    deadline_set(connection, exchange->started_ns, server->config.deadline_seconds);
    return exchange;
}

static enum MHD_Result send_reply(struct exchange *exchange)
{
    if (!exchange->replied) {
        exchange_problem(exchange, 500, "internal", NULL, "The server made an error; it has been logged.");
    }
    if (exchange->response == NULL) {
        return MHD_NO;
    }
    exchange->stage = STAGE_REPLIED;
    deadline_set(exchange->connection, clock_monotonic_ns(), exchange->server->config.deadline_seconds);
    enum MHD_Result result = MHD_queue_response(exchange->mhd, (unsigned)exchange->status, exchange->response);
    MHD_destroy_response(exchange->response);
    exchange->response = NULL;
    return result;
}

/* After a handler or continuation: parked (and not yet woken), woken already, or replied. */
static enum MHD_Result settle(struct exchange *exchange)
{
    while (!exchange->replied) {
        int park = atomic_load(&exchange->park);
        if (park == PARK_NONE) {
            break;
        }
        exchange->starved = exchange_memory_short(exchange);
        if (park == PARK_WANTED) {
            /* Suspended first: whoever wakes it from here on must find something to resume. */
            exchange->stage = STAGE_PARKED;
            MHD_suspend_connection(exchange->mhd);
            int wanted = PARK_WANTED;
            if (!atomic_compare_exchange_strong(&exchange->park, &wanted, PARK_SUSPENDED)) {
                MHD_resume_connection(exchange->mhd);
            }
            return MHD_YES;
        }
        atomic_store(&exchange->park, PARK_NONE);
        exchange->shortages = arena_shortages();
        exchange->then(exchange, exchange->then_argument);
    }
    return send_reply(exchange);
}

static enum MHD_Result dispatch(struct exchange *exchange)
{
    deadline_set(exchange->connection, 0, 0);
    exchange->stage = STAGE_PARKED;
    exchange->route->handler(exchange, exchange->server->config.app);
    return settle(exchange);
}

/* May this body come? A client that was refused and is sending already must still be read, or closing on it would take
 * the answer away; what it sends is thrown away. One that waits to be told to go on is told at once. */
static bool ask_gate(struct exchange *exchange)
{
    const struct http_config *config = &exchange->server->config;
    if (config->gate == NULL || exchange->route->body_limit <= config->small_body) {
        return true;
    }
    exchange->close = true; /* of a refusal */
    if (config->gate(exchange, config->app)) {
        exchange->close = false;
        return true;
    }
    return !exchange->expects;
}

/* All headers are in. Counted before looking whether we are stopping: whoever quiesces and then sees nothing in flight
 * can rely on nothing being parked later. A line opened since then is not counted, or clients that come again and again
 * could put off the end for ever. */
static enum MHD_Result begin(struct exchange *exchange, const char *method, const char *version)
{
    struct http_server *server = exchange->server;
    exchange->begun = true;
    if (!exchange->connection->late) {
        atomic_fetch_add(&server->in_flight, 1);
    }
    bool welcome = request_begin(exchange, method, version);
    if (welcome && exchange->announced != 0 && !atomic_load(&server->quiesced)) {
        welcome = ask_gate(exchange);
    }
    if (welcome && atomic_load(&server->quiesced)) {
        /* The body is still read: closing on a client that is sending could take the answer away from it. */
        exchange_add_header(exchange, "Retry-After", "5");
        exchange_problem(exchange, 503, "stopping", NULL, "The server is stopping; send this again in a moment.");
    }
    /* An answer at this point makes libmicrohttpd end the connection, so only a refusal that must end it is sent now.
     */
    exchange->stage = STAGE_BODY;
    return !welcome && exchange->close ? send_reply(exchange) : MHD_YES;
}

static enum MHD_Result take_body(struct exchange *exchange, const char *data, size_t *size)
{
    if (*size > 0) {
        request_body(exchange, data, *size);
        *size = 0;
        return exchange->body_seen > exchange->route->body_limit + BODY_SLACK ? MHD_NO : MHD_YES;
    }
    if (exchange->replied) {
        return send_reply(exchange);
    }
    if (exchange->body_short) {
        exchange->close = true;
        reply_memory(exchange);
        return send_reply(exchange);
    }
    if (exchange->body_over) {
        exchange->close = true;
        exchange_problem(exchange, 413, "too-large", NULL, "The body may have %zu bytes at most.",
                         exchange->route->body_limit);
        return send_reply(exchange);
    }
    return dispatch(exchange);
}

static enum MHD_Result on_request(void *context, struct MHD_Connection *mhd, const char *url, const char *method,
                                  const char *version, const char *upload_data, size_t *upload_size, void **state)
{
    (void)context;
    (void)mhd;
    (void)url;
    struct exchange *exchange = *state;
    if (exchange == NULL) {
        return MHD_NO;
    }
    switch (exchange->stage) {
    case STAGE_HEADERS:
        return begin(exchange, method, version);
    case STAGE_BODY:
        return take_body(exchange, upload_data, upload_size);
    case STAGE_PARKED:
        if (atomic_load(&exchange->park) != PARK_WOKEN) {
            return MHD_YES;
        }
        return settle(exchange);
    default:
        return MHD_NO;
    }
}

static void on_completed(void *context, struct MHD_Connection *mhd, void **state, enum MHD_RequestTerminationCode code)
{
    struct http_server *server = context;
    struct exchange *exchange = *state;
    (void)mhd;
    *state = NULL;
    if (exchange == NULL) {
        return;
    }
    int64_t now = clock_monotonic_ns();
    if (exchange->begun) {
        size_t route =
            exchange->route == NULL ? server->router.route_count : (size_t)(exchange->route - server->router.routes);
        /* how long somebody listened is no measure of speed */
        const int64_t answered = exchange->news == NULL ? now : exchange->stream_started_ns;
        metrics_count(&server->metrics, route, exchange->status, answered - exchange->started_ns);
        log_request(&server->log, exchange, now - exchange->started_ns, code != MHD_REQUEST_TERMINATED_COMPLETED_OK);
    }
    if (exchange->response != NULL) {
        MHD_destroy_response(exchange->response);
    }
    if (exchange->stream_free != NULL) {
        exchange->stream_free(exchange->stream_context);
    }
    budget_release(exchange);
    free(exchange->body);
    exchange->body = NULL;
    arena_free(exchange->arena);
    exchange->arena = NULL;
    client_leave(exchange);
    deadline_set(exchange->connection, now, server->config.deadline_seconds + server->config.idle_seconds);
    if (exchange->begun) {
        exchange->begun = false;
        if (!exchange->connection->late) {
            atomic_fetch_sub(&server->in_flight, 1);
        }
    }
}

static void on_connection(void *context, struct MHD_Connection *mhd, void **socket_context,
                          enum MHD_ConnectionNotificationCode code)
{
    struct http_server *server = context;
    if (code == MHD_CONNECTION_NOTIFY_STARTED) {
        const union MHD_ConnectionInfo *info = MHD_get_connection_info(mhd, MHD_CONNECTION_INFO_CONNECTION_FD);
        *socket_context = info == NULL ? NULL : deadline_add(server, info->connect_fd);
    } else if (*socket_context != NULL) {
        /* A request whose headers never came whole is not completed: its memory is still here. */
        struct connection *connection = *socket_context;
        arena_free(connection->exchange.arena);
        deadline_remove(server, connection);
        *socket_context = NULL;
    }
}

/* ---- starting and stopping ---- */

static int open_listener(const struct http_config *config, char *error, size_t error_size)
{
    char port[8];
    struct addrinfo hints = {
        .ai_family = AF_UNSPEC, .ai_socktype = SOCK_STREAM, .ai_flags = AI_PASSIVE | AI_NUMERICHOST};
    struct addrinfo *found = NULL;
    snprintf(port, sizeof port, "%u", config->port);
    if (getaddrinfo(config->address, port, &hints, &found) != 0) {
        snprintf(error, error_size, "%s is not an address", config->address == NULL ? "(none)" : config->address);
        return -1;
    }
    int on = 1;
    int fd = socket(found->ai_family, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
    bool fine = fd >= 0 && setsockopt(fd, SOL_SOCKET, SO_REUSEADDR, &on, sizeof on) == 0 &&
                bind(fd, found->ai_addr, found->ai_addrlen) == 0 && listen(fd, 511) == 0;
    freeaddrinfo(found);
    if (!fine) {
        snprintf(error, error_size, "can't listen on %s port %u: %s", config->address, config->port, strerror(errno));
        if (fd >= 0) {
            close(fd);
        }
        return -1;
    }
    return fd;
}

/* The socket that was handed over, by a second number too, and what takes its place in the end. */
static int take_listener(struct http_server *server, char *error, size_t error_size)
{
    const int fd = server->config.handed;
    server->handed_fd = fcntl(fd, F_DUPFD_CLOEXEC, 0);
    server->dead_fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
    if (server->handed_fd < 0 || server->dead_fd < 0) {
        snprintf(error, error_size, "the socket that was handed over can't be used: %s", strerror(errno));
        close(fd);
        return -1;
    }
    return fd;
}

static uint16_t port_of(int fd)
{
    struct sockaddr_in6 address = {0}; /* whose port stands where that of IPv4 does */
    socklen_t length = sizeof address;
    if (getsockname(fd, (struct sockaddr *)&address, &length) != 0 || address.sin6_family == AF_UNIX) {
        return 0;
    }
    return ntohs(address.sin6_port);
}

/* A thread of the library's without a connection that gets no descriptor for its first one asks for it again at once,
 * and says so each time: it is made to wait here, for it has nothing else to do. What else it says is of no use. */
static void on_complaint(void *context, const char *format, va_list arguments)
{
    enum { PAUSE_NS = 100000000 };
    (void)context;
    (void)arguments;
    if (strstr(format, "resource limit at FIRST connection") != NULL) {
        (void)nanosleep(&(struct timespec){.tv_nsec = PAUSE_NS}, NULL);
    }
}

static struct MHD_Daemon *start_daemon(struct http_server *server)
{
    const struct http_config *config = &server->config;
    struct MHD_OptionItem options[8];
    int count = 0;
    if (config->threads > 1) { /* a pool of one is no pool */
        options[count++] = (struct MHD_OptionItem){MHD_OPTION_THREAD_POOL_SIZE, (intptr_t)config->threads, NULL};
    }
    if (config->per_address_limit > 0) {
        options[count++] =
            (struct MHD_OptionItem){MHD_OPTION_PER_IP_CONNECTION_LIMIT, (intptr_t)config->per_address_limit, NULL};
    }
    options[count] = (struct MHD_OptionItem){MHD_OPTION_END, 0, NULL};
    return MHD_start_daemon(
        MHD_USE_EPOLL_INTERNAL_THREAD | MHD_ALLOW_SUSPEND_RESUME | MHD_USE_ERROR_LOG, 0, NULL, NULL, on_request, server,
        MHD_OPTION_EXTERNAL_LOGGER, on_complaint, NULL, MHD_OPTION_LISTEN_SOCKET, server->listen_fd,
        MHD_OPTION_STRICT_FOR_CLIENT, 1, MHD_OPTION_CONNECTION_LIMIT, config->connection_limit,
        MHD_OPTION_CONNECTION_MEMORY_LIMIT, HTTP_CONNECTION_MEMORY, MHD_OPTION_CONNECTION_TIMEOUT, config->idle_seconds,
        MHD_OPTION_URI_LOG_CALLBACK, on_uri, server, MHD_OPTION_NOTIFY_COMPLETED, on_completed, server,
        MHD_OPTION_NOTIFY_CONNECTION, on_connection, server, MHD_OPTION_ARRAY, options, MHD_OPTION_END);
}

static void fill_defaults(struct http_config *config)
{
    if (config->threads == 0) {
        long cores = sysconf(_SC_NPROCESSORS_ONLN);
        config->threads = cores < 1 ? 1 : (unsigned)cores;
    }
    config->connection_limit = config->connection_limit == 0 ? 1024 : config->connection_limit;
    config->idle_seconds = config->idle_seconds == 0 ? 60 : config->idle_seconds;
    config->deadline_seconds = config->deadline_seconds == 0 ? 30 : config->deadline_seconds;
    config->memory_limit = config->memory_limit == 0 ? (size_t)256 << 20 : config->memory_limit;
    config->owner_limit = config->owner_limit == 0 ? (size_t)48 << 20 : config->owner_limit;
}

static void release(struct http_server *server)
{
    deadline_stop(server);
    budget_free(&server->budget);
    log_stop(&server->log);
    metrics_free(&server->metrics);
    router_free(&server->router);
    const int open[] = {server->listen_fd, server->handed_fd, server->dead_fd};
    for (size_t i = 0; i < sizeof open / sizeof *open; i++) {
        if (open[i] >= 0) {
            close(open[i]);
        }
    }
    free(server);
}

struct http_server *http_server_start(const struct http_config *config, char *error, size_t error_size)
{
    struct http_server *server = NULL;
    snprintf(error, error_size, "memory is short");
    if (sodium_init() < 0 || posix_memalign((void **)&server, 64, sizeof *server) != 0) {
        return NULL;
    }
    memset(server, 0, sizeof *server);
    server->config = *config;
    server->listen_fd = server->handed_fd = server->dead_fd = -1;
    atomic_init(&server->quiet_since_ns, clock_monotonic_ns());
    server->boot = randombytes_random();
    randombytes_buf(server->client_key, sizeof server->client_key);
    fill_defaults(&server->config);
    budget_init(&server->budget, server->config.memory_limit, server->config.owner_limit);
    bool parts = metrics_init(&server->metrics, config->route_count);
    parts = log_start(&server->log, config->log_fd) && parts;
    parts = deadline_start(server) && parts;
    if (!parts || !router_build(&server->router, config->routes, config->route_count, error, error_size)) {
        release(server);
        return NULL;
    }
    server->listen_fd = config->handed > 0 ? take_listener(server, error, error_size)
                                           : open_listener(&server->config, error, error_size);
    if (server->listen_fd >= 0) {
        server->port = port_of(server->listen_fd);
        server->daemon = start_daemon(server);
        snprintf(error, error_size, "%s", server->daemon == NULL ? "the HTTP threads can't be had" : "");
    }
    if (server->daemon == NULL) {
        release(server);
        return NULL;
    }
    return server;
}

/* Puts a socket that nobody comes to in the listening one's place. The library knows it by its number alone, so it
 * takes nobody any more, and at its end it is this one that it shuts down: the other has to live on for whoever else
 * has it. */
static void turn_away(const struct http_server *server)
{
    (void)dup3(server->dead_fd, server->listen_fd, O_CLOEXEC);
}

/* Whoever was being taken when it turned away is among the connections, or has been, by the time it looks again. */
bool http_server_leave(struct http_server *server, int64_t quiet_ms)
{
    enum { BEING_TAKEN_MS = 100 };
    if (server->handed_fd < 0 || http_server_quiet_ms(server) < quiet_ms) {
        return false;
    }
    turn_away(server);
    nanosleep(&(struct timespec){.tv_nsec = BEING_TAKEN_MS * 1000000L}, NULL);
    if (http_server_quiet_ms(server) >= quiet_ms) {
        return true;
    }
    (void)dup3(server->handed_fd, server->listen_fd, O_CLOEXEC);
    return false;
}

int64_t http_server_quiet_ms(const struct http_server *server)
{
    const int64_t quiet = clock_monotonic_ns() - atomic_load(&server->quiet_since_ns);
    return atomic_load(&server->connections) > 0 ? 0 : quiet / 1000000;
}

uint16_t http_server_port(const struct http_server *server)
{
    return server->port;
}

/* A flag of our own and nothing else. MHD_quiesce_daemon takes the listening socket out of the workers' epoll sets from
 * this thread while each worker may be doing the same, and libmicrohttpd ends the process when it was taken out
 * already.
 */
void http_server_quiesce(struct http_server *server)
{
    atomic_store(&server->quiesced, true);
}

unsigned http_server_in_flight(const struct http_server *server)
{
    return atomic_load(&server->in_flight);
}

void http_server_stop(struct http_server *server)
{
    if (server == NULL) {
        return;
    }
    http_server_quiesce(server);
    /* libmicrohttpd ends the whole process when it stops with a suspended connection. */
    while (atomic_load(&server->parked) > 0) {
        nanosleep(&(struct timespec){.tv_nsec = 1000000}, NULL);
    }
    /* Nobody new comes in once lines are being cut. The workers let the dead listener be; the library closes it when
     * they have ended. */
    if (server->handed_fd >= 0) {
        turn_away(server);
    }
    shutdown(server->listen_fd, SHUT_RDWR);
    MHD_stop_daemon(server->daemon);
    server->listen_fd = -1;
    release(server);
}
