/* Total deadlines, and pauses. libmicrohttpd's own timeout is for silence only: a client that sends one byte now and
 * then would hold its connection for ever. A watchdog shuts down the socket of every connection that is past its
 * deadline; libmicrohttpd then sees the end of the stream and cleans up as usual. */
#include <arpa/inet.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <time.h>

#include "base/wait.h"
#include "http/connection.h"

#define WATCH_EVERY_MS 100

void deadline_set(struct connection *connection, int64_t now_ns, unsigned seconds)
{
    int64_t deadline = seconds == 0 ? 0 : now_ns + (int64_t)seconds * 1000000000;
    atomic_store_explicit(&connection->deadline_ns, deadline, memory_order_relaxed);
}

void exchange_pause(struct exchange *exchange, unsigned ms, exchange_handler then, void *argument)
{
    exchange_park(exchange, then, argument);
    atomic_store(&exchange->connection->pause_ns, clock_monotonic_ns() + (int64_t)ms * 1000000);
}

/* A parked exchange keeps its connection, so the connection stays while it is looked at. The end of its pause; 0 =
 * none. */
static int64_t end_pause(struct connection *connection, int64_t now)
{
    int64_t pause = atomic_load(&connection->pause_ns);
    if (pause == 0 || pause > now) {
        return pause;
    }
    atomic_store(&connection->pause_ns, 0);
    exchange_wake(&connection->exchange);
    return 0;
}

/* When to look again, in ms: at the end of the next pause, or in a while. */
static int64_t look_round(struct http_server *server)
{
    int64_t now = clock_monotonic_ns();
    int64_t next = now + (int64_t)WATCH_EVERY_MS * 1000000;
    for (struct connection *connection = server->list; connection != NULL; connection = connection->next) {
        const int64_t pause = end_pause(connection, now);
        next = pause != 0 && pause < next ? pause : next;
        int64_t deadline = atomic_load_explicit(&connection->deadline_ns, memory_order_relaxed);
        if (deadline != 0 && now > deadline) {
            shutdown(connection->fd, SHUT_RDWR);
            atomic_store_explicit(&connection->deadline_ns, 0, memory_order_relaxed);
            atomic_fetch_add(&server->cut, 1);
        }
    }
    return (next - now) / 1000000 + 1;
}

static void *watch(void *argument)
{
    struct http_server *server = argument;
    pthread_mutex_lock(&server->list_mutex);
    while (!server->stop_watching) {
        if (server->list == NULL) {
            pthread_cond_wait(&server->watchdog_wake, &server->list_mutex);
            continue;
        }
        const struct timespec end = wait_end(look_round(server));
        (void)wait_until(&server->watchdog_wake, &server->list_mutex, &end);
    }
    pthread_mutex_unlock(&server->list_mutex);
    return NULL;
}

bool deadline_start(struct http_server *server)
{
    pthread_mutex_init(&server->list_mutex, NULL);
    wait_init(&server->watchdog_wake);
    server->watching = pthread_create(&server->watchdog, NULL, watch, server) == 0;
    return server->watching;
}

void deadline_stop(struct http_server *server)
{
    if (server->watching) {
        pthread_mutex_lock(&server->list_mutex);
        server->stop_watching = true;
        pthread_cond_signal(&server->watchdog_wake);
        pthread_mutex_unlock(&server->list_mutex);
        pthread_join(server->watchdog, NULL);
    }
    pthread_mutex_destroy(&server->list_mutex);
    pthread_cond_destroy(&server->watchdog_wake);
}

static void write_remote(int fd, char *out, size_t size)
{
    struct sockaddr_storage address;
    socklen_t length = sizeof address;
    out[0] = '\0';
    if (getpeername(fd, (struct sockaddr *)&address, &length) != 0) {
        return;
    }
    if (address.ss_family == AF_INET) {
        inet_ntop(AF_INET, &((struct sockaddr_in *)&address)->sin_addr, out, (socklen_t)size);
    } else if (address.ss_family == AF_INET6) {
        inet_ntop(AF_INET6, &((struct sockaddr_in6 *)&address)->sin6_addr, out, (socklen_t)size);
    } else if (address.ss_family == AF_UNIX) { /* of this machine */
        inet_ntop(AF_INET, &(struct in_addr){.s_addr = htonl(INADDR_LOOPBACK)}, out, (socklen_t)size);
    }
}

struct connection *deadline_add(struct http_server *server, int fd)
{
    struct connection *connection = calloc(1, sizeof *connection);
    if (connection == NULL) {
        return NULL;
    }
    atomic_fetch_add(&server->connections, 1);
    connection->fd = fd;
    connection->late = atomic_load(&server->quiesced);
    connection->exchange.connection = connection;
    connection->exchange.server = server;
    write_remote(fd, connection->remote, sizeof connection->remote);
    client_network(connection->remote, connection->network);
    deadline_set(connection, clock_monotonic_ns(), server->config.deadline_seconds);
    pthread_mutex_lock(&server->list_mutex);
    connection->next = server->list;
    if (connection->next != NULL) {
        connection->next->previous = connection;
    } else {
        pthread_cond_signal(&server->watchdog_wake); /* without connections it sleeps */
    }
    server->list = connection;
    pthread_mutex_unlock(&server->list_mutex);
    return connection;
}

void deadline_remove(struct http_server *server, struct connection *connection)
{
    pthread_mutex_lock(&server->list_mutex);
    if (connection->previous != NULL) {
        connection->previous->next = connection->next;
    } else {
        server->list = connection->next;
    }
    if (connection->next != NULL) {
        connection->next->previous = connection->previous;
    }
    pthread_mutex_unlock(&server->list_mutex);
    atomic_store(&server->quiet_since_ns, clock_monotonic_ns());
    atomic_fetch_sub(&server->connections, 1);
    free(connection);
}
