/* Answers that go on as there is news: suspended in between, woken by whoever has some. */
#include <errno.h>
#include <sys/socket.h>

#include "http/connection.h"

#define LAST_SECONDS 2 /* for the last words, when the server is stopping */

/* Suspended first: whoever wakes it from here on must find something to resume. */
static void suspend(struct exchange *exchange)
{
    int sending = LISTEN_SENDING;
    deadline_set(exchange->connection, 0, 0);
    atomic_fetch_add(&exchange->server->parked, 1);
    MHD_suspend_connection(exchange->mhd);
    if (!atomic_compare_exchange_strong(&exchange->listen, &sending, LISTEN_SUSPENDED)) {
        MHD_resume_connection(exchange->mhd);
        atomic_fetch_sub(&exchange->server->parked, 1);
    }
}

static unsigned seconds_to_take(const struct http_server *server)
{
    return atomic_load(&server->quiesced) ? LAST_SECONDS : server->config.deadline_seconds;
}

static ssize_t listen_read(void *context, uint64_t at, char *out, size_t size)
{
    struct exchange *exchange = context;
    (void)at;
    arena_free(exchange->arena); /* nothing of the request is needed any more, and it may wait for hours */
    exchange->arena = NULL;
    atomic_store(&exchange->listen, LISTEN_SENDING);
    const long got = exchange->news(exchange->stream_context, out, size);
    if (got == 0) {
        suspend(exchange);
        return 0;
    }
    deadline_set(exchange->connection, clock_monotonic_ns(), seconds_to_take(exchange->server));
    exchange->reply_size += got > 0 ? (size_t)got : 0;
    return got < 0 ? MHD_CONTENT_READER_END_OF_STREAM : got;
}

void exchange_reply_listen(struct exchange *exchange, const char *content_type, exchange_news_fn news,
                           exchange_free_fn release, void *context)
{
    if (!reply_begin(exchange, 200)) {
        release(context);
        return;
    }
    client_leave(exchange);
    exchange->news = news;
    exchange->stream_free = release;
    exchange->stream_context = context;
    exchange->stream_started_ns = clock_monotonic_ns();
    exchange->response = MHD_create_response_from_callback(MHD_SIZE_UNKNOWN, 512, listen_read, exchange, NULL);
    if (exchange->response != NULL) {
        (void)reply_headers(exchange, content_type);
    }
}

void exchange_listen_wake(struct exchange *exchange)
{
    struct http_server *server = exchange->server;
    if (atomic_load(&server->quiesced)) { /* whoever takes nothing must not hold up the end */
        deadline_set(exchange->connection, clock_monotonic_ns(), LAST_SECONDS);
    }
    if (atomic_exchange(&exchange->listen, LISTEN_WOKEN) == LISTEN_SUSPENDED) {
        MHD_resume_connection(exchange->mhd);
        atomic_fetch_sub(&server->parked, 1);
    }
}

bool exchange_listen_gone(const struct exchange *exchange)
{
    char byte;
    const ssize_t got = recv(exchange->connection->fd, &byte, 1, MSG_PEEK | MSG_DONTWAIT);
    return got == 0 || (got < 0 && errno != EAGAIN && errno != EWOULDBLOCK && errno != EINTR);
}
