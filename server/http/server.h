/* The listener: an epoll pool of libmicrohttpd threads over a fixed table of routes.
 * Refuses by itself (problem+json): smuggled framing, HTTP/1.1 without Host, bad paths, bodies past the route's limit,
 * wrong content types, requests past their total deadline. */
#ifndef LEADSIDE_HTTP_SERVER_H
#define LEADSIDE_HTTP_SERVER_H

#include <stdint.h>

#include "http/exchange.h"

/* One route. path: "/v1/students/{id}/swings". consumes: content types a body may have,
 * with ", " between them; NULL when no body is taken. */
struct http_route {
    enum http_method method;
    const char *path;
    exchange_handler handler; /* usually one dispatch function of the api, which reads row */
    const void *row;
    size_t body_limit;
    const char *consumes;
};

struct http_config {
    const char *address; /* "127.0.0.1" */
    uint16_t port;       /* 0 = any free one */
    int handed; /* instead of both: a socket that listens already, and goes on for others when the server has ended */
    unsigned threads;           /* 0 = cores */
    unsigned connection_limit;  /* 0 = 1024 */
    unsigned per_address_limit; /* connections from one address; 0 = no limit */
    unsigned idle_seconds;      /* silence; 0 = 60 */
    unsigned deadline_seconds;  /* for the whole of a request coming in, and of a reply going out; 0 = 30 */
    exchange_gate gate;  /* asked, when the headers are in, whether a body may come; NULL = any within the limit may */
    size_t small_body;   /* routes whose limit is no more than this do without asking */
    size_t memory_limit; /* bytes of long bodies and of answers not yet fetched, in all; 0 = 256 MiB */
    size_t owner_limit;  /* and of one owner (exchange_claim); 0 = 48 MiB */
    const struct http_route *routes;
    size_t route_count;
    unsigned per_client_limit; /* requests under way of one forwarded address (IPv6: /64); 0 = no limit */
    bool forwarded;            /* behind a proxy: exchange_remote is the last address of X-Forwarded-For */
    void *app;                 /* handed to every handler */
    int log_fd;                /* one JSON line per request; -1 = none */
};

struct http_server;

/* NULL with a message in error when the address can't be had. */
struct http_server *http_server_start(const struct http_config *config, char *error, size_t error_size);
uint16_t http_server_port(const struct http_server *server);
/* Step 1 of stopping: every new request, on an old connection or a new one, is answered 503 and its connection closed;
 * requests already begun go on. The socket listens until the last step, so that whoever comes meanwhile is told. */
void http_server_quiesce(struct http_server *server);
/* How long nobody has been connected, in ms; 0 = somebody is. */
int64_t http_server_quiet_ms(const struct http_server *server);
/* Of a server that was handed its socket, when nobody has been connected for so long: takes nobody any more; who comes
 * waits in the socket for the next to listen. False when somebody came in at the last moment: it goes on listening. */
bool http_server_leave(struct http_server *server, int64_t quiet_ms);
/* Requests under way, parked ones included; not those on connections opened after quiescing, which are all refused. */
unsigned http_server_in_flight(const struct http_server *server);
/* Last step: whoever wakes parked exchanges must have done so, or still be doing it: waits until none is left. New
 * connections are refused, then the open ones are closed. Frees the server. */
void http_server_stop(struct http_server *server);
/* Appends this layer's Prometheus text (requests by route and status, seconds, in flight). In the arena. */
char *http_server_metrics(const struct http_server *server, struct arena *arena);

#endif
